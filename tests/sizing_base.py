"""Drawn cases of the sizing exercise that its tests begin with."""

from __future__ import annotations

from functools import cache

from graders.marks.misconceptions import beliefs_of
from workbook.cases import Case, case
from workbook.rules import rulebook
from workbook.units.sizing.case.questions import EXERCISE

BOOK = rulebook("aha-2020")


@cache
def cases(edition: str, learners: int) -> tuple[Case, ...]:
    """Return the cases of a class of invented learners in one edition."""
    book = rulebook(edition)
    return tuple(case("demo", EXERCISE, f"learner{n}", book) for n in range(learners))


CASES = cases(BOOK.edition.id, 200)
ONE = CASES[0]


def total(verdicts) -> float:
    return round(sum(v.earned for v in verdicts), 2)


def beliefs(verdicts) -> set[str]:
    """Return what is told, be it sure or a slip as well."""
    return {beliefs_of(name) for v in verdicts for name in v.misconceptions}
