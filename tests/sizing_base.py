"""Drawn cases of the sizing exercise that its tests begin with."""

from __future__ import annotations

from workbook.cases import case
from workbook.cases.interface_sizing import EXERCISE
from workbook.rules import rulebook

BOOK = rulebook("aha-2020")
CASES = [case("demo", EXERCISE, f"learner{n}", BOOK) for n in range(100)]
ONE = CASES[0]


def total(verdicts) -> float:
    return round(sum(v.earned for v in verdicts), 2)


def beliefs(verdicts) -> set[str]:
    return {name for v in verdicts for name in v.misconceptions}
