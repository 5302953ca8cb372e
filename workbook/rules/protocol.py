"""A site's own protocol: an overlay on one edition that replaces rules that exist.

It never edits the edition: the replaced rule stays with the new one, so both can be shown.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from workbook.rules.book import RuleBook
from workbook.rules.files import DATA, RuleFileError, read_rules, rulebook
from workbook.rules.places import Places
from workbook.rules.reading import Reading
from workbook.rules.rule import Basis, Citation, Rule, RuleError, Source
from workbook.units import MEASURES, UnitError, convert, plain

_HEAD = {"title", "edition", "source", "approved_by", "review_by"}
_KEYS = {"rule", "population", "says", "unit", "low", "high", "value", "locator"}


@dataclass(frozen=True, slots=True)
class Protocol:
    """A site's protocol: who answers for it, until when, and which rules it replaces."""

    title: str
    edition: str
    source: Source
    approved_by: str
    review_by: date
    rules: tuple[Rule, ...]

    def expired(self, today: date) -> bool:
        """Say whether the review date has passed."""
        return today > self.review_by


def overlay(book: RuleBook, protocol: Protocol) -> RuleBook:
    """Return the book with the protocol's rules in place of the edition's.

    Laid on twice it changes nothing more; no other rule is touched. RuleError when the protocol
    is written for another edition.
    """
    if protocol.edition != book.edition.id:
        raise RuleError(
            f"{protocol.title} is written for {protocol.edition}, not for {book.edition.id}."
        )
    ours = {(rule.id, rule.population): rule for rule in protocol.rules}
    rules = tuple(ours.get((rule.id, rule.population), rule) for rule in book.rules)
    return replace(book, rules=rules, protocol=protocol.title)


def read_protocol(path: Path) -> Protocol:
    """Read a protocol file; RuleFileError names every mistake with its line."""
    try:
        text = path.read_text(encoding="utf-8")
        tables = tomllib.loads(text)
    except FileNotFoundError:
        raise RuleFileError(path, [f"there is no file at {path}"]) from None
    except UnicodeDecodeError as error:
        raise RuleFileError(path, [f"it is not UTF-8 text (byte {error.start})"]) from None
    except tomllib.TOMLDecodeError as error:
        raise RuleFileError(path, [f"it is not TOML: {error}"]) from None
    reading = Reading(Places(text))
    protocol = _protocol(reading, tables)
    if protocol is None or reading.problems:
        raise RuleFileError(path, reading.problems)
    return protocol


def _protocol(reading: Reading, tables: Mapping[str, Any]) -> Protocol | None:
    reading.unknown("protocol", None, tables, {"protocol", "replace"})
    head = tables.get("protocol")
    if not isinstance(head, dict):
        reading.problem("protocol", None, "the [protocol] table is missing")
        return None
    reading.unknown("protocol", None, head, _HEAD)
    title, edition, source, by = (
        reading.text("protocol", None, head, key)
        for key in ("title", "edition", "source", "approved_by")
    )
    until = head.get("review_by")
    if not isinstance(until, date):
        reading.problem("protocol", None, "review_by must be a date like 2027-06-30", "review_by")
    try:
        book = rulebook(edition) if edition else None
    except RuleError as error:
        reading.problem("protocol", None, str(error), "edition")
        book = None
    if book is None or not isinstance(until, date):
        return None
    site = Source("site", title, source, "site protocol", None, note=f"approved by {by}")
    rules = [_replacement(reading, n, t, book, site) for n, t in enumerate(tables.get("replace", []))]
    _refuse_twins(reading, rules)
    kept = tuple(rule for rule in rules if rule is not None)
    return Protocol(title, edition, site, by, until, kept)


def _replacement(
    reading: Reading, n: int, got: Mapping[str, Any], book: RuleBook, site: Source
) -> Rule | None:
    before = len(reading.problems)
    reading.unknown("replace", n, got, _KEYS)
    old = _replaced(reading, n, got, book)
    value, low, high = (reading.number("replace", n, got, k) for k in ("value", "low", "high"))
    if value is not None and (low is not None or high is not None):
        reading.problem("replace", n, "give value, or low and high, not both", "value")
    if value is not None:
        low = high = value
    if low is None and high is None and old is not None and old.unit is not None:
        reading.problem("replace", n, "has no number: give value, or low and high")
    if low is not None and high is not None and low > high:
        reading.problem("replace", n, f"low {low:g} is above high {high:g}", "low")
    if old is None or len(reading.problems) > before:
        return None
    bounds = _in_unit_of(reading, n, got, old, (low, high))
    if bounds is None:
        return None
    citation = Citation(site, Basis.PRACTICE, str(got.get("locator", "")))
    says = str(got.get("says") or old.says)
    low, high = bounds
    return replace(
        old, says=says, low=low, high=high, typical=None, citation=citation, replaces=old
    )


def _replaced(reading: Reading, n: int, got: Mapping[str, Any], book: RuleBook) -> Rule | None:
    """Return the rule that a replacement names, for the population it names."""
    id = reading.text("replace", n, got, "rule")
    try:
        candidates = book.all(id) if id else ()
    except RuleError as error:
        reading.problem("replace", n, str(error), "rule")
        return None
    wanted = got.get("population")
    found = [r for r in candidates if wanted is None or r.population.says == wanted]
    if len(found) == 1:
        return found[0]
    if candidates:
        there = "; ".join(rule.population.says for rule in candidates)
        reading.problem("replace", n, f"name the population of {id}, one of: {there}", "population")
    return None


def _in_unit_of(
    reading: Reading,
    n: int,
    got: Mapping[str, Any],
    old: Rule,
    bounds: tuple[float | None, float | None],
) -> tuple[float | None, float | None] | None:
    """Return the bounds in the old rule's unit, or None after noting what is wrong."""
    unit = got.get("unit", old.unit)
    if old.unit is None or not isinstance(unit, str):
        return bounds
    try:
        low, high = (None if x is None else convert(x, unit, old.unit) for x in bounds)
    except UnitError as error:
        reading.problem("replace", n, f"{old.id}: {error}", "unit")
        return None
    limit = limits().get(MEASURES[old.unit])
    if limit is not None:
        for end in (low, high):
            if end is not None and not limit.holds(convert(end, old.unit, limit.unit or "")):
                shown = plain(end, old.unit)
                says = f"{old.id}: {shown} is outside what is physically sane, {limit.text}"
                reading.problem("replace", n, says, "low" if end == low else "high")
                return None
    return low, high


def limits() -> Mapping[str, Rule]:
    """Return the sane physical limits of a measure, whatever a rule says."""
    _, rules = read_rules(DATA / "limits.toml")
    return {MEASURES[rule.unit or ""]: rule for rule in rules}


def _refuse_twins(reading: Reading, rules: list[Rule | None]) -> None:
    seen: set[tuple[str, str]] = set()
    for n, rule in enumerate(rules):
        if rule is None:
            continue
        mark = (rule.id, rule.population.says)
        if mark in seen:
            reading.problem("replace", n, f"{rule.id} for {rule.population.says} stands twice")
        seen.add(mark)
