"""Which beliefs a drawn trial of fault finding shows."""

from __future__ import annotations

from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken
from graders.units.faults import plays as fault_finding_plays
from workbook.cases import Question
from workbook.rules import RuleBook
from workbook.units.faults.case.questions import TRIALS


def _trial(asked: Question, book: RuleBook) -> Beliefs:
    return fault_finding_plays.shown_by(asked.facts)


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign: none does here."""
    return ()


SHOWN: Shown = dict.fromkeys(TRIALS, _trial)
SPOKEN: Spoken = dict.fromkeys(TRIALS, lambda: fault_finding_plays.PLAYS)
