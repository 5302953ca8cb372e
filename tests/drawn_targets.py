"""The drawn cases that tests of the pressure target exercise share: drawing takes a while."""

from __future__ import annotations

from functools import cache

from workbook.cases import Case, case
from workbook.rules import rulebook
from workbook.units.targets.case.questions import EXERCISE

COUNT = 500
DEFAULT = rulebook().edition.id


@cache
def drawn(n: int = 0, edition: str = DEFAULT) -> Case:
    """Return the case of one invented learner."""
    return case("demo", EXERCISE, f"learner{n}", rulebook(edition))


@cache
def cases() -> list[Case]:
    """Return the cases of many learners under the default edition."""
    return [drawn(n) for n in range(COUNT)]
