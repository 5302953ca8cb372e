"""Marks a whole exercise: a case and its answers in, verdicts out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graders import beliefs
from graders.marks.unit import Beside, Marker
from graders.marks.verdict import Verdict
from graders.units import units
from workbook.cases import Case
from workbook.core.language import in_force, speaking
from workbook.rules import RuleBook
from workbook.rules.signed import following


def marker(exercise: str) -> Marker:
    """Return what marks an exercise."""
    if exercise not in units():
        raise KeyError(f"Nothing marks {exercise!r}; there are {', '.join(units())}.")
    return units()[exercise].marks


def points(exercise: str) -> Mapping[str, float]:
    """Return the points of each question of an exercise."""
    return marker(exercise).POINTS


def mark(
    case: Case, question: str, value: Any, book: RuleBook, answers: Mapping[str, Any] | None = None
) -> Verdict:
    """Return the verdict on one answer; None means it was not answered.

    ``answers`` are the others, for a question that is marked beside another one. A misconception
    in an answer is a sign: one answer alone may be a slip.
    """
    given = _beside(case, question, value, answers or {})
    with following(book.signed):
        return marker(case.exercise).check(case, question, given, book)


def _beside(case: Case, question: str, value: Any, answers: Mapping[str, Any]) -> Any:
    """Return an answer with the one it is marked beside, where there is one."""
    other = units()[case.exercise].beside.get(question) if case.exercise in units() else None
    return value if other is None else Beside(value, answers.get(other))


def mark_all(case: Case, answers: Mapping[str, Any], book: RuleBook) -> tuple[Verdict, ...]:
    """Return the verdict on every question of a case; a belief is named by all answers together."""
    check = marker(case.exercise).check
    # The language is settled once: asked for at every word, the environment costs a twentieth.
    with following(book.signed), speaking(in_force()):
        given = {q.id: _beside(case, q.id, answers.get(q.id), answers) for q in case.questions}
        verdicts = tuple(check(case, q.id, given[q.id], book) for q in case.questions)
        return beliefs.named(case, answers, verdicts, book)


def model_run(case: Case, question: str, book: RuleBook) -> Any:
    """Return a run at the bench that earns every point of its question.

    KeyError where nothing is done at the bench.
    """
    run = units()[case.exercise].run
    if run is None:
        raise KeyError(f"Nothing of {case.exercise} is done at the bench.")
    with following(book.signed):
        return run(case[question], book)


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    with following(book.signed):
        return marker(case.exercise).model_answers(case, book)
