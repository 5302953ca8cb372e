"""The one reader of rule files: TOML in, rules out, every mistake at once with its place."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook.core.errors import PlainError
from workbook.rules.edition import Edition
from workbook.rules.procedure import Procedure
from workbook.rules.reader.places import Places
from workbook.rules.reader.reading import Reading, build_procedure, build_rule, build_source
from workbook.rules.reader.succession import build_edition
from workbook.rules.rule import Rule, Source

DATA = Path(__file__).parent.parent / "data"


class RuleFileError(PlainError, ValueError):
    """A rule file that cannot be used; ``problems`` has one sentence for each mistake."""

    def __init__(self, path: Path, problems: list[str]) -> None:
        self.path, self.problems = path, problems
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(f"{path.name}: {count}\n" + "\n".join(f"  {p}" for p in problems))


def load(path: Path, until: str = "") -> tuple[dict[str, Any], Places]:
    """Return the tables of a file and where they stand, up to a mark if one is given."""
    try:
        text = path.read_text(encoding="utf-8")
        text = text.partition(until)[0] if until else text
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
    tables, places = load(path)
    reading = Reading(places)
    made = {key: build_source(reading, key, table) for key, table in tables.items()}
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return {key: source for key, source in made.items() if source is not None}


@cache
def read_rules(path: Path) -> tuple[Edition, tuple[Rule, ...]]:
    """Return the edition a file describes, and its rules."""
    tables, places = load(path)
    reading = Reading(places)
    edition = build_edition(reading, tables.pop("edition", None))
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
    tables, places = load(path)
    reading = Reading(places)
    made = {k: build_procedure(reading, k, t, sources()) for k, t in tables.items()}
    if reading.problems:
        raise RuleFileError(path, reading.problems)
    return {key: procedure for key, procedure in made.items() if procedure is not None}


@cache
def limits() -> Mapping[str, Rule]:
    """Return the bounds of what can be meant at all, by id: a signature never moves them."""
    return {rule.id: rule for rule in read_rules(DATA / "limits.toml")[1]}
