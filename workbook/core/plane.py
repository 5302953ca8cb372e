"""Areas and distances in the plane: ellipses as fine polygons, and a circle laid over them.

The overlap of a circle with a polygon is exact: a triangle where an edge runs inside the circle,
a sector where it runs outside.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, repeat

Point = tuple[float, float]
Polygon = tuple[Point, ...]

CORNERS = 96  # of an ellipse drawn as a polygon; its area is then right to a tenth of a percent
NOTHING = 1e-12
_ROUND = [
    (math.cos(turn), math.sin(turn)) for turn in (2 * math.pi / CORNERS * n for n in range(CORNERS))
]


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
        x, y, wide, high = self.x, self.y, self.wide, self.high
        return tuple([(x + wide * across, y + high * up) for across, up in _ROUND])


def around(polygon: Sequence[Point], centre: Point) -> Polygon:
    """Return a polygon as seen from a centre."""
    return tuple((x - centre[0], y - centre[1]) for x, y in polygon)


def nearest(polygon: Sequence[Point], centre: Point) -> float:
    """Return the distance from a centre outside a polygon to the nearest point of its edges."""
    away = [*map(math.dist, polygon, repeat(centre))]
    longest = max(map(math.dist, polygon, (*polygon[1:], polygon[0])))
    # The nearest edge lies no farther than the nearest corner, and one of its ends half an edge on.
    near = min(away) + longest / 2
    ends = [n for n, distance in enumerate(away) if distance <= near]
    edges = {(n - 1) % len(polygon) for n in ends} | set(ends)
    return min(_to_edge(polygon[n], polygon[(n + 1) % len(polygon)], centre) for n in edges)


def _to_edge(one: Point, two: Point, centre: Point) -> float:
    """Return the distance from a point to an edge."""
    (ax, ay), (bx, by), (cx, cy) = one, two, centre
    dx, dy = bx - ax, by - ay
    length = dx * dx + dy * dy
    along = ((cx - ax) * dx + (cy - ay) * dy) / length if length > NOTHING else 0.0
    along = min(1.0, max(0.0, along))
    return math.dist((ax + along * dx, ay + along * dy), centre)


def farthest(polygon: Sequence[Point], centre: Point) -> float:
    """Return the distance from a centre to the farthest corner."""
    return max(map(math.dist, polygon, repeat(centre)))


def overlap(polygon: Sequence[Point], radius: float) -> float:
    """Return the area that a polygon shares with a circle around the origin."""
    if not polygon:
        return 0.0
    edges = pairwise((*polygon, polygon[0]))
    return abs(sum([_under(one, two, radius) for one, two in edges]))


def ring(polygon: Sequence[Point], inner: float, outer: float) -> float:
    """Return the area that a polygon shares with a ring around the origin."""
    return overlap(polygon, outer) - overlap(polygon, inner)


def _under(one: Point, two: Point, radius: float) -> float:
    """Return the signed area between an edge and the origin, cut off at the circle."""
    (ax, ay), (bx, by) = one, two
    square, first, last = radius * radius, ax * ax + ay * ay, bx * bx + by * by
    if first <= square >= last:
        return (ax * by - ay * bx) / 2
    dx, dy = bx - ax, by - ay
    length, along = dx * dx + dy * dy, ax * dx + ay * dy
    # The line comes nearest within the edge or beyond an end; a root says where it crosses.
    under = along * along - length * (first - square)
    if length <= NOTHING or under <= 0 or (first > square < last and not -length < along < 0):
        return square / 2 * _between(one, two)
    root = math.sqrt(under)
    enter, leave = max(0.0, (-along - root) / length), min(1.0, (-along + root) / length)
    inner, outer = (ax + enter * dx, ay + enter * dy), (ax + leave * dx, ay + leave * dy)
    chord = (inner[0] * outer[1] - inner[1] * outer[0]) / 2
    # An end inside the circle adds no sector; beside the origin rounding would give it any angle.
    before = _between(one, inner) if enter > 0 else 0.0
    after = _between(outer, two) if leave < 1 else 0.0
    return chord + square / 2 * (before + after)


def _between(one: Point, two: Point) -> float:
    """Return the signed angle (radians) from one point to another as seen from the origin."""
    return math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])


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
