"""Reads a site's protocol file and says everything that is wrong or doubtful in it, by line."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from workbook.core.plainfile import NotPlainError, TooLargeError, read_plain
from workbook.rules.book import RuleBook
from workbook.rules.files import editions, rulebook
from workbook.rules.reader.places import Places
from workbook.rules.reader.reading import Reading
from workbook.rules.reader.rulefile import RuleFileError
from workbook.rules.rule import Rule, RuleError
from workbook.rules.signed import Signature
from workbook.rules.site.protocol import Protocol, overlay, site_source
from workbook.rules.site.protocolrule import build_replacement
from workbook.rules.site.signedfile import build_signature, fallen

_HEAD = {"title", "edition", "source", "approved_by", "review_by"}
LARGEST = 2**20  # bytes; the longest protocol has some 100,000
Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in a protocol file; there is a protocol only when there is no problem."""

    protocol: Protocol | None
    problems: tuple[str, ...]
    warnings: tuple[str, ...]


def read_protocol(path: Path) -> Protocol:
    """Return the protocol of a file; RuleFileError names every mistake with its line."""
    checked = check_protocol(path, date.min)
    if checked.protocol is None:
        raise RuleFileError(path, list(checked.problems))
    return checked.protocol


def check_protocol(path: Path, today: date) -> Checked:
    """Return everything that is wrong with a protocol file, or doubtful on this day."""
    try:
        text = read_plain(path, LARGEST, follow=True).decode().removeprefix("\ufeff")
        tables = tomllib.loads(text)
    except FileNotFoundError:
        return Checked(None, (f"there is no file at {path}",), ())
    except NotPlainError:
        return Checked(None, ("it is no file but a folder, a pipe or a device",), ())
    except TooLargeError:
        says = f"it is larger than {LARGEST // 2**20} MB, so it is no protocol"
        return Checked(None, (says,), ())
    except UnicodeDecodeError as error:
        return Checked(None, (f"it is not UTF-8 text (byte {error.start})",), ())
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        return Checked(None, (f"it is not TOML: {error}",), ())
    reading, doubts = Reading(Places(text)), Reading(Places(text))
    protocol = _protocol(reading, doubts, tables)
    if reading.problems or protocol is None:
        return Checked(None, _by_line(reading.problems), _by_line(doubts.problems))
    _doubt(doubts, protocol, today)
    return Checked(protocol, (), _by_line(doubts.problems))


def _protocol(reading: Reading, doubts: Reading, tables: Table) -> Protocol | None:
    for key in sorted(set(tables) - {"protocol", "replace", "signed"}):
        there = "[protocol], [[replace]] and [[signed]]"
        reading.problem(key, None, f"unknown table {key!r}; there are {there}")
    head = tables.get("protocol")
    if not isinstance(head, dict):
        reading.problem("protocol", None, "the [protocol] table is missing")
        head = {}
    reading.unknown("protocol", None, head, _HEAD)
    title, edition, source, by = (
        reading.text("protocol", None, head, key)
        for key in ("title", "edition", "source", "approved_by")
    )
    until = _review(reading, head)
    book = _book(reading, edition)
    site = site_source(title, source, by, until)
    made = [
        build_replacement(reading, doubts, n, t, book, site)
        for n, t in _tables(reading, tables, "replace")
    ]
    rules = tuple(rule for rule in made if rule is not None)
    _refuse_twins(reading, made)
    signed = _signatures(reading, tables)
    return None if until is None else Protocol(title, edition, site, until, rules, signed)


def _signatures(reading: Reading, tables: Table) -> tuple[Signature, ...]:
    made = [build_signature(reading, n, got) for n, got in _tables(reading, tables, "signed")]
    seen: set[tuple[str, str, str]] = set()
    for n, signature in enumerate(made):
        if signature is not None and signature.key in seen:
            whom = f"{signature.rule} of {signature.edition} for {signature.population}"
            reading.problem("signed", n, f"{whom} stands twice")
        seen.add(signature.key if signature else ("", "", ""))
    return tuple(signature for signature in made if signature is not None)


def _tables(reading: Reading, tables: Table, name: str) -> list[tuple[int, Table]]:
    given = tables.get(name, [])
    if not isinstance(given, list) or not all(isinstance(each, dict) for each in given):
        reading.problem(name, None, f"write [[{name}]] with two brackets before each rule")
        return []
    return list(enumerate(given))


def _review(reading: Reading, head: Table) -> date | None:
    until = head.get("review_by")
    if isinstance(until, datetime):
        return until.date()
    if isinstance(until, date):
        return until
    says = "review_by must be a date like 2027-06-30, without quotation marks"
    reading.problem("protocol", None, says, "review_by")
    return None


def _book(reading: Reading, edition: str) -> RuleBook | None:
    """Return the edition's rules, or those of the edition most likely meant, to go on checking."""
    if not edition:
        return None
    try:
        return rulebook(edition)
    except RuleError as error:
        reading.problem("protocol", None, str(error), "edition")
    near = difflib.get_close_matches(edition, editions(), n=1)
    if near:
        return rulebook(near[0])
    reading.problem("replace", None, "rules are not checked while the edition is unknown")
    return None


def _doubt(doubts: Reading, protocol: Protocol, today: date) -> None:
    """Note a review date that has passed, a protocol that replaces nothing, and a low relief."""
    if protocol.expired(today):
        says = f"the review date {protocol.review_by} has passed: have the protocol reviewed"
        doubts.problem("protocol", None, says, "review_by")
    for n, signature in enumerate(protocol.signed):
        if says := fallen(signature):
            doubts.problem("signed", n, says, "rule")
        elif signature.read.date > today.isoformat() > date.min.isoformat():
            says = f"{signature.rule} was signed on {signature.read.date}, which is yet to come"
            doubts.problem("signed", n, says, "date")
    if not protocol.rules and not protocol.signed:
        doubts.problem("protocol", None, "it replaces no rule of the edition")
    for start, relief in _together(protocol, "pip.start", "relief.limit"):
        if start.band[0] > relief.band[1]:
            says = f"pip.start, {start.text}, is above relief.limit, {relief.text}"
            doubts.problem("protocol", None, f"{says} ({relief.population.says})")


def _together(protocol: Protocol, one: str, other: str) -> list[tuple[Rule, Rule]]:
    """Return the stated rules of two ids that meet in one baby, under the protocol."""
    rules = [rule for rule in overlay(rulebook(protocol.edition), protocol) if rule.stated]
    return [
        (a, b)
        for a in rules
        for b in rules
        if a.id == one and b.id == other and a.population.overlaps(b.population)
    ]


def _by_line(problems: list[str]) -> tuple[str, ...]:
    """Return problems in the order of the file; those without a line come first."""
    found = [(re.match(r"line (\d+),", problem), problem) for problem in problems]
    return tuple(p for _, p in sorted((int(m[1]) if m else 0, p) for m, p in found))


def _refuse_twins(reading: Reading, rules: list[Rule | None]) -> None:
    seen: set[tuple[str, str]] = set()
    for n, rule in enumerate(rules):
        if rule is None:
            continue
        mark = (rule.id, rule.population.says)
        if mark in seen:
            reading.problem("replace", n, f"{rule.id} for {rule.population.says} stands twice")
        seen.add(mark)
