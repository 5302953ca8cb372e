"""The cases that the tests of rate and counting share."""

from __future__ import annotations

from functools import cache

from graders.marking.exercise import mark
from graders.marks.misconceptions import beliefs_of
from graders.units.rate.marks import POINTS
from workbook.cases import case
from workbook.rules import editions, rulebook
from workbook.units.rate.case.questions import EXERCISE

FULL = sum(POINTS.values())
EACH = 20  # learners of each edition
EDITIONS = list(editions())
BEGIN = [edition for edition in EDITIONS if edition.startswith(("erc-2015", "erc-2021"))]


@cache
def drawn(learner: str = "ada", edition: str = "aha-2020"):
    return case("demo", EXERCISE, learner, rulebook(edition))


@cache
def of(edition: str, count: int = EACH):
    """Return the cases of some learners in one edition."""
    return [drawn(f"learner{n}", edition) for n in range(count)]


@cache
def many():
    """Return the cases of every edition."""
    return [each for edition in EDITIONS for each in of(edition)]


def beliefs(verdicts) -> set[str]:
    """Return what is told, be it sure or a slip as well."""
    return {beliefs_of(name) for v in verdicts for name in v.misconceptions}


def marked(id: str, data, edition: str = "aha-2020", learner: str = "ada"):
    return mark(drawn(learner, edition), id, data, rulebook(edition))
