"""Marks a whole exercise: a case and its answers in, verdicts out."""

from __future__ import annotations

from collections.abc import Mapping
from types import ModuleType
from typing import Any

from graders import beliefs
from graders.marks.verdict import Verdict
from graders.units.faults import marks as fault_finding
from graders.units.rate import marks as rate_counting
from graders.units.setup import marks as setup_order
from graders.units.sizing import marks as interface_sizing
from graders.units.targets import marks as pressure_targets
from workbook.cases import Case
from workbook.cases import fault_finding as cases_of_faults
from workbook.language import in_force, speaking
from workbook.rules import RuleBook
from workbook.rules.signed import following

_MARKERS: dict[str, ModuleType] = {
    setup_order.EXERCISE: setup_order,
    pressure_targets.EXERCISE: pressure_targets,
    rate_counting.EXERCISE: rate_counting,
    interface_sizing.EXERCISE: interface_sizing,
    cases_of_faults.EXERCISE: fault_finding,
}


def marker(exercise: str) -> ModuleType:
    """Return the module that marks an exercise."""
    if exercise not in _MARKERS:
        raise KeyError(f"Nothing marks {exercise!r}; there are {', '.join(_MARKERS)}.")
    return _MARKERS[exercise]


def points(exercise: str) -> Mapping[str, float]:
    """Return the points of each question of an exercise."""
    found: Mapping[str, float] = marker(exercise).POINTS
    return found


def mark(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one answer; None means it was not answered.

    A misconception in it is a sign: one answer alone may be a slip.
    """
    with following(book.signed):
        verdict: Verdict = marker(case.exercise).check(case, question, value, book)
    return verdict


def mark_all(case: Case, answers: Mapping[str, Any], book: RuleBook) -> tuple[Verdict, ...]:
    """Return the verdict on every question of a case; a belief is named by all answers together."""
    check = marker(case.exercise).check
    # The language is settled once: asked for at every word, the environment costs a twentieth.
    with following(book.signed), speaking(in_force()):
        verdicts = tuple(check(case, q.id, answers.get(q.id), book) for q in case.questions)
        return beliefs.named(case, answers, verdicts, book)


def model_run(case: Case, question: str, book: RuleBook) -> Any:
    """Return a run at the bench that earns every point of its question."""
    with following(book.signed):
        return marker(case.exercise).model_run(case[question], book)


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    with following(book.signed):
        answers: dict[str, Any] = marker(case.exercise).model_answers(case, book)
    return answers
