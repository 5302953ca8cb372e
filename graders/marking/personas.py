"""How a learner who holds a misconception answers: for the demo and for tests of the marking."""

from __future__ import annotations

from typing import Any

from graders.marking.exercise import model_answers
from graders.units import units
from workbook.cases import Case
from workbook.rules import RuleBook


def answers_of(case: Case, book: RuleBook, misconception: str = "") -> dict[str, Any]:
    """Return the answers of a learner who holds one misconception, or none.

    A misconception of another unit changes nothing.
    """
    answers = model_answers(case, book)
    plays = units()[case.exercise].plays
    if misconception in plays.PLAYS:
        plays.play(answers, case, book, misconception)
    return answers


def played(exercise: str) -> tuple[str, ...]:
    """Return the misconceptions that can be played in an exercise."""
    return tuple(units()[exercise].plays.PLAYS)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    plays = units()[case.exercise].plays
    return misconception in plays.PLAYS and plays.shows(case, misconception)
