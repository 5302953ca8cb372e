"""Marks a case from birth to stabilised: a finding for each criterion that it asks.

Hands and decisions are marked, never the baby's numbers. What the course's edition does not state
is not marked, and a finding says so.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.scenario import airway, breath, heart, oxygen, team
from graders.units.scenario.facts import Facts
from graders.units.scenario.slip import Criterion, Slip
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.scenario import Case, ScenarioError, read_scenario, replay, seconds
from workbook.scenario.demands import highest
from workbook.scenario.record import Played

PARTS = (breath, airway, heart, oxygen, team)
HALF = 0.5


@cache
def key() -> Mapping[str, Any]:
    """Return what is said of each criterion and slip, and what the criteria are worth."""
    text = Path(__file__).with_name("key.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def points() -> float:
    """Return what a case is worth in all."""
    return float(key()["all"]["points"])


def check(case: Case, value: Any, book: RuleBook, question: str = "case") -> Verdict:
    """Return the verdict on one case; None means it was not answered."""
    if value is None:
        return Verdict(question, checks.unanswered(question, points()))
    try:
        limit = book["scenario.limit"].value
        played = read_scenario(value, case.id, seconds(book), limit)
    except ScenarioError as error:
        return Verdict(question, checks.unreadable(question, points(), str(error)))
    return verdict(Facts(replay(case, played, book), book), question)


def marked(case: Case, played: Played, book: RuleBook, question: str = "case") -> Verdict:
    """Return the verdict on a case that was played."""
    return verdict(Facts(replay(case, played, book), book), question)


def criteria(facts: Facts) -> list[Criterion]:
    """Return the criteria that a case asks, each with its slip or none."""
    return [each for part in PARTS for each in part.judged(facts)]


def verdict(facts: Facts, question: str = "case") -> Verdict:
    """Return the verdict on what a case showed."""
    from graders.units.scenario.signs import shown

    found = criteria(facts)
    worth = shares(found)
    beliefs = shown(facts, found)
    made = [_finding(facts, one, worth[one.id], question, beliefs) for one in found]
    left = [name for name in beliefs if name not in {each.misconception for each in made}]
    return Verdict(question, (*made, *_told(left, question)))


def shares(found: Sequence[Criterion]) -> dict[str, float]:
    """Return the points of each criterion; those judged come to the same sum in every case."""
    table = key()["criterion"]
    weights = {one.id: 0.0 if one.blank else float(table[one.id]["points"]) for one in found}
    whole = sum(weights.values())
    worth = {id: round(points() * weight / whole, 2) for id, weight in weights.items()}
    most = max(worth, key=lambda id: worth[id])
    worth[most] = round(worth[most] + points() - sum(worth.values()), 2)
    return worth


def _finding(
    facts: Facts, one: Criterion, possible: float, question: str, beliefs: Mapping[str, str]
) -> Finding:
    name, words = f"{question}-{one.id}", _words(facts, one.slip)
    if one.blank:
        says = _(key()["all"]["blank"]).format_map(words)
        return Finding(name, True, says, rule=one.rule)
    part = _part(facts) if one.lasts else 1.0
    kept = "" if part == 1 or one.slip else f" {_(key()['all']['part'])}"
    if one.slip is None:
        says = _(key()["criterion"][one.id]["right"]).format_map(words) + kept
        earned = round(possible * part, 2)
        return Finding(name, True, says, earned, possible, False, one.rule)
    said = key()["slip"][one.slip.cause]
    share = HALF if said.get("half") else one.share
    return Finding(
        name, False, _(said["says"]).format_map(words), round(possible * share * part, 2),
        possible, said.get("critical", False), one.rule, _source(facts, one.rule),
        next((belief for belief, id in beliefs.items() if id == one.id), ""),
    )  # fmt: skip


def _source(facts: Facts, id: str) -> str:
    """Return where a criterion's rule comes from, for this baby; nothing where it is not stated."""
    case = facts.case
    if id == "pip.ceiling":
        return checks.source_of(highest(facts.book, case.weeks, case.kg))
    rules = facts.book.all(id) if id in facts.book else ()
    mine = [r for r in rules if r.population.includes(case.weeks, 1000 * case.kg) and r.stated]
    return checks.source_of(mine[0]) if mine else ""


def _part(facts: Facts) -> float:
    """Return which part of the case was played; all of it once the baby was stable."""
    return 1.0 if facts.whole else min(1.0, facts.end / facts.book["scenario.limit"].value)


def _words(facts: Facts, slip: Slip | None) -> dict[str, str]:
    """Return what fills in the words of a finding."""
    one, limits = slip or Slip(""), facts.limits
    digits = 1 if one.unit == "s" else 0
    worst, limit = (
        plain(round(value, digits), one.unit) if one.unit else number(round(value))
        for value in (one.worst, one.limit)
    )
    return {
        "edition": facts.made.demands.edition, "other": one.other, "worst": worst, "limit": limit,
        "at": plain(round(one.at), "s"), "within": plain(limits.within, "s"),
        "top": plain(limits.top, "cmH2O"), "compress": plain(limits.compress, "1/min"),
    }  # fmt: skip


def _told(beliefs: Iterable[str], question: str) -> Iterable[Finding]:
    """Yield a finding without points for each belief that no slip of the marks shows."""
    from graders.units.scenario.signs import believed

    for id in beliefs:
        yield Finding(f"{question}-{id}", False, _(believed()[id].true), misconception=id)


__all__ = ["HALF", "check", "criteria", "key", "marked", "points", "shares", "verdict"]
