"""Masks on faces: what the sizing cases ask where a mask is laid on, tried or missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from workbook.cases.babies import Baby, has_room, one_mask, published_masks, with_face
from workbook.cases.draw import Draw
from workbook.cases.question import Kind
from workbook.cases.setup_bench import set_for
from workbook.cases.setup_order import settings
from workbook.face import drawing
from workbook.facemask import Face, Fit, Mask, best_place, covers, fits, offered
from workbook.physics import coefficients as c
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units import plain

PAST = (3, 6)  # mm that a mask too large hangs below the chin in a case


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
    """Return a face on which one mask fits, the one published for the baby."""
    baby = with_face(
        draw,
        lambda b: len(published_masks(b)) == 1,
        lambda b: one_mask(b) == published_masks(b)[0],
    )
    shows = {"face": drawing(Face(baby.length)), "live": "where"}
    return Asked(baby.said, baby.facts, shows, kind=Kind.FACE)


# --- a baby between two sizes


def between(draw: Draw, book: RuleBook) -> Asked:
    """Return a baby for whom two masks are published, and what each does on its face."""
    baby = with_face(
        draw,
        lambda b: len(published_masks(b)) == 2,
        lambda b: one_mask(b) in published_masks(b),
    )
    stands, peep = _stands(draw, book)
    small, large = published_masks(baby)
    said = {"small": plain(small, "mm"), "large": plain(large, "mm"), "peep": plain(peep, "cmH2O")}
    for name, size in zip(("first", "second"), draw.shuffled((small, large)), strict=True):
        said[name] = _tried(baby, size, stands)
    return Asked({**baby.said, **said}, {**baby.facts, "peep": peep})


def _tried(baby: Baby, size: float, stands: Mapping[str, int]) -> str:
    from workbook.cases.interface_sizing import texts  # it builds on this module

    fit = covers(Face(baby.length), tried(baby.length, size))
    shown = {"size": plain(size, "mm"), "reading": _reading(fit, stands)}
    return str(texts()["mask-between"][_how(fit)]).format_map(shown)


def tried(length: float, size: float) -> Mask:
    """Return a mask as well placed as it can be; one too large with its edge at the chin."""
    if covers(Face(length), best_place(Face(length), size)).spares_eyes:
        return best_place(Face(length), size)
    return Mask(size, 0.0, length - size / 2)


def _how(fit: Fit) -> str:
    if not fit.covers:
        return "open"
    return "covers" if fit.fits else "large"


def _reading(fit: Fit, stands: Mapping[str, int]) -> str:
    return plain(round(fit.gauge(stands), 1), "cmH2O")


def _stands(draw: Draw, book: RuleBook) -> tuple[Mapping[str, int], float]:
    """Return where the controls of a bench stand once it was set up, and the PEEP it was set to."""
    pip, peep, relief = draw.pick(settings(book))
    numbers = {"pip": pip, "peep": peep, "relief": relief, "flow": book["flow.start"].value}
    return set_for(numbers), peep


# --- what the gauge says of the seal


def seal_check(draw: Draw, book: RuleBook) -> Asked:
    """Return a gauge and what led to it: a poor hold, a mask too large, or a good seal."""
    from workbook.cases.interface_sizing import texts  # it builds on this module

    cause = draw.pick(sorted(texts()["seal-check"]["cause"]))
    stands, peep = _stands(draw, book)
    size, past = draw.pick([d for d in offered() if _published(d)]), draw.whole(*PAST)
    leak = {"hold": draw.whole(2, len(c.SEALS)), "sealed": 0, "size": 2}[cause]
    shown = gauge(stands, leak)
    figure = {"kind": "gauge", "value": shown, "top": c.GAUGE_TOP.value, "hide_value": True}
    said = {"size": plain(size, "mm"), "past": plain(past, "mm"), "peep": plain(peep, "cmH2O")}
    facts = {"cause": cause, "peep": peep, "reading": shown, "size": size}
    context = str(texts()["seal-check"]["cause"][cause])
    return Asked(said, facts, {"figure": figure}, context)


def gauge(stands: Mapping[str, int], leak: int) -> float:
    """Return what the gauge shows (cmH2O) at PEEP with the leak's control at a position."""
    levels = {0: 1.0} | {n: _just_below(n) for n in range(1, len(c.SEALS) + 1)}
    return round(Fit(0, 0, 0, 0, levels[leak]).gauge(stands), 1)


def _just_below(level: int) -> float:
    """Return a seal that makes a leak of a level."""
    names = ("small", "moderate", "large")
    return (file("sizes")[f"mask.seal.{names[level - 1]}"].value - 1) / 100


def _published(size: float) -> bool:
    return any(r.id.startswith("mask.fits.") and r.value == size for r in file("sizes"))


# --- the right mask is missing


def trolley(draw: Draw) -> Asked:
    """Return a face for which the next smaller mask would do while the best one is fetched."""
    baby = with_face(draw, lambda b: _neighbours(b) is not None, _smaller_does)
    small, missing, large = _neighbours(baby) or (0.0, 0.0, 0.0)
    said = {"small": small, "missing": missing, "large": large}
    words = {name: plain(size, "mm") for name, size in said.items()}
    return Asked({**baby.said, **words}, {**baby.facts, **said})


def _neighbours(baby: Baby) -> tuple[float, float, float] | None:
    """Return the one published mask with the sizes on either side of it."""
    published = published_masks(baby)
    at = offered().index(published[0]) if len(published) == 1 else 0
    if 0 < at < len(offered()) - 1:
        return offered()[at - 1], offered()[at], offered()[at + 1]
    return None


def _smaller_does(baby: Baby) -> bool:
    small, missing, large = _neighbours(baby) or (0.0, 0.0, 0.0)
    face = Face(baby.length)
    does = fits(face, best_place(face, small)) and has_room(baby.length, missing)
    return does and not covers(face, best_place(face, large)).spares_eyes
