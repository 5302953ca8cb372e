"""The one reader of rule files: TOML in, rules out, every mistake at once with its place."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook.errors import PlainError
from workbook.rules.book import PRACTICE, Edition, RuleBook
from workbook.rules.places import Places
from workbook.rules.procedure import Procedure
from workbook.rules.reading import Reading, build_procedure, build_rule, build_source
from workbook.rules.rule import Rule, RuleError, Source

DATA = Path(__file__).parent / "data"
DEFAULT_EDITION = "aha-2020"
RULE_FILES = ("sizes", "gas", "limits")
_NOT_EDITIONS = {"sources", "procedures", "example-protocol", *RULE_FILES}


class RuleFileError(PlainError, ValueError):
    """A rule file that cannot be used; ``problems`` has one sentence for each mistake."""

    def __init__(self, path: Path, problems: list[str]) -> None:
        self.path, self.problems = path, problems
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(f"{path.name}: {count}\n" + "\n".join(f"  {p}" for p in problems))


def _load(path: Path) -> tuple[dict[str, Any], Places]:
    try:
        text = path.read_text(encoding="utf-8")
        return tomllib.loads(text), Places(text)
    except FileNotFoundError:
        raise RuleFileError(path, [f"there is no file at {path}"]) from None
    except UnicodeDecodeError as error:
        raise RuleFileError(path, [f"it is not UTF-8 text (byte {error.start})"]) from None
    except tomllib.TOMLDecodeError as error:
        raise RuleFileError(path, [f"it is not TOML: {error}"]) from None


@cache
def sources(path: Path = DATA / "sources.toml") -> Mapping[str, Source]:
    """Return every source by key."""
    tables, places = _load(path)
    reading = Reading(places)
    made = {key: build_source(reading, key, table) for key, table in tables.items()}
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return {key: source for key, source in made.items() if source is not None}


@cache
def read_rules(path: Path) -> tuple[Edition, tuple[Rule, ...]]:
    """Return the edition a file describes, and its rules."""
    tables, places = _load(path)
    reading = Reading(places)
    edition = _edition(reading, tables.pop("edition", None))
    tables_of_rules = tables.pop("rule", [])
    known = {**sources(), **_own_sources(reading, tables.pop("source", {}))}
    for key in tables:
        reading.problem(key, None, f"unknown table {key!r}; a rule file has [edition] and [[rule]]")
    rules = [
        build_rule(reading, n, table, edition.id, known) for n, table in enumerate(tables_of_rules)
    ]
    kept = tuple(rule for rule in rules if rule is not None)
    _refuse_twins(reading, kept)
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return edition, kept


def _own_sources(reading: Reading, tables: Mapping[str, Any]) -> Mapping[str, Source]:
    """Return the sources that a rule file brings with it, as [source.key] tables."""
    for key in sorted(set(tables) & set(sources())):
        reading.problem(f"source.{key}", None, f"source {key!r} stands in sources.toml already")
    made = {key: build_source(reading, key, got, "source.") for key, got in tables.items()}
    return {key: source for key, source in made.items() if source is not None}


def _edition(reading: Reading, table: object) -> Edition:
    if not isinstance(table, dict):
        reading.problem("edition", None, "the [edition] table is missing")
        return Edition("?", "?")
    known = {"id", "title", "says", "builds_on"}
    for key in sorted(set(table) - known):
        reading.problem("edition", None, f"unknown key {key!r}", key)
    for key in ("id", "title"):
        if not isinstance(table.get(key), str):
            reading.problem("edition", None, f"{key} is missing")
    return Edition(
        str(table.get("id", "?")),
        str(table.get("title", "?")),
        str(table.get("says", "")),
        table.get("builds_on"),
    )


def _refuse_twins(reading: Reading, rules: tuple[Rule, ...]) -> None:
    seen: set[tuple[str, str]] = set()
    for n, rule in enumerate(rules):
        mark = (rule.id, rule.population.says)
        if mark in seen:
            reading.problem("rule", n, f"{rule.id} for {rule.population.says} stands twice")
        seen.add(mark)


@cache
def read_procedures(path: Path = DATA / "procedures.toml") -> Mapping[str, Procedure]:
    """Return every procedure by id."""
    tables, places = _load(path)
    reading = Reading(places)
    made = {k: build_procedure(reading, k, t, sources()) for k, t in tables.items()}
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return {key: procedure for key, procedure in made.items() if procedure is not None}


@cache
def editions() -> Mapping[str, Edition]:
    """Return the editions the workbook knows, by id."""
    paths = sorted(p for p in DATA.glob("*.toml") if p.stem not in _NOT_EDITIONS)
    return {path.stem: read_rules(path)[0] for path in paths}


@cache
def rulebook(edition: str = DEFAULT_EDITION) -> RuleBook:
    """Return the rules of one edition; what it leaves open comes from common practice.

    Raises RuleError naming the editions there are.
    """
    path = DATA / f"{edition}.toml"
    if edition in _NOT_EDITIONS or not path.is_file() or path.parent != DATA:
        known = ", ".join(editions())
        raise RuleError(f"There is no edition {edition!r}; there are {known}.")
    named, rules = read_rules(path)
    if named.builds_on:
        rules = _filled(rules, rulebook(named.builds_on).rules)
    elif edition != PRACTICE:
        rules = _filled(rules, read_rules(DATA / f"{PRACTICE}.toml")[1])
    return RuleBook(named, rules, read_procedures())


@cache
def file(name: str) -> RuleBook:
    """Return the rules of a file that is no edition: ``sizes``, ``gas`` or ``limits``."""
    if name not in RULE_FILES:
        raise RuleError(f"There is no rule file {name!r}; there are {', '.join(RULE_FILES)}.")
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
