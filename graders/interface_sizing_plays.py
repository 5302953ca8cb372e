"""How a learner who holds a misconception of sizing answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from graders.interface_right import choice, slip
from graders.interface_sizing import key, typed
from graders.mask_place import model
from workbook.cases import Case, Question
from workbook.face import answer
from workbook.facemask import PLACE_STEP, Face, Mask, best_place, covers, offered
from workbook.rules import RuleBook, rulebook

Answers = dict[str, Any]
Play = Callable[[Answers, Case, RuleBook], None]

OVER = 3.0  # mm a mask is moved past the chin
ASIDE = 90.0  # degrees a notch is turned away from the nose


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    for asked in case.questions:
        if (chosen := _chosen(asked, book, misconception)) is not None:
            answers[asked.id] = chosen
    if misconception in _BY_HAND:
        _BY_HAND[misconception](answers, case, book)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    return _SHOWS[misconception](case) if misconception in _SHOWS else True


def _chosen(asked: Question, book: RuleBook, misconception: str) -> str | None:
    """Return the first choice of a question that shows the misconception, if there is one."""
    if not asked.options:
        return None
    best = choice(asked, book, key())
    wrong = (option.id for option in asked.options if option.id != best)
    return next((id for id in wrong if slip(asked, id, book, key())[0] == misconception), None)


def _mask(asked: Question) -> Mask:
    laid = model(asked)
    return Mask(laid["mask"], laid["x"], laid["y"], laid["turn"])


def _place(change: Callable[[Mask, Face], Mask]) -> Play:
    def played(answers: Answers, case: Case, book: RuleBook) -> None:
        asked = case["mask-place"]
        changed = change(_mask(asked), Face(asked.facts["length"]))
        answers["mask-place"] = answer(changed)

    return played


def _over_eyes(mask: Mask, face: Face) -> Mask:
    """Move the mask up until it lies over the eyes."""
    up = mask
    while covers(face, up).spares_eyes:
        up = Mask(up.diameter, up.x, up.y - PLACE_STEP)
    return up


def _past_chin(mask: Mask, face: Face) -> Mask:
    return Mask(mask.diameter, mask.x, face.length - mask.outer + OVER)


def _next_larger(mask: Mask, face: Face) -> Mask:
    return best_place(face, offered()[offered().index(mask.diameter) + 1])


def _turned(mask: Mask, face: Face) -> Mask:
    return Mask(mask.diameter, mask.x, mask.y, ASIDE)


def _french(answers: Answers, case: Case, book: RuleBook) -> None:
    answers["catheter-mm"] = typed(case["catheter-mm"].facts["french"], "mm")


_BY_HAND: dict[str, Play] = {
    "mask-over-eyes": _place(_over_eyes),
    "chin-inside": _place(_past_chin),
    "bigger-seals-better": _place(_next_larger),
    "turn-is-nothing": _place(_turned),
    "french-is-mm": _french,
}


def _young(case: Case) -> bool:
    """Say whether the baby of the question on the airway is too young for it."""
    asked = case["supraglottic"]
    return choice(asked, rulebook(case.edition), key()) == "young"


_SHOWS: dict[str, Callable[[Case], bool]] = {
    "airway-any-baby": _young,
    "airway-one-edition": lambda case: not _young(case),
}
_CHOSEN = (
    "table-decides", "flow-mends-leak", "larger-tube-better", "tenth-is-the-table",
    "estimate-is-weight", "age-alone", "size-makes-no-difference", "plus-six-always",
    "deeper-is-safer", "diameter-is-area", "suction-harder", *_SHOWS,
)  # fmt: skip

PLAYS = (*_BY_HAND, *_CHOSEN)
