"""Marks unit 9: one choice, and the belief that the wrong one shows."""

from __future__ import annotations

from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from workbook.cases import Case
from workbook.core.language import _
from workbook.rules import RuleBook
from workbook.units.tiny.case.questions import EXERCISE

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]

POINTS = {"tiny-bag": 1.0}
RIGHT = "bag"
BELIEFS = {"look": "fault-before-baby"}  # by the option that shows each


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    points, known = POINTS[question], {option.id for option in case[question].options}
    if value is None:
        return Verdict(question, checks.unanswered(question, points, critical=True))
    if not isinstance(value, str) or value not in known:
        return Verdict(question, checks.no_such_choice(question, points, critical=True))
    rule, met = book["fact.backup-bag"], value == RIGHT
    says = _("Right: the baby first.") if met else _("The baby first: ventilate.")
    source = "" if met else checks.source_of(rule)
    earned, belief = (points, "") if met else (0.0, BELIEFS[value])
    found = Finding(question, met, says, earned, points, True, rule.id, source, belief)
    return Verdict(question, (found,))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers that earn every point."""
    return {"tiny-bag": RIGHT}
