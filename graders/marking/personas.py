"""How a learner who holds a misconception answers: for the demo and for tests of the marking."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from graders.marking.exercise import model_answers
from graders.units.faults import plays as fault_finding_plays
from graders.units.rate import plays as rate_counting_plays
from graders.units.setup import plays as setup_order_plays
from graders.units.sizing import plays as interface_sizing_plays
from graders.units.targets import plays as pressure_targets_plays
from workbook.cases import Case, fault_finding, interface_sizing, pressure_targets, rate_counting
from workbook.cases.setup_order import EXERCISE
from workbook.rules import RuleBook

_PLAYED_BY: dict[str, ModuleType] = {
    EXERCISE: setup_order_plays,
    pressure_targets.EXERCISE: pressure_targets_plays,
    rate_counting.EXERCISE: rate_counting_plays,
    interface_sizing.EXERCISE: interface_sizing_plays,
    fault_finding.EXERCISE: fault_finding_plays,
}


def answers_of(case: Case, book: RuleBook, misconception: str = "") -> dict[str, Any]:
    """Return the answers of a learner who holds one misconception, or none.

    A misconception of another unit changes nothing.
    """
    answers = model_answers(case, book)
    plays = _PLAYED_BY[case.exercise]
    if misconception in plays.PLAYS:
        plays.play(answers, case, book, misconception)
    return answers


def played(exercise: str) -> tuple[str, ...]:
    """Return the misconceptions that can be played in an exercise."""
    return tuple(_PLAYED_BY[exercise].PLAYS)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    plays = _PLAYED_BY[case.exercise]
    return misconception in plays.PLAYS and bool(plays.shows(case, misconception))
