"""Which beliefs a drawn trial of fault finding shows."""

from __future__ import annotations

from graders.marks.shown import Beliefs, Shown, Spoken
from graders.units.faults import plays as fault_finding_plays
from workbook.cases import Question
from workbook.cases.fault_finding import TRIALS
from workbook.rules import RuleBook


def _trial(asked: Question, book: RuleBook) -> Beliefs:
    return fault_finding_plays.shown_by(asked.facts)


SHOWN: Shown = dict.fromkeys(TRIALS, _trial)
SPOKEN: Spoken = dict.fromkeys(TRIALS, lambda: fault_finding_plays.PLAYS)
