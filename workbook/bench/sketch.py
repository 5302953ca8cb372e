"""A strip that a learner sketches with a few points: pressure (cmH2O) at given times.

The answer is ``{"format": "tpiece-sketch", "version": 1, "pressures": [cmH2O, ...]}``, one for each
time that the question gives; ``read_sketch`` reads it with suspicion.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.core.language import _, number

FORMAT, VERSION = "tpiece-sketch", 1
MOST = 40  # points; a sketch has a handful
HIGHEST = 200.0  # cmH2O; beyond it nothing is a pressure


class SketchError(ValueError):
    """A sketch that cannot be read; the message says what is wrong and what to do."""


def answer(pressures: list[float]) -> dict[str, Any]:
    """Return a sketched strip as an answer."""
    return {"format": FORMAT, "version": VERSION, "pressures": pressures}


def read_sketch(data: object, points: int | None = None) -> tuple[float, ...]:
    """Return the pressures (cmH2O) of a sketch; SketchError with one sentence else."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise SketchError(_("this is no sketch of a strip."))
    if data.get("version") != VERSION:
        raise SketchError(_("this sketch is of a version that this workbook does not read."))
    given = data.get("pressures")
    if (
        not isinstance(given, list)
        or not 1 < len(given) <= MOST
        or len(given) != (points or len(given))
    ):
        raise SketchError(_("a point of the sketch is missing. Reload the page and draw again."))
    if not all(_pressure(one) for one in given):
        raise SketchError(_("a point of the sketch is no pressure."))
    return tuple(map(float, given))


def _pressure(value: object) -> bool:
    fits = isinstance(value, int | float) and not isinstance(value, bool)
    return fits and 0 <= value <= HIGHEST  # type: ignore[operator]


def said(data: object) -> str:
    """Return a sketch in a few words."""
    try:
        given = read_sketch(data)
    except SketchError:
        return _("a sketch that cannot be read")
    low, high = (number(round(end, 1)) for end in (min(given), max(given)))
    return _("a strip from {low} to {high} cmH2O").format(low=low, high=high)
