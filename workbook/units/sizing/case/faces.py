"""Masks on faces: what the sizing cases ask where a mask is laid on, held or looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.question import Kind
from workbook.cases.starting import baby as baby_of
from workbook.cases.starting import settings_for
from workbook.core.quantities import plain
from workbook.face.fit import drawing
from workbook.face.mask import Face, Fit, Mask, best_place, covers
from workbook.physics import coefficients as c
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units.sizing.case.babies import (
    Baby,
    one_mask,
    published_masks,
    trolley_masks,
    with_face,
)

NEEDLES = ("low", "full")
GROUPS = ("extremely-preterm", "very-preterm", "preterm", "term")


@dataclass(frozen=True, slots=True)
class Asked:
    """What was drawn for a question: words to fill in, facts, and what its control shows."""

    said: Mapping[str, str]
    facts: Mapping[str, Any]
    shows: Mapping[str, Any] = field(default_factory=dict)
    context: str = ""
    kind: Kind = Kind.CHOICE
    units: tuple[str, ...] = ()


def place(draw: Draw) -> Asked:
    """Return a face that one mask fits, the one nearest to what is published for the baby."""
    baby = with_face(
        draw,
        lambda b: len(trolley_masks(b)) == 1,
        lambda b: one_mask(b) == trolley_masks(b)[0],
    )
    return _on_face(baby, {})


def between(draw: Draw) -> Asked:
    """Return a baby for whom two masks are published, of which its face clearly takes one."""
    baby = with_face(draw, lambda b: len(trolley_masks(b)) == 2, _one_misses)
    return _on_face(baby, two_masks(baby))


def two_masks(baby: Baby) -> dict[str, str]:
    """Return the two published sizes, and the two on the trolley, in words."""
    sizes = (*published_masks(baby), *trolley_masks(baby))
    names = ("table_small", "table_large", "small", "large")
    return {name: plain(size, "mm") for name, size in zip(names, sizes, strict=True)}


def _on_face(baby: Baby, said: Mapping[str, str]) -> Asked:
    shows = {"face": drawing(Face(baby.length)), "live": "where"}
    return Asked({**baby.said, **said}, baby.facts, shows, kind=Kind.FACE)


def _one_misses(baby: Baby) -> bool:
    """Say whether one of the two masks fits and the other one misses by what an eye can see."""
    fitting, face = one_mask(baby), Face(baby.length)
    if fitting not in trolley_masks(baby):
        return False
    (other,) = (size for size in trolley_masks(baby) if size != fitting)
    least = file("sizes")["mask.other-size"].value
    return covers(face, best_place(face, other)).room <= -least


def tried(length: float, size: float) -> Mask:
    """Return a mask as well placed as it can be; one too large with its edge at the chin."""
    if covers(Face(length), best_place(Face(length), size)).spares_eyes:
        return best_place(Face(length), size)
    return Mask(size, 0.0, length - size / 2)


# --- what the needle says of the seal


def seal_check(draw: Draw, book: RuleBook) -> Asked:
    """Return a gauge with the mask on: below PEEP with a leak, or at PEEP."""
    needle = draw.pick(NEEDLES)
    met = baby_of(draw, draw.pick(GROUPS), book)
    pip, peep, relief = draw.pick(settings_for(book, met))
    numbers = {"pip": pip, "peep": peep, "relief": relief, "flow": book["flow.start"].value}
    leak = draw.whole(2, len(c.SEALS)) if needle == "low" else 0
    shown = gauge(set_for(numbers), leak)
    figure = {"kind": "gauge", "value": shown, "top": c.GAUGE_TOP.value, "hide_value": True}
    facts = {"needle": needle, "peep": peep, "reading": shown}
    return Asked({"peep": plain(peep, "cmH2O")}, facts, {"figure": figure})


def gauge(stands: Mapping[str, int], leak: int) -> float:
    """Return what the gauge shows (cmH2O) at PEEP with the leak's control at a position."""
    levels = {0: 1.0} | {n: _just_below(n) for n in range(1, len(c.SEALS) + 1)}
    return round(Fit(0, 0, 0, 0, levels[leak]).gauge(stands), 1)


def _just_below(level: int) -> float:
    """Return a seal that makes a leak of a level."""
    names = ("small", "moderate", "large")
    return (file("sizes")[f"mask.seal.{names[level - 1]}"].value - 1) / 100
