"""Which beliefs the question of unit 9 can show."""

from __future__ import annotations

from typing import Any

from graders.marks.shown import Shown, Spoken
from graders.units.tiny.marks import BELIEFS
from workbook.cases import Question
from workbook.rules import RuleBook

SHOWN: Shown = {"tiny-bag": lambda asked, book: list(BELIEFS.values())}
SPOKEN: Spoken = {"tiny-bag": BELIEFS.values}


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer: here there is one only."""
    return ()
