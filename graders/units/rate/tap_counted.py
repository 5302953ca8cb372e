"""What a counting by hand is marked from: its points, its rhythm, and how a finding is made."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from graders import watch
from graders.marks import checks
from graders.marks.verdict import Finding
from workbook.cases import Question
from workbook.rules import Rule, RuleBook
from workbook.taps import Inflation, Judged, Taps, Timing
from workbook.units.rate.case.rhythms import Firsts

FEWEST = 2  # intervals: with fewer there is no rate at all


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: points, right choices, and which choice shows which belief."""
    path = Path(__file__).with_name("key.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def points(question: str) -> float:
    """Return what a counting is worth."""
    return float(sum(key()["tap"][question].values())) + watch.worth("tap")


@dataclass(frozen=True, slots=True)
class Counted:
    """A counting by hand as it is marked: the ordinary count, and what came before it."""

    asked: Question
    taps: Taps
    timing: Timing
    book: RuleBook
    long: tuple[Inflation, ...] = ()
    begins: Firsts | None = None

    @property
    def worth(self) -> Mapping[str, float]:
        """Return the points of each criterion."""
        kind = "begins" if self.begins else "tap"
        worth: Mapping[str, float] = key()[kind][self.asked.id]
        return worth

    @property
    def judged(self) -> Judged:
        """Say whether the rate lies inside; from few intervals it is never sure."""
        found = self.timing.verdict(self.asked.facts["low"], self.asked.facts["high"])
        enough = len(self.timing.intervals) >= self.book["tap.intervals"].band[0]
        return found if enough else "not yet sure"


def finding(
    counted: Counted,
    part: str,
    share: float,
    says: str,
    rule: Rule,
    *,
    belief: str = "",
) -> Finding:
    """Return the finding on one part of a counting: what share of its points it earns."""
    possible = counted.worth[part]
    met = share == 1
    source = "" if met else checks.source_of(rule)
    return Finding(
        f"{counted.asked.id}-{part}", met, says, round(possible * share, 2), possible,
        False, rule.id, source, belief,
    )  # fmt: skip
