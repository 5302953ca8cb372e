"""Marks a mask laid on a face: its size, what it covers, and whether it seals."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from graders import checks
from graders.verdict import Finding
from workbook.cases import Question
from workbook.face import FaceError, answer, read_fit
from workbook.facemask import Face, Mask, best_masks, best_place, covers
from workbook.language import _
from workbook.rules import Rule, RuleBook
from workbook.rules.files import file
from workbook.units import plain

QUESTION = "mask-place"
PARTS = ("size", "covers", "eyes", "chin", "seal")


def points() -> float:
    """Return what the whole answer is worth: one point for each part."""
    return float(len(PARTS))


def model(asked: Question) -> dict[str, Any]:
    """Return the answer of somebody who lays the right mask as well as can be."""
    face = Face(asked.facts["length"])
    return answer(best_place(face, best_masks(face)[0]))


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return a finding for each part of a placed mask."""
    face = Face(asked.facts["length"])
    try:
        mask = read_fit(value, face)
    except FaceError as error:
        return checks.unreadable(asked.id, points(), str(error), critical=True)
    found = _judged(face, mask)
    return tuple(_finding(part, *found[part], _rule(part, asked, book)) for part in PARTS)


def _judged(face: Face, mask: Mask) -> dict[str, tuple[bool, str, str]]:
    """Return (met, sentence, belief) for each part.

    With a mask too large, what it lies over follows from its size and shows no second belief.
    """
    best, fit = best_masks(face), covers(face, mask)
    large = mask.diameter > max(best)
    eyes, chin = plain(round(-fit.eyes, 1), "mm"), plain(round(-fit.chin, 1), "mm")
    lost = plain(round(100 * (1 - fit.seal)), "percent")
    return {
        "size": (mask.diameter in best, _size(face, mask, best),
                 "bigger-seals-better" if large else ""),
        "covers": (fit.covers, _("Nose and mouth lie inside the rim.") if fit.covers
                   else _("Part of the nose or the mouth lies outside the rim."), ""),
        "eyes": (fit.spares_eyes, _("The eyes are free.") if fit.spares_eyes
                 else _("The mask lies {length} over an eye.").format(length=eyes),
                 "" if large else "mask-over-eyes"),
        "chin": (fit.keeps_chin, _("The mask ends at the chin.") if fit.keeps_chin
                 else _("The mask hangs {length} past the chin.").format(length=chin),
                 "" if large else "chin-inside"),
        "seal": (fit.leak == 0, _("The rim seals all round.") if fit.leak == 0
                 else _("The rim does not seal over {share} of it, so the gauge stays below PEEP.")
                 .format(share=lost),
                 "turn-is-nothing" if _by_turn(face, mask) else ""),
    }  # fmt: skip


def _size(face: Face, mask: Mask, best: tuple[float, ...]) -> str:
    right, length = _(" or ").join(plain(size, "mm") for size in best), plain(face.length, "mm")
    if mask.diameter in best:
        return _("A mask of {right} fits a face of {face}.").format(right=right, face=length)
    return _("For a face of {face} the mask is {right}.").format(right=right, face=length)


def _by_turn(face: Face, mask: Mask) -> bool:
    """Say whether the mask leaks more than it would with its notch on the nose."""
    return covers(face, replace(mask, turn=0.0)).leak < covers(face, mask).leak


def _finding(part: str, met: bool, says: str, belief: str, rule: Rule) -> Finding:
    name = f"mask-{part}"
    if met:
        return Finding(name, True, says, 1.0, 1.0, part == "eyes", rule.id)
    source = checks.source_of(rule)
    return Finding(name, False, says, 0.0, 1.0, part == "eyes", rule.id, source, belief)


def _rule(part: str, asked: Question, book: RuleBook) -> Rule:
    if part == "seal":
        return book["mask.turn"]
    return _published(asked) if part == "size" else book["mask.covers"]


def _published(asked: Question) -> Rule:
    """Return the publication that names a mask for this baby."""
    baby = asked.facts["weeks"], asked.facts["grams"]
    fitting = [r for r in file("sizes") if r.id.startswith("mask.fits.")]
    return next(rule for rule in fitting if rule.population.includes(*baby))
