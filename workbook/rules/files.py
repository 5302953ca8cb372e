"""Which rules there are: editions, what stands in for their blanks, files that are no edition."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

from workbook.rules.book import RuleBook
from workbook.rules.edition import PRACTICE, Edition
from workbook.rules.reader.places import Places
from workbook.rules.reader.reading import Reading
from workbook.rules.reader.rulefile import DATA, RuleFileError, load, read_procedures, read_rules
from workbook.rules.reader.succession import build_edition, misplaced, newest, told
from workbook.rules.rule import Rule, RuleError
from workbook.rules.signed import in_force, number_in_force, under

DEFAULT_BODY = "American Heart Association"
RULE_FILES = ("sizes", "gas", "limits")
MODEL_FILES = ("baby",)  # constants of a model: nobody signs them, and no page lists them
_NOT_EDITIONS = {"sources", "procedures", "example-protocol", *RULE_FILES, *MODEL_FILES}


@cache
def editions(folder: Path = DATA) -> Mapping[str, Edition]:
    """Return the editions there are, by id; only the [edition] table of each file is read.

    Raises RuleFileError when one cannot be read or names a successor that cannot be right.
    """
    paths = {p.stem: p for p in sorted(folder.glob("*.toml")) if p.stem not in _NOT_EDITIONS}
    read = {id: _head(path) for id, path in paths.items()}
    known = {id: edition for id, (edition, _) in read.items()}
    for id, key, says in misplaced(known):
        reading = Reading(read[id][1])
        reading.problem("edition", None, says, key)
        raise RuleFileError(paths[id], reading.problems)
    return known


def _head(path: Path) -> tuple[Edition, Places]:
    """Return the edition of a file without its rules: who lists editions needs no more."""
    tables, places = load(path, until="[[rule]]")
    reading = Reading(places)
    edition = build_edition(reading, tables.get("edition"))
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return edition, places


# What a course asks about until its educator chooses: the newest edition of the default body.
DEFAULT_EDITION = newest(DEFAULT_BODY, editions()).id


def superseded(edition: Edition) -> str:
    """Return in one sentence which edition took the place of this one; empty when none did."""
    return told(edition, editions())


def rulebook(edition: str = DEFAULT_EDITION) -> RuleBook:
    """Return what a course goes by: the rules of one edition, and what stands in for its blanks.

    What it leaves open comes from common practice. A rule that another edition lends for a blank
    says so: it keeps its own edition and source, and ``stands_in`` is true. What people of a site
    read in print stands with the rules where their signatures are in force. Raises RuleError
    naming the editions there are.
    """
    return _signed(_course_book, edition, number_in_force()) if in_force() else shipped(edition)


def published(edition: str) -> RuleBook:
    """Return the rules of one edition with its blanks, as editions are compared by.

    What it does not speak of comes from the edition it builds on, or from common practice.
    Raises RuleError naming the editions there are.
    """
    return _signed(_published, edition, number_in_force()) if in_force() else _published(edition)


def file(name: str) -> RuleBook:
    """Return the rules of a file that is no edition: ``sizes``, ``gas``, ``limits`` or ``baby``."""
    if name in MODEL_FILES:
        return _file(name)
    if name not in RULE_FILES:
        raise RuleError(f"There is no rule file {name!r}; there are {', '.join(RULE_FILES)}.")
    return _signed(_file, name, number_in_force()) if in_force() else _file(name)


def shipped(name: str) -> RuleBook:
    """Return the rules of an edition or file as our data has them, signed by nobody."""
    return _file(name) if name in RULE_FILES else _course_book(name)


@cache
def _signed(made: Callable[[str], RuleBook], name: str, _number: int) -> RuleBook:
    """Return rules under the signatures in force, kept by their number."""
    book = made(name)
    rules = under(book.rules, in_force())
    return book if rules == book.rules else replace(book, rules=rules)


@cache
def _course_book(edition: str) -> RuleBook:
    book = _published(edition)
    stated = {rule.id for rule in book if rule.stated}
    lent = [replace(rule, stands_in=True) for rule in _lent() if rule.id not in stated]
    taken = {rule.id for rule in lent}
    kept = [rule for rule in book if rule.id not in taken]
    return RuleBook(book.edition, (*kept, *lent), book.procedures)


@cache
def _published(edition: str) -> RuleBook:
    path = DATA / f"{edition}.toml"
    if edition in _NOT_EDITIONS or not path.is_file() or path.parent != DATA:
        known = ", ".join(editions())
        raise RuleError(f"There is no edition {edition!r}; there are {known}.")
    named, rules = read_rules(path)
    if named.builds_on:
        rules = _filled(rules, _published(named.builds_on).rules)
    elif edition != PRACTICE:
        rules = _filled(rules, read_rules(DATA / f"{PRACTICE}.toml")[1])
    return RuleBook(named, rules, read_procedures())


@cache
def _lent() -> tuple[Rule, ...]:
    """Return the rules that stand in wherever an edition gives none, from whoever states them."""
    path = DATA / f"{PRACTICE}.toml"
    made: list[Rule] = []
    for lender, ids in read_rules(path)[0].lends:
        if lender not in editions():
            raise RuleFileError(path, [f"lends: there is no edition {lender!r}"])
        rules = [rule for rule in read_rules(DATA / f"{lender}.toml")[1] if rule.stated]
        for id in ids:
            found = [rule for rule in rules if rule.id == id]
            if not found:
                raise RuleFileError(path, [f"lends: {lender} states no {id}"])
            made += found
    return tuple(made)


@cache
def _file(name: str) -> RuleBook:
    return RuleBook(*read_rules(DATA / f"{name}.toml"))


@cache
def digest() -> str:
    """Return what names these very rules: the start of the SHA-256 of all their files."""
    made = hashlib.sha256()
    for path in sorted(DATA.glob("*.toml")):
        made.update(path.name.encode() + b"\0" + path.read_bytes())
    return made.hexdigest()[:12]


def _filled(rules: tuple[Rule, ...], below: tuple[Rule, ...]) -> tuple[Rule, ...]:
    ids = {rule.id for rule in rules}
    return rules + tuple(rule for rule in below if rule.id not in ids)
