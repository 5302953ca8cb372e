"""Areas and distances in the plane: ellipses as fine polygons, and a circle laid over them.

The overlap of a circle with a polygon is exact: a triangle where an edge runs inside the circle,
a sector where it runs outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
Polygon = tuple[Point, ...]

CORNERS = 96  # of an ellipse drawn as a polygon; its area is then right to a tenth of a percent
NOTHING = 1e-12


@dataclass(frozen=True, slots=True)
class Ellipse:
    """An ellipse with upright axes: its middle, and how far it reaches sideways and upward."""

    x: float
    y: float
    wide: float
    high: float

    @property
    def corners(self) -> Polygon:
        """Return points on the ellipse, clockwise on a page whose y grows downward."""
        turn = 2 * math.pi / CORNERS
        return tuple(
            (self.x + self.wide * math.cos(turn * n), self.y + self.high * math.sin(turn * n))
            for n in range(CORNERS)
        )


def around(polygon: Sequence[Point], centre: Point) -> Polygon:
    """Return a polygon as seen from a centre."""
    return tuple((x - centre[0], y - centre[1]) for x, y in polygon)


def nearest(polygon: Sequence[Point], centre: Point) -> float:
    """Return the distance from a centre to the nearest corner."""
    a, b = centre
    return math.sqrt(min((x - a) * (x - a) + (y - b) * (y - b) for x, y in polygon))


def farthest(polygon: Sequence[Point], centre: Point) -> float:
    """Return the distance from a centre to the farthest corner."""
    a, b = centre
    return math.sqrt(max((x - a) * (x - a) + (y - b) * (y - b) for x, y in polygon))


def overlap(polygon: Sequence[Point], radius: float) -> float:
    """Return the area that a polygon shares with a circle around the origin."""
    if not polygon:
        return 0.0
    edges = pairwise((*polygon, polygon[0]))
    return abs(sum(_under(one, two, radius) for one, two in edges))


def ring(polygon: Sequence[Point], inner: float, outer: float) -> float:
    """Return the area that a polygon shares with a ring around the origin."""
    return overlap(polygon, outer) - overlap(polygon, inner)


def _under(one: Point, two: Point, radius: float) -> float:
    """Return the signed area between an edge and the origin, cut off at the circle."""
    square = radius * radius
    if one[0] * one[0] + one[1] * one[1] <= square >= two[0] * two[0] + two[1] * two[1]:
        return (one[0] * two[1] - one[1] * two[0]) / 2
    parts = [0.0, *_crossings(one, two, radius), 1.0]
    dx, dy = two[0] - one[0], two[1] - one[1]
    total = 0.0
    for begin, end in pairwise(parts):
        ax, ay = one[0] + begin * dx, one[1] + begin * dy
        bx, by = one[0] + end * dx, one[1] + end * dy
        cross = ax * by - ay * bx
        if math.hypot((ax + bx) / 2, (ay + by) / 2) <= radius:
            total += cross / 2
        else:
            total += square * math.atan2(cross, ax * bx + ay * by) / 2
    return total


def _crossings(one: Point, two: Point, radius: float) -> Iterator[float]:
    """Yield where an edge crosses the circle, as shares of its length."""
    dx, dy = two[0] - one[0], two[1] - one[1]
    a, b = dx * dx + dy * dy, one[0] * dx + one[1] * dy
    under = b * b - a * (one[0] * one[0] + one[1] * one[1] - radius * radius)
    if a <= NOTHING or under <= 0:
        return
    root = math.sqrt(under)
    yield from (share for share in ((-b - root) / a, (-b + root) / a) if 0 < share < 1)


def wedge(polygon: Sequence[Point], towards: float, half: float) -> Polygon:
    """Return the part of a convex polygon in a wedge from the origin, narrower than a half turn.

    ``towards`` and ``half`` in degrees: clockwise from straight up, and to each side of it.
    """
    left, right = (_direction(towards + turn) for turn in (-half, half))
    kept = _beside(polygon, left, 1)
    return _beside(kept, right, -1)


def _direction(degrees: float) -> Point:
    angle = math.radians(degrees)
    return math.sin(angle), -math.cos(angle)


def _beside(polygon: Sequence[Point], along: Point, side: int) -> Polygon:
    """Return the part of a convex polygon on one side of a line through the origin."""
    heights = [side * (along[0] * y - along[1] * x) for x, y in polygon]
    kept: list[Point] = []
    for n, (point, height) in enumerate(zip(polygon, heights, strict=True)):
        before, low = polygon[n - 1], heights[n - 1]
        if (low < 0) != (height < 0):
            share = low / (low - height)
            kept.append(tuple(b + share * (p - b) for b, p in zip(before, point, strict=True)))  # type: ignore[arg-type]
        if height >= 0:
            kept.append(point)
    return tuple(kept)
