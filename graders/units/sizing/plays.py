"""How a learner who holds a misconception of sizing answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from graders.units.sizing.marks import key
from graders.units.sizing.mask_place import model
from graders.units.sizing.right import choices, situation, slip
from workbook.cases import Case, Question
from workbook.face.fit import answer
from workbook.face.mask import PLACE_STEP, Face, Mask, best_place, covers, offered
from workbook.rules import RuleBook

Answers = dict[str, Any]
Play = Callable[[Answers, Case, RuleBook], None]

OVER = 5.0  # mm a mask is moved past the chin
ASIDE = 90.0  # degrees a notch is turned away from the nose


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    for asked in case.questions:
        if (chosen := _chosen(asked, misconception)) is not None:
            answers[asked.id] = chosen
    if misconception in _BY_HAND:
        _BY_HAND[misconception](answers, case, book)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    return _SHOWS[misconception](case) if misconception in _SHOWS else True


def _chosen(asked: Question, misconception: str) -> str | None:
    """Return the first choice of a question that shows the misconception, if there is one."""
    if not asked.options:
        return None
    right = choices(asked, key())
    wrong = (option.id for option in asked.options if option.id not in right)
    return next((id for id in wrong if slip(asked, id, key())[0] == misconception), None)


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
    while covers(face, up).by_hand.spares_eyes:
        up = Mask(up.diameter, up.x, up.y - PLACE_STEP)
    return up


def _past_chin(mask: Mask, face: Face) -> Mask:
    return Mask(mask.diameter, mask.x, face.length - mask.outer + OVER)


def _next_larger(mask: Mask, face: Face) -> Mask:
    return best_place(face, offered()[offered().index(mask.diameter) + 1])


def _turned(mask: Mask, face: Face) -> Mask:
    return Mask(mask.diameter, mask.x, mask.y, ASIDE)


_BY_HAND: dict[str, Play] = {
    "mask-over-eyes": _place(_over_eyes),
    "chin-inside": _place(_past_chin),
    "bigger-seals-better": _place(_next_larger),
    "turn-is-nothing": _place(_turned),
}


def _in(question: str, *situations: str) -> Callable[[Case], bool]:
    """Return what says whether a question of a case has drawn one of some situations."""
    return lambda case: situation(case[question]) in situations


def _small_enough(case: Case) -> bool:
    return _in("interface-next", "small-alone", "small-helped")(case)


def _works(case: Case) -> bool:
    return _in("interface-next", "works")(case) or _in("mask-hold", "works")(case)


_SHOWS: dict[str, Callable[[Case], bool]] = {
    "full-needle-seals": _in("seal-check", "full"),
    "flow-mends-leak": _in("seal-check", "low"),
    "press-to-seal": _in("mask-hold", "leak", "pressed"),
    "airway-any-baby": _small_enough,
    "change-what-works": _works,
    "patience-with-the-mask": lambda case: not _in("interface-next", "works")(case),
    "one-depth-rule": lambda case: choices(case["depth-small"], key()) == ("within",),
    "mist-confirms": _in("confirm", "none"),
    "suction-every-baby": _in("suction", "cries"),
}
_CHOSEN = (
    "age-alone", "deeper-is-safer", "x-ray-first", "suction-harder", *_SHOWS,
)  # fmt: skip

PLAYS = (*_BY_HAND, *_CHOSEN)
