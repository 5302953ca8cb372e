"""A learner's case: drawn from (course, exercise, learner), never stored, always solvable."""

from __future__ import annotations

from functools import lru_cache

from workbook.cases.draw import Draw, lot
from workbook.cases.question import Case, Kind, Option, Question, spoken
from workbook.cases.unit import units
from workbook.core.language import _, in_force
from workbook.rules import RuleBook
from workbook.rules.signed import following


def exercises() -> tuple[str, ...]:
    """Return the exercises there are, in teaching order."""
    return tuple(units())


def title(exercise: str) -> str:
    """Return the heading of an exercise in the language spoken; of an unknown one its id."""
    return _(units()[exercise].title) if exercise in units() else exercise


def case(course: str, exercise: str, learner: str, book: RuleBook, attempt: int = 1) -> Case:
    """Return a learner's case; KeyError with a sentence when there is no such exercise.

    Each attempt, counted from 1, draws a case of its own.
    """
    if exercise not in units():
        raise KeyError(f"There is no exercise {exercise!r}; there are {', '.join(units())}.")
    questions = _questions(exercise, course, lot(learner, attempt), book, in_force())
    return Case(course, exercise, learner, book.edition.id, questions, attempt)


@lru_cache(maxsize=4)  # marking asks for a case, and at once its result asks for it again
def _questions(
    exercise: str, course: str, drawn_from: str, book: RuleBook, language: str
) -> tuple[Question, ...]:
    """Return the questions drawn, in the language in force, which ``language`` names."""
    with following(book.signed):
        return units()[exercise].questions(course, drawn_from, book)


__all__ = ["Case", "Draw", "Kind", "Option", "Question", "case", "exercises", "spoken", "title"]
