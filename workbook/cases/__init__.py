"""A learner's case: drawn from (course, exercise, learner), never stored, always solvable."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from workbook.cases import (
    fault_finding,
    interface_sizing,
    pressure_targets,
    rate_counting,
    setup_order,
)
from workbook.cases.draw import Draw
from workbook.cases.question import Case, Kind, Option, Question, spoken
from workbook.core.language import N_, _, in_force
from workbook.rules import RuleBook
from workbook.rules.signed import following

_DRAWN_BY: dict[str, Callable[[str, str, RuleBook], tuple[Question, ...]]] = {
    setup_order.EXERCISE: setup_order.questions,
    pressure_targets.EXERCISE: pressure_targets.questions,
    rate_counting.EXERCISE: rate_counting.questions,
    interface_sizing.EXERCISE: interface_sizing.questions,
    fault_finding.EXERCISE: fault_finding.questions,
}
_TITLES = {
    setup_order.EXERCISE: N_("Exercise 1: set-up order"),
    pressure_targets.EXERCISE: N_("Exercise 3: pressure targets"),
    rate_counting.EXERCISE: N_("Exercise 4: counting the rate"),
    interface_sizing.EXERCISE: N_("Exercise 5: mask and tube"),
    fault_finding.EXERCISE: N_("Exercise 6: fault finding"),
}


def exercises() -> tuple[str, ...]:
    """Return the exercises there are, in teaching order."""
    return tuple(_DRAWN_BY)


def title(exercise: str) -> str:
    """Return the heading of an exercise in the language spoken; of an unknown one its id."""
    return _(_TITLES[exercise]) if exercise in _TITLES else exercise


def case(course: str, exercise: str, learner: str, book: RuleBook, attempt: int = 1) -> Case:
    """Return a learner's case; KeyError with a sentence when there is no such exercise.

    Each attempt, counted from 1, draws a case of its own.
    """
    if exercise not in _DRAWN_BY:
        raise KeyError(f"There is no exercise {exercise!r}; there are {', '.join(_DRAWN_BY)}.")
    questions = _questions(exercise, course, _lot(learner, attempt), book, in_force())
    return Case(course, exercise, learner, book.edition.id, questions, attempt)


@lru_cache(maxsize=4)  # marking asks for a case, and at once its result asks for it again
def _questions(
    exercise: str, course: str, lot: str, book: RuleBook, language: str
) -> tuple[Question, ...]:
    """Return the questions drawn, in the language in force, which ``language`` names."""
    with following(book.signed):
        return _DRAWN_BY[exercise](course, lot, book)


def _lot(learner: str, attempt: int) -> str:
    """Return what a learner's draws follow from: no learner id holds the sign between."""
    return learner if attempt == 1 else f"{learner}\x1e{attempt}"


__all__ = ["Case", "Draw", "Kind", "Option", "Question", "case", "exercises", "spoken", "title"]
