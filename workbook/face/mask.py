"""A newborn's face to scale, a mask laid on it, and what its fit comes to.

Lengths are in millimetres: x to the right of the midline, y downward from the groove above the
nose; the chin lies at y = length. Only that length is published; every other measure of the face
is a share of it and an assumption of the rules, like the rim of the mask and its notch.

The mask is round. Its rim has a notch for the nose; ``turn`` 0 has the notch towards the crown,
and turns clockwise in degrees. The rim does not seal where it lies off the face, over an eye, the
nose or the mouth, or over the bridge of the nose outside the notch; a notch that is not on the
bridge gapes. The seal is the share of the rim's area that is left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from workbook.bench import DIALS
from workbook.bench.story import reading
from workbook.core.language import _, number
from workbook.core.plane import Ellipse, Polygon, around, farthest, nearest, ring, wedge
from workbook.rules import Rule
from workbook.rules.checkinput import Given
from workbook.rules.files import file
from workbook.rules.sizes import face_lengths

LEVELS = ("small", "moderate", "large")
EYES = ("eye-left", "eye-right")
SHAPES = ("face", "eye-left", "eye-right", "bridge", "nose", "mouth", "chin")
FULL_TURN = 360.0
SPECK = 1e-6  # mm2; less than this is no overlap, only rounding
PLACE_STEP, TURN_STEP = 0.5, 5.0  # mm and degrees of one key press


@cache
def share(id: str) -> float:
    """Return a rule of sizes in percent as a share of one."""
    return file("sizes")[id].value / 100


@dataclass(frozen=True, slots=True)
class Face:
    """A face of a length (mm) from the groove above the nose to the chin."""

    length: float

    @property
    def shapes(self) -> Mapping[str, Ellipse]:
        """Return its parts by name."""
        return _shapes(self.length)


@cache
def _shapes(length: float) -> Mapping[str, Ellipse]:
    side = {"eye-left": 1, "eye-right": -1}
    return {name: _shape(name.split("-")[0], side.get(name, 0), length) for name in SHAPES}


def _shape(name: str, side: int, length: float) -> Ellipse:
    down, high, wide = (length * share(f"drawing.{name}.{m}") for m in ("down", "high", "wide"))
    return Ellipse(side * length * share("drawing.eye.side"), down, wide, high)


@lru_cache(maxsize=256)
def corners(length: float, name: str) -> Polygon:
    """Return a part of a face of a length as a polygon."""
    return _shapes(length)[name].corners


def face_of(gestation: Given, deviations: float = 0.0) -> Face:
    """Return a face by gestation, some standard deviations longer than the latest published mean.

    Raises RuleError where no length is published, and for a gestation that cannot be meant.
    """
    mean, spread = face_lengths(gestation)[-1]
    return Face(mean + deviations * spread)


def lengths(gestation: Given) -> list[float]:
    """Return lengths (mm) a drawn face may have: near to one of the published means."""
    spread = file("sizes")["drawing.spread"].value
    ends = [mean + side * spread * sd for mean, sd in face_lengths(gestation) for side in (-1, 1)]
    first, last = math.ceil(min(ends) / PLACE_STEP), math.floor(max(ends) / PLACE_STEP)
    return [step * PLACE_STEP for step in range(first, last + 1)]


@cache
def offered() -> tuple[float, ...]:
    """Return the outside diameters (mm) of the masks there are to choose from."""
    return tuple(sorted(r.value for r in file("sizes") if r.id.startswith("trolley.mask.")))


@cache
def earlier() -> tuple[float, ...]:
    """Return the outside diameters (mm) that earlier answers may name: published, and one more.

    Nobody is offered them now; an answer that was saved with one is still read and marked.
    """
    published = (r for r in file("sizes") if r.id.startswith(("mask.fits.", "mask.too-large")))
    sizes = {*(rule.value for rule in published), file("sizes")["earlier.mask.largest"].value}
    return tuple(sorted(sizes))


def nearest_offered(diameter: float) -> float:
    """Return the mask there is whose outside diameter (mm) is nearest; of two, the smaller."""
    return min(offered(), key=lambda size: (abs(size - diameter), size))


@dataclass(frozen=True, slots=True)
class Mask:
    """A mask on a face: outside ``diameter``, its middle (mm), and its ``turn`` (degrees)."""

    diameter: float
    x: float
    y: float
    turn: float = 0.0

    @property
    def says(self) -> str:
        """Return size, place and turn in a few words."""
        says = _(
            "a mask of {size} mm, its middle {across} mm across, {down} mm down, "
            "turned {turn} degrees"
        )
        if not self.x:
            says = _(
                "a mask of {size} mm, its middle on the midline, {down} mm down, "
                "turned {turn} degrees"
            )
        if not self.x and not self.turn:
            says = _("a mask of {size} mm, its middle on the midline, {down} mm down, not turned")
        return says.format(
            size=number(self.diameter),
            across=number(self.x, "+g"),
            down=number(self.y),
            turn=number(self.turn),
        )

    @property
    def outer(self) -> float:
        """Return the radius of its outer edge."""
        return self.diameter / 2

    @property
    def inner(self) -> float:
        """Return the radius inside its rim."""
        return self.outer - self.diameter * share("mask.rim")


@dataclass(frozen=True, slots=True)
class Fit:
    """How a mask lies: room in mm, negative where it is missing, and the share that seals.

    ``nose`` and ``mouth``: from their farthest edge to the inside of the rim. ``eyes``: from the
    mask to the nearer eye. ``chin``: from the mask's lower edge to the chin.
    """

    nose: float
    mouth: float
    eyes: float
    chin: float
    seal: float

    @property
    def room(self) -> float:
        """Return the least room (mm) on any side."""
        return min(self.nose, self.mouth, self.eyes, self.chin)

    @property
    def by_hand(self) -> Fit:
        """Return the fit as a hand is judged: what a hand cannot help still counts."""
        more, seal = file("sizes")["mask.hand"].value, self.seal + share("mask.hand.seal")
        nose, mouth, eyes, chin = self.nose, self.mouth, self.eyes, self.chin
        return Fit(nose + more, mouth + more, eyes + more, chin + more, min(1.0, seal))

    @property
    def covers(self) -> bool:
        """Say whether nose and mouth lie inside the rim."""
        return min(self.nose, self.mouth) >= -_slack()

    @property
    def spares_eyes(self) -> bool:
        """Say whether no eye lies under the mask."""
        return self.eyes >= -_slack()

    @property
    def keeps_chin(self) -> bool:
        """Say whether the mask ends at the chin or above it."""
        return self.chin >= -_slack()

    @property
    def fits(self) -> bool:
        """Say whether the mask covers what it should, and nothing else."""
        return self.covers and self.spares_eyes and self.keeps_chin

    @property
    def leak(self) -> int:
        """Return where the bench's control for the leak stands with this seal."""
        return sum(seal_rule(level).holds(100 * self.seal) for level in LEVELS)

    def gauge(self, positions: Mapping[str, int]) -> float:
        """Return what the gauge settles at (cmH2O), aperture released, the controls as given."""
        stands = tuple({**positions, "leak": self.leak}[name] for name in DIALS)
        return reading(stands, held=False, leaky=True)


@cache
def _slack() -> float:
    return file("sizes")["mask.place.accept"].value


def seal_rule(level: str) -> Rule:
    """Return the rule on how little seal makes a leak of a level."""
    return file("sizes")[f"mask.seal.{level}"]


@lru_cache(maxsize=4096)
def covers(face: Face, mask: Mask) -> Fit:
    """Return how a mask lies on a face."""
    room = _room(face, mask)
    return Fit(*room, _seal(face, mask, room))


def _at(face: Face, mask: Mask, name: str) -> Polygon:
    """Return a part of the face as seen from the middle of the mask."""
    return around(corners(face.length, name), (mask.x, mask.y))


@lru_cache(maxsize=8192)
def _room(face: Face, mask: Mask) -> tuple[float, float, float, float]:
    """Return the room (mm) inside the rim for nose and mouth, to the nearer eye and to the chin."""
    centre, length = (mask.x, mask.y), face.length
    return (
        mask.inner - farthest(corners(length, "nose"), centre),
        mask.inner - farthest(corners(length, "mouth"), centre),
        min(nearest(corners(length, eye), centre) for eye in EYES) - mask.outer,
        length - mask.y - mask.outer,
    )


def _seal(face: Face, mask: Mask, room: Sequence[float]) -> float:
    """Return the share of the rim that seals."""
    r, R = mask.inner, mask.outer  # noqa: N806 (the two radii of one ring)
    rim, notch = math.pi * (R * R - r * r), share("mask.notch")
    bridge = _at(face, mask, "bridge")
    on_bridge = ring(bridge, r, R)
    seated = ring(wedge(bridge, mask.turn, FULL_TURN / 2 * notch), r, R)
    gapes = notch * rim * (1 - (seated / on_bridge if on_bridge > SPECK else 0.0))
    off = rim - ring(_at(face, mask, "face"), r, R)
    under = zip(("nose", "mouth", *EYES), (*room[:2], room[2], room[2]), strict=True)
    over = sum(ring(_at(face, mask, name), r, R) for name, left in under if left < 0)
    return min(1.0, max(0.0, 1 - (off + over + on_bridge - seated + gapes) / rim))


@lru_cache(maxsize=1024)
def best_place(face: Face, diameter: float) -> Mask:
    """Return a mask laid as well as it can be: on the midline, notch up, most room all round."""
    # The least room rises to one peak and falls again, so two neighbours tell on which side it is.
    low, high = 0, math.ceil(face.length / PLACE_STEP)

    def least(step: int) -> float:
        return min(_room(face, Mask(diameter, 0.0, step * PLACE_STEP)))

    while low < high:
        middle = (low + high) // 2
        low, high = (middle + 1, high) if least(middle) < least(middle + 1) else (low, middle)
    return Mask(diameter, 0.0, low * PLACE_STEP)


def fits(face: Face, mask: Mask) -> bool:
    """Say whether a mask covers what it should, and nothing else; its turn does not matter."""
    return min(_room(face, mask)) >= -_slack()


def best_masks(face: Face) -> tuple[float, ...]:
    """Return the masks that fit a face: one, or two for a face between two sizes.

    Where none fits, as for the smallest babies, it is the one that lacks the least room.
    """
    return _best_of(face, offered())


def best_beside(face: Face, diameter: float) -> tuple[float, ...]:
    """Return the same of the masks that lay beside one of a diameter: today's, or earlier ones."""
    return _best_of(face, offered() if diameter in offered() else earlier())


@cache
def _best_of(face: Face, sizes: tuple[float, ...]) -> tuple[float, ...]:
    fitting = tuple(d for d in sizes if fits(face, best_place(face, d)))
    least = max(sizes, key=lambda d: min(_room(face, best_place(face, d))))
    return fitting or (least,)
