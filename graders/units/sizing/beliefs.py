"""Which beliefs the drawn questions on mask and tube show."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken
from graders.units.sizing import marks as interface_sizing
from graders.units.sizing import right as interface_right
from workbook.cases import Question
from workbook.rules import RuleBook

_LAID = ("bigger-seals-better", "mask-over-eyes", "chin-inside", "turn-is-nothing")


def _sized(asked: Question, book: RuleBook) -> Beliefs:
    key = interface_sizing.key()
    right = interface_right.choices(asked, key)
    wrong = (option.id for option in asked.options if option.id not in right)
    return [b for id in wrong if (b := interface_right.slip(asked, id, key)[0])]


def _face(asked: Question, book: RuleBook) -> Beliefs:
    return list(_LAID)


def _said_of_size(question: str) -> Callable[[], Iterable[str]]:
    if question == "tube-weight":
        return lambda: ["age-alone"]
    return lambda: [
        belief
        for each in interface_sizing.key()["shows"][question].values()
        for belief in each.values()
    ]


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign: none does here."""
    return ()


SHOWN: Shown = {
    **dict.fromkeys(interface_sizing.FACES, _face),
    **dict.fromkeys(interface_sizing.CHOICES, _sized),
}
SPOKEN: Spoken = {
    **dict.fromkeys(interface_sizing.FACES, lambda: _LAID),
    **{id: _said_of_size(id) for id in interface_sizing.CHOICES},
}
