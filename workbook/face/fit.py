"""A mask laid on a face as an answer, in words, and as data for the page that shows it.

The page draws what ``drawing`` returns and works nothing out. Lengths are in millimetres: x to
the right of the midline, y downward from the groove above the nose; ``turn`` in degrees clockwise,
0 with the mask's notch towards the crown. What a fit is, stands in ``workbook.face.mask``.

The answer is ``{"format": "tpiece-face", "version": 1, "mask": mm, "x": mm, "y": mm, "turn":
degrees}``; ``read_fit`` reads it with suspicion. On each move the page may send Python
``{"kind": "place", "n": number, "value": answer}``; ``told`` makes the reply, sent with the same
n: ``{"kind": "placed", "n": number, "where": [sentences]}``, in practice also ``"fit"``, or
``"problem"`` with one sentence. A reply to an older n is dropped.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.core.language import N_, _, number
from workbook.core.plane import around, overlap
from workbook.face.mask import (
    FULL_TURN,
    PLACE_STEP,
    SPECK,
    TURN_STEP,
    Face,
    Fit,
    Mask,
    best_masks,
    best_place,
    corners,
    covers,
    earlier,
    face_of,
    lengths,
    offered,
    share,
)

FORMAT, VERSION = "tpiece-face", 1
LEVEL = 0.05  # mm; nearer than this, two edges are level
FARTHEST = 1000.0  # mm or degrees; beyond it nothing is a place


class FaceError(ValueError):
    """A placed mask that cannot be read; the message says what is wrong and what to do."""


def answer(mask: Mask) -> dict[str, Any]:
    """Return a placed mask as an answer."""
    head = {"format": FORMAT, "version": VERSION}
    return {**head, "mask": mask.diameter, "x": mask.x, "y": mask.y, "turn": mask.turn}


def read_fit(data: object, face: Face | None = None) -> Mask:
    """Return the mask an answer describes; FaceError with one sentence when it cannot be read."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise FaceError(_("this is no mask laid on a face."))
    if data.get("version") != VERSION:
        raise FaceError(
            _(
                "the mask's place is of version {given}; this workbook reads version {version}."
            ).format(given=repr(str(data.get("version"))[:20]), version=VERSION)
        )
    diameter, x, y, turn = (_number(data.get(name)) for name in ("mask", "x", "y", "turn"))
    if diameter not in (*offered(), *earlier()):
        says = _("there is no mask of {given} mm here; choose one of {sizes} mm.")
        sizes, given = ", ".join(map(number, offered())), repr(str(data.get("mask"))[:20])
        raise FaceError(says.format(given=given, sizes=sizes))
    if x is None or y is None or turn is None or abs(turn) > FULL_TURN:
        raise FaceError(_("the mask has no place or no turn; lay it on the face again."))
    mask = Mask(diameter, x, y, turn)
    if face is not None and not _touches(face, mask):
        raise FaceError(_("the mask lies off the face; bring it back over nose and mouth."))
    return mask


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    # A whole number of any size is compared before it becomes a float.
    return float(value) if -FARTHEST < value < FARTHEST else None


def _touches(face: Face, mask: Mask) -> bool:
    at = around(corners(face.length, "face"), (mask.x, mask.y))
    return overlap(at, mask.outer) > SPECK


def where(face: Face, mask: Mask) -> tuple[str, ...]:
    """Return in words what the picture shows: where the mask's edges lie, and its turn."""
    fit, top = covers(face, mask), mask.y - mask.outer
    return (
        _("Mask of {size} mm, {side}.").format(size=number(mask.diameter), side=_side(mask.x)),
        _from(_UPPER, top),
        _from(_LOWER, -fit.chin),
        _("Nearer eye: {room}.").format(room=_apart(fit.eyes)),
        _("Nose: {nose}. Mouth: {mouth}.").format(nose=_inside(fit.nose), mouth=_inside(fit.mouth)),
        _turned(mask.turn),
    )


_UPPER = (
    N_("Upper edge level with the groove above the nose."),
    N_("Upper edge {far} mm below the groove above the nose."),
    N_("Upper edge {far} mm above the groove."),
)
_LOWER = (
    N_("Lower edge level with the chin."),
    N_("Lower edge {far} mm below the chin."),
    N_("Lower edge {far} mm above the chin."),
)


def _side(x: float) -> str:
    if x == 0:
        return _("on the midline")
    says = (
        _("{far} mm to the right of the picture") if x > 0
        else _("{far} mm to the left of the picture")
    )  # fmt: skip
    return says.format(far=number(abs(x), ".1f"))


def _turned(turn: float) -> str:
    right = (turn + FULL_TURN / 2) % FULL_TURN - FULL_TURN / 2
    if right == 0:
        return _("Notch towards the crown.")
    says = (
        _("Notch turned {turn} degrees to the right.") if right > 0
        else _("Notch turned {turn} degrees to the left.")
    )  # fmt: skip
    return says.format(turn=number(abs(right)))


def _from(says: tuple[str, str, str], down: float) -> str:
    level, below, above = says
    text = level if abs(down) < LEVEL else below if down > 0 else above
    return _(text).format(far=number(abs(down), ".1f"))


def _apart(room: float) -> str:
    says = _("{far} mm free") if room >= 0 else _("{far} mm under the mask")
    return says.format(far=number(abs(room), ".1f"))


def _inside(room: float) -> str:
    says = _("{far} mm inside the rim") if room >= 0 else _("{far} mm not covered")
    return says.format(far=number(abs(room), ".1f"))


def drawing(face: Face) -> dict[str, Any]:
    """Return what a page draws: ellipses as [x, y, half width, half height] in mm, by name."""
    return {
        "length": face.length,
        "shapes": {n: [s.x, s.y, s.wide, s.high] for n, s in face.shapes.items()},
        "masks": list(offered()),
        "rim": share("mask.rim"),
        "notch": FULL_TURN * share("mask.notch"),
        "step": PLACE_STEP,
        "turn_step": TURN_STEP,
    }


def told(length: float, value: object, *, full: bool = False) -> dict[str, Any]:
    """Return the reply to a page that moved a mask: where it lies, and if ``full`` how it fits."""
    face = Face(length)
    try:
        mask = read_fit(value, face)
    except FaceError as error:
        return {"kind": "placed", "problem": str(error)}
    reply: dict[str, Any] = {"kind": "placed", "where": list(where(face, mask))}
    if full:
        fit = covers(face, mask)
        reply["fit"] = {
            "covers": fit.covers,
            "spares_eyes": fit.spares_eyes,
            "keeps_chin": fit.keeps_chin,
            "seal": round(100 * fit.seal, 1),
            "leak": fit.leak,
        }
    return reply


__all__ = [
    "Face",
    "FaceError",
    "Fit",
    "Mask",
    "answer",
    "best_masks",
    "best_place",
    "covers",
    "drawing",
    "face_of",
    "lengths",
    "offered",
    "read_fit",
    "told",
    "where",
]
