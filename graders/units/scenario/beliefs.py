"""Which beliefs a drawn case from birth shows; a note shows none."""

from __future__ import annotations

from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken
from graders.units.scenario import plays
from workbook.cases import Question
from workbook.rules import RuleBook
from workbook.units.scenario.case.questions import CASES


def _case(asked: Question, book: RuleBook) -> Beliefs:
    return plays.shown_by(asked.facts["case"].hidden.id)


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign: none does here."""
    return ()


SHOWN: Shown = dict.fromkeys(CASES, _case)
SPOKEN: Spoken = dict.fromkeys(CASES, lambda: plays.PLAYS)
