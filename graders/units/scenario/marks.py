"""Marks a case from birth to stabilised, and its note: a finding for each criterion that it asks.

Hands and decisions are marked, never the baby's numbers. What the course's edition does not state
is not marked, and a finding says so.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.unit import Beside
from graders.marks.verdict import Finding, Verdict
from graders.units.scenario import airway, breath, heart, note, oxygen, team
from graders.units.scenario.facts import Facts
from graders.units.scenario.signs import believed, shown
from graders.units.scenario.slip import Criterion, Slip
from graders.units.scenario.went import went
from workbook.cases import Case
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.scenario import Case as Birth
from workbook.scenario import ScenarioError, read_scenario, replay, seconds
from workbook.scenario.demands import highest
from workbook.scenario.expert import expert
from workbook.scenario.note import NoteError, read_note
from workbook.scenario.record import Played
from workbook.units.scenario.case.questions import CASE_OF, CASES, EXERCISE

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


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on a case, or on a note beside its case; None means not answered."""
    asked = case[question]
    if question in CASE_OF:
        return of_note(asked.facts["case"], value, book, question)
    return of_record(asked.facts["case"], value, book, question)


def of_record(case: Birth, value: Any, book: RuleBook, question: str = "case") -> Verdict:
    """Return the verdict on a record of one case; None means it was not answered."""
    if value is None:
        return Verdict(question, checks.unanswered(question, points()))
    try:
        found = facts_of(case, value, book)
    except ScenarioError as error:
        return Verdict(question, checks.unreadable(question, points(), str(error)))
    return verdict(found, question)


def facts_of(case: Birth, value: Any, book: RuleBook) -> Facts:
    """Return what a record shows; ScenarioError with a sentence when it cannot be read."""
    played = read_scenario(value, case.id, seconds(book), book["scenario.limit"].value)
    return _facts(case, played, book)


@lru_cache(maxsize=8)  # a case is asked for by its own marks, by its note's and by its result
def _facts(case: Birth, played: Played, book: RuleBook) -> Facts:
    return Facts(replay(case, played, book), book)


def marked(case: Birth, played: Played, book: RuleBook, question: str = "case") -> Verdict:
    """Return the verdict on a case that was played."""
    return verdict(_facts(case, played, book), question)


def of_note(case: Birth, value: Any, book: RuleBook, question: str) -> Verdict:
    """Return the verdict on a note beside the record of its case."""
    written, record = (value.own, value.other) if isinstance(value, Beside) else (value, None)
    full = POINTS[question]
    if written is None:
        return Verdict(question, checks.unanswered(question, full))
    try:
        noted, found = read_note(written), facts_of(case, record, book)
    except NoteError as error:
        return Verdict(question, checks.unreadable(question, full, str(error)))
    except ScenarioError:
        return Verdict(question, _only(question, full, "played"))
    if not found.acts:
        return Verdict(question, _only(question, full, "nothing"))
    return Verdict(question, tuple(note.findings(noted, found, key(), question)))


def _only(question: str, full: float, says: str) -> tuple[Finding, ...]:
    return (Finding(question, False, _(key()["all"][says]), 0.0, full, False, "scenario.note"),)


POINTS: Mapping[str, float] = {
    **dict.fromkeys(CASES, points()),
    **dict.fromkeys(CASE_OF, note.points(key())),
}


def criteria(facts: Facts) -> list[Criterion]:
    """Return the criteria that a case asks, each with its slip or none."""
    return [each for part in PARTS for each in part.judged(facts)]


def verdict(facts: Facts, question: str = "case") -> Verdict:
    """Return the verdict on what a case showed."""
    found = criteria(facts)
    worth = shares(found)
    beliefs = shown(facts, found)
    kept = went(facts, found).stored
    made = [
        replace(
            _finding(facts, one, worth[one.id], question, beliefs),
            about=kept if one.id == "aloud" else "",
        )
        for one in found
    ]
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
        at=one.slip.at or None,
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
    for id in beliefs:
        yield Finding(f"{question}-{id}", False, _(believed()[id].true), misconception=id)


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return the cases of somebody who goes by the edition's steps, and a true note of each."""
    answers: dict[str, Any] = {}
    for told, id in CASE_OF.items():
        drawn = case[id].facts["case"]
        played = expert(drawn, book)
        answers[id] = played.to_data()
        answers[told] = note.of(_facts(drawn, played, book))
    return answers


__all__ = [
    "EXERCISE",
    "HALF",
    "POINTS",
    "check",
    "criteria",
    "key",
    "marked",
    "model_answers",
    "of_record",
    "points",
    "shares",
    "verdict",
]
