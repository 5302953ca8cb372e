"""What the marks of a run at the bench share: words and points from a file, a finding a part."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.bench_slips import Slip
from graders.marks.verdict import Finding
from workbook.bench import Bench, Hands, HandsError, read_hands
from workbook.bench.story import needle
from workbook.cases import Question
from workbook.core.language import _


@dataclass(frozen=True, slots=True)
class Words:
    """What is said of each part of a run and of each slip, and what the parts are worth."""

    part: Mapping[str, Mapping[str, Any]]
    slip: Mapping[str, Mapping[str, Any]]

    @property
    def points(self) -> float:
        """Return what the whole run is worth."""
        return float(sum(part["points"] for part in self.part.values()))

    def finding(
        self, name: str, part: str, slip: Slip | None, told: Mapping[str, str], basis: Basis
    ) -> Finding:
        """Return the finding for a part; ``told`` fills its words in."""
        table, full = self.part[part], self.part[part]["points"]
        if slip is None:
            says = _(table["right"]).format_map(told)
            return Finding(name, True, says, full, full, False, basis.rule)
        said = self.slip.get(slip.cause, {"says": table.get("follows", "")})
        # A slip that this time moved no needle has words of its own, where it could have.
        lucky = "unmoved" in said and told["then"] == told["now"]
        says = _(said["unmoved"] if lucky else said["says"]).format_map(told)
        critical = said.get("critical", False)
        if slip.far and not critical:
            says, critical = f"{says} {_(table['far'])}", True
        return Finding(
            name, False, says, 0.0, full,
            critical, basis.rule, basis.source, said.get("belief", ""),
            tuple(needle(basis.bench, basis.hands, slip.moment)) if slip.cause else (),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Basis:
    """What a finding rests on: a rule or step with its source, and the run it was seen in."""

    rule: str
    source: str
    bench: Bench
    hands: Hands


def words(module: str) -> Words:
    """Return the words that lie beside a module, given its file, under the same name."""
    table = tomllib.loads(Path(module).with_suffix(".toml").read_text(encoding="utf-8"))
    return Words(table["part"], table["slip"])


def beliefs(
    parts: Mapping[str, Finding], shown_by: Mapping[str, tuple[str, ...]]
) -> dict[str, str]:
    """Return hazard -> the misconception named in one of the parts in which its cause is seen."""
    named = {kind: [parts[part].misconception for part in of] for kind, of in shown_by.items()}
    return {kind: next(filter(None, each), "") for kind, each in named.items()}


def marks(
    asked: Question, value: Any, possible: float, judge: Callable[[Hands], tuple[Finding, ...]]
) -> tuple[Finding, ...]:
    """Return what ``judge`` finds in a run, or that the answer is not one."""
    try:
        hands = read_hands(value)
    except HandsError as error:
        return checks.unreadable(asked.id, possible, str(error), critical=True)
    return judge(hands)
