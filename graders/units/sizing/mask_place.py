"""Marks a mask laid on a face: its size, what it covers, and whether it seals."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding
from workbook.cases import Question
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.face.fit import FaceError, answer, read_fit
from workbook.face.mask import Face, Fit, Mask, best_beside, best_masks, best_place, covers
from workbook.rules import Rule, RuleBook

PARTS = ("size", "covers", "eyes", "chin", "seal")


def model(asked: Question) -> dict[str, Any]:
    """Return the answer of somebody who lays the right mask as well as can be."""
    face = Face(asked.facts["length"])
    return answer(best_place(face, best_masks(face)[0]))


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return a finding for each part of a placed mask, each worth one point."""
    face = Face(asked.facts["length"])
    try:
        mask = read_fit(value, face)
    except FaceError as error:
        return checks.unreadable(asked.id, float(len(PARTS)), str(error), critical=True)
    found, turned = _judged(face, mask), _by_turn(face, mask)
    return tuple(_finding(p, *found[p], _rule(p, book, turned=turned)) for p in PARTS)


def marks_between(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return two findings on a mask between two published sizes: its size, and how it lies."""
    face = Face(asked.facts["length"])
    try:
        mask = read_fit(value, face)
    except FaceError as error:
        return checks.unreadable(asked.id, 2.0, str(error))
    found = _judged(face, mask)
    lies = [found[part] for part in PARTS if part != "size"]
    wrong = next((each for each in lies if not each[0]), lies[0])
    over_eyes = not found["eyes"][0]
    if over_eyes:  # what harms is told first, and keeps from the lab here as elsewhere
        wrong = found["eyes"]
    # Each part that is wrong may show a belief; the one that is told need not.
    belief = next((each[2] for each in lies if not each[0] and each[2]), "")
    wrong = (*wrong[:2], wrong[2] or belief)
    size = _finding("size", *found["size"], book["mask.between-sizes"])
    place = replace(_finding("lies", *wrong, book["mask.covers"]), critical=over_eyes)
    return tuple(
        replace(each, criterion=each.criterion.replace("mask-", "between-"))
        for each in (size, place)
    )


def _judged(face: Face, mask: Mask) -> dict[str, tuple[bool, str, str]]:
    """Return (met, sentence, belief) for each part.

    Each is judged as a hand can lay a mask.
    With a mask too large, what it lies over follows from its size and shows no second belief.
    """
    best, fit = best_beside(face, mask.diameter), covers(face, mask)
    by_hand = fit.by_hand
    large = mask.diameter > max(best)
    chin = plain(round(-fit.chin, 1), "mm")
    lost = plain(round(100 * (1 - fit.seal)), "percent")
    return {
        "size": (mask.diameter in best, _size(face, mask, best),
                 "bigger-seals-better" if large else ""),
        "covers": (by_hand.covers, _("Nose and mouth lie inside the rim.") if by_hand.covers
                   else _("Part of the nose or the mouth lies outside the rim."), ""),
        "eyes": (by_hand.spares_eyes, _eyes(fit), "" if large else "mask-over-eyes"),
        "chin": (by_hand.keeps_chin, _("The mask ends at the chin.") if by_hand.keeps_chin
                 else _("The mask hangs {length} past the chin.").format(length=chin),
                 "" if large else "chin-inside"),
        "seal": (by_hand.leak == 0, _("The rim seals all round.") if by_hand.leak == 0
                 else _("{share} of the rim does not seal, so the gauge stays below PEEP.")
                 .format(share=lost),
                 "turn-is-nothing" if _by_turn(face, mask) else ""),
    }  # fmt: skip


def _eyes(fit: Fit) -> str:
    if fit.spares_eyes:
        return _("The eyes are free.")
    if fit.by_hand.spares_eyes:
        fits_lower = fit.chin + fit.eyes >= 0
        return (
            _("The mask touches the edge of an eye; move it down a little.") if fits_lower
            else _("The eyes are free, as near as a hand can lay it.")
        )  # fmt: skip
    over = plain(round(-fit.eyes, 1), "mm")
    return _("The mask lies {length} over an eye.").format(length=over)


def _size(face: Face, mask: Mask, best: tuple[float, ...]) -> str:
    right, length = _(" or ").join(plain(size, "mm") for size in best), plain(face.length, "mm")
    if mask.diameter in best:
        return _("A mask of {right} fits a face of {face}.").format(right=right, face=length)
    says = _("Another size fits this face: {right} for {face} from groove to chin.")
    return says.format(right=right, face=length)


def _by_turn(face: Face, mask: Mask) -> bool:
    """Say whether the mask leaks more than it would with its notch on the nose."""
    return covers(face, replace(mask, turn=0.0)).leak < covers(face, mask).leak


def _finding(part: str, met: bool, says: str, belief: str, rule: Rule) -> Finding:
    name = f"mask-{part}"
    if met:
        return Finding(name, True, says, 1.0, 1.0, part == "eyes", rule.id)
    source = checks.source_of(rule)
    return Finding(name, False, says, 0.0, 1.0, part == "eyes", rule.id, source, belief)


def _rule(part: str, book: RuleBook, *, turned: bool) -> Rule:
    """Return the rule a part rests on; a rim gapes by its turn, or by where it lies."""
    return book["mask.turn" if part == "seal" and turned else "mask.covers"]
