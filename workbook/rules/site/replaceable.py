"""Which rules a site may replace, and how far from ours its numbers may lie."""

from __future__ import annotations

from workbook.core.quantities import MEASURES
from workbook.rules.files import file
from workbook.rules.rule import Basis, Rule

# Assumptions too, but of how a site works and how long its people take, not of what is asked.
_SITES_OWN = ("retest.", "trial.time.", "trial.act", "trial.unventilated", "trial.high",
              "trial.stuck")  # fmt: skip


def locked(rule: Rule) -> str:
    """Return why a site cannot replace a rule, empty when it can."""
    if rule.id.startswith("fact."):
        return "it is what a study found, not a setting"
    if rule.citation.basis is Basis.COMPUTED:
        return "it is computed from other rules"
    if rule.citation.basis is Basis.ASSUMPTION and not rule.id.startswith(_SITES_OWN):
        return "it shapes an exercise of the workbook, not care at a site"
    return ""


def sane_limit(rule: Rule) -> Rule:
    """Return the sane limit of a rule: the longest id it begins with, its unit, or its measure."""
    limits = {limit.id.removeprefix("sane."): limit for limit in file("limits")}
    parts = rule.id.split(".")
    for n in range(len(parts), 0, -1):
        if (limit := limits.get(".".join(parts[:n]))) and _same_measure(limit, rule):
            return limit
    of_measure = limits[f"measure.{MEASURES[rule.unit or '']}"]
    return limits.get(f"unit.{rule.unit}", of_measure)


def _same_measure(limit: Rule, rule: Rule) -> bool:
    return MEASURES[limit.unit or ""] == MEASURES[rule.unit or ""]
