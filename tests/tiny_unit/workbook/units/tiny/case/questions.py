"""Draws one question: what a gauge that drops while the hole is held shows."""

from __future__ import annotations

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.core.language import _
from workbook.rules import RuleBook

EXERCISE = "9_tiny"


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the questions of one learner; facts and options, never which option is right."""
    draw = Draw(course, EXERCISE, learner, "tiny-bag")
    options = (
        Option("bag", _("Ventilate with the bag, and look for the fault meanwhile.")),
        Option("look", _("Look for the fault first.")),
    )
    asked = Question(
        "tiny-bag",
        Kind.CHOICE,
        _("The gas fails"),
        context=_("The needle falls to zero while you ventilate. What do you do?"),
        options=tuple(draw.shuffled(options)),
    )
    return (asked,)
