"""How a learner who holds a belief of unit 9 answers."""

from __future__ import annotations

from typing import Any

from graders.units.tiny.marks import BELIEFS
from workbook.cases import Case
from workbook.rules import RuleBook

PLAYS = {belief: {"tiny-bag": option} for option, belief in BELIEFS.items()}


def play(answers: dict[str, Any], case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the belief."""
    answers.update(PLAYS[misconception])


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which the belief can show."""
    return misconception in PLAYS
