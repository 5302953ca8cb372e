"""What is said of a run's hazards: when, how much, what the baby would have met."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding
from graders.watch.care import Care
from graders.watch.hazards import hazards
from graders.watch.limits import Bounds, Hazard
from workbook.bench.story import needle
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.rules import RuleBook

HALF = 0.5  # of the watch's points are kept where the hand itself mended every hazard at once
_UNITS = {
    "pressure": "cmH2O", "volume": "mL/kg", "weak": "mL/kg", "long": "s", "gap": "s",
    "fast": "1/min", "slow": "1/min", "unread": "cmH2O", "peep-lost": "cmH2O",
    "peep-high": "cmH2O",
}  # fmt: skip


@cache
def words() -> Mapping[str, Any]:
    """Return what is said of each hazard, and the rule it rests on."""
    path = Path(__file__).with_name("watch.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def worth(task: str) -> float:
    """Return the points for a run of a task in which nothing could have harmed a baby."""
    return float(words()["worth"][task])


def findings(
    task: str,
    question: str,
    care: Care,
    within: Bounds,
    book: RuleBook,
    beliefs: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Return one finding for a run without a hazard, else one for each kind of hazard.

    A run in which no baby was at the T-piece earns nothing, and is not critical.
    A hazard that the hand did not mend at once is critical, and costs all points of the watch;
    where each was mended at once, half of them are lost and nothing is critical. ``beliefs`` says
    which misconception the marks of the task have named for what led to a kind of hazard.
    """
    found, points = hazards(care, within), worth(task)
    if not found and not care.meets_baby:
        # Nothing to watch is no care: it earns nothing, and harms nobody.
        says = _(words()["nobody"])
        return (Finding(f"{question}-watch", False, says, 0.0, points, rule="watch.pause"),)
    if not found:
        says = _(words()["clear"])
        return (Finding(f"{question}-watch", True, says, points, points, rule="watch.pause"),)
    kept = round(points * HALF, 2) if all(each.mended for each in found) else 0.0
    once: dict[str, list[Hazard]] = {}
    for each in found:
        once.setdefault(each.kind, []).append(each)
    named = beliefs or {}
    made = [
        replace(_finding(question, same, care, book), misconception=named.get(kind, ""))
        for kind, same in once.items()
    ]
    return (replace(made[0], earned=kept, possible=points), *made[1:])


def _finding(question: str, same: Sequence[Hazard], care: Care, book: RuleBook) -> Finding:
    """Return the finding on all hazards of one kind: the first is told, with how often."""
    first = same[0]
    table = words()["hazard"][first.kind]
    mended = all(each.mended for each in same)
    says = _(table["says"]).format_map(_told(first, care))
    if len(same) > 1:
        says += " " + _(words()["again"]).format(count=len(same))
    says += " " + _(words()["mended" if mended else table.get("then", "harm")])
    rule = book[table["rule"]]
    return Finding(
        f"{question}-watch-{first.kind}", False, says, 0.0, 0.0, not mended, rule.id,
        checks.source_of(rule), "", _shown(first, care),
    )  # fmt: skip


def _told(hazard: Hazard, care: Care) -> dict[str, str]:
    unit, share = _UNITS[hazard.kind], 1.0
    if unit == "mL/kg" and care.bench is not None:
        share = 1 / care.bench.weight
    digits = 0 if unit == "1/min" else 1
    return {
        "start": plain(round(hazard.start), "s"),
        "seconds": plain(round(hazard.seconds, 1), "s"),
        "worst": plain(round(hazard.worst * share, digits), unit),
        "limit": plain(round(hazard.limit * share, digits), unit),
    }


def _shown(hazard: Hazard, care: Care) -> tuple[tuple[float, float], ...]:
    if care.bench is None or care.hands is None:
        return ()
    return tuple(needle(care.bench, care.hands, hazard.start))
