"""The cases that the tests of rate and counting share."""

from __future__ import annotations

from functools import cache
from itertools import cycle, islice

from graders.marking import mark
from graders.rate_counting import POINTS
from workbook.cases import case
from workbook.cases.rate_counting import EXERCISE
from workbook.rules import editions, rulebook

FULL = sum(POINTS.values())
MANY = 500


@cache
def drawn(learner: str = "ada", edition: str = "aha-2020"):
    return case("demo", EXERCISE, learner, rulebook(edition))


@cache
def many():
    """Return 500 cases, the editions taking turns."""
    turns = islice(cycle(editions()), MANY)
    return [drawn(f"learner{n}", edition) for n, edition in enumerate(turns)]


def beliefs(verdicts) -> set[str]:
    return {name for v in verdicts for name in v.misconceptions}


def marked(id: str, data, edition: str = "aha-2020", learner: str = "ada"):
    return mark(drawn(learner, edition), id, data, rulebook(edition))
