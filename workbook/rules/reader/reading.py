"""Builds rules, sources and procedures from TOML tables, collecting every mistake."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook.core.quantities import MEASURES
from workbook.rules.procedure import Need, Procedure, Step
from workbook.rules.reader.places import Places
from workbook.rules.rule import Basis, Citation, Population, Rule, Source

Table = Mapping[str, Any]

_RULE_KEYS = {
    "id", "says", "unit", "low", "high", "below", "value", "typical", "blank",
    "source", "locator", "basis", "confidence", "population",
}  # fmt: skip
_POPULATION_KEYS = {"says", "gestation_from", "gestation_below", "weight_from", "weight_below"}
_STEP_KEYS = {"id", "says", "reason", "source", "locator", "basis", "confidence", "needs"}
_NEED_KEYS = {"step", "why", "critical"}
_ENDS = {"value", "low", "high", "below"}
_CONFIDENCE = ("", "high", "medium", "low")


class Reading:
    """The mistakes met while reading one file."""

    def __init__(self, places: Places) -> None:
        self.places = places
        self.problems: list[str] = []

    def problem(self, table: str, index: int | None, says: str, key: str | None = None) -> None:
        """Note one mistake with its place."""
        line = self.places.line(table, index, key)
        where = f"line {line}, " if line else ""
        name = f"{table}[{index}]" if index is not None else table
        self.problems.append(f"{where}{name}: {says}")

    def unknown(self, table: str, index: int | None, got: Table, known: set[str]) -> None:
        """Note every key that nobody reads."""
        for key in sorted(set(got) - known):
            self.problem(table, index, f"unknown key {key!r}", key)

    def text(self, table: str, index: int | None, got: Table, key: str) -> str:
        """Return a text that must be there and not be empty."""
        value = got.get(key)
        if isinstance(value, str) and value.strip():
            return value.strip()
        empty = value is None or (isinstance(value, str) and not value.strip())
        says = f"{key} is missing" if empty else f"{key} must be a text"
        self.problem(table, index, says, key)
        return ""

    def number(self, table: str, index: int | None, got: Table, key: str) -> float | None:
        """Return a finite number, or None when the key is absent."""
        value = got.get(key)
        if value is None:
            return None
        fine = isinstance(value, int | float) and not isinstance(value, bool)
        if fine and abs(value) < float("inf"):
            return float(value)
        self.problem(table, index, f"{key} must be a number, not {value!r}", key)
        return None

    def citation(
        self, table: str, index: int | None, got: Table, known: Mapping[str, Source]
    ) -> Citation | None:
        """Return where a value comes from; nothing exists without it."""
        key, basis = self.text(table, index, got, "source"), self.text(table, index, got, "basis")
        confidence = str(got.get("confidence", ""))
        if key and key not in known:
            self.problem(table, index, f"source {key!r} is not in sources.toml", "source")
        if basis and basis not in set(Basis):
            self.problem(table, index, f"basis {basis!r} is not one of {', '.join(Basis)}", "basis")
        if confidence not in _CONFIDENCE:
            self.problem(table, index, "confidence is high, medium or low", "confidence")
        if key not in known or basis not in set(Basis):
            return None
        return Citation(known[key], Basis(basis), str(got.get("locator", "")), confidence)


def build_source(reading: Reading, key: str, got: Table, table: str = "") -> Source | None:
    """Return one source, or None after noting what is wrong with it."""
    table = f"{table}{key}"
    reading.unknown(table, None, got, {"body", "title", "edition", "year", "doi", "note"})
    body, title = reading.text(table, None, got, "body"), reading.text(table, None, got, "title")
    year = got.get("year")
    if year is not None and not (isinstance(year, int) and 1900 <= year <= 2100):
        reading.problem(table, None, f"year {year!r} is not a year", "year")
        return None
    if not body or not title:
        return None
    edition = str(got.get("edition", ""))
    return Source(
        key, body, title, edition, year, str(got.get("doi", "")), str(got.get("note", ""))
    )


def build_rule(
    reading: Reading, n: int, got: Table, edition: str, known: Mapping[str, Source]
) -> Rule | None:
    """Return one rule, or None after noting everything that is wrong with it."""
    before = len(reading.problems)
    reading.unknown("rule", n, got, _RULE_KEYS)
    id, says = reading.text("rule", n, got, "id"), reading.text("rule", n, got, "says")
    unit = got.get("unit")
    if unit is not None and unit not in MEASURES:
        reading.problem("rule", n, f"{unit!r} is not a unit the workbook knows", "unit")
    low, high, typical = _bounds(reading, n, got)
    population = _population(reading, n, got.get("population"))
    citation = reading.citation("rule", n, got, known)
    if len(reading.problems) > before or citation is None:
        return None
    below, blank = "below" in got, bool(got.get("blank", False))
    citation = replace(citation, blank=blank)
    return Rule(
        id, says, unit, low, high, citation, edition, population, typical, None, below, blank
    )


def _bounds(
    reading: Reading, n: int, got: Table
) -> tuple[float | None, float | None, float | None]:
    value, typical = (reading.number("rule", n, got, key) for key in ("value", "typical"))
    low, high, below = (reading.number("rule", n, got, key) for key in ("low", "high", "below"))
    if below is not None and high is not None:
        reading.problem(
            "rule", n, "give high, or below where the end is outside, not both", "below"
        )
    high = below if high is None else high
    numbers = [x for x in (value, typical, low, high) if x is not None]
    blank = bool(got.get("blank", False))
    if value is not None and (low is not None or high is not None):
        reading.problem("rule", n, "give value, or low and high, not both", "value")
    if low is not None and high is not None and low > high:
        reading.problem("rule", n, f"low {low:g} is above high {high:g}", "low")
    if numbers and got.get("unit") is None:
        reading.problem("rule", n, "a number needs a unit", "unit")
    if blank and numbers:
        reading.problem("rule", n, "a blank rule has no number", "blank")
    if got.get("unit") is not None and not blank and not _ENDS & set(got):
        reading.problem("rule", n, "has a unit but no number; write blank = true if not known")
    if value is not None:
        low = high = value
    return low, high, typical


def _population(reading: Reading, n: int, got: Table | None) -> Population:
    if got is None:
        return Population()
    if not isinstance(got, dict):
        reading.problem("rule", n, "population must be a table", "population")
        return Population()
    reading.unknown("rule", n, got, _POPULATION_KEYS)
    says = reading.text("rule", n, got, "says")
    low_w, high_w, low_g, high_g = (
        reading.number("rule", n, got, key)
        for key in ("gestation_from", "gestation_below", "weight_from", "weight_below")
    )
    return Population(says, (low_w, high_w), (low_g, high_g))


def build_procedure(
    reading: Reading, key: str, got: Table, known: Mapping[str, Source]
) -> Procedure | None:
    """Return one procedure; its needs must name its own steps and contain no circle."""
    table = f"{key}.step"
    before = len(reading.problems)
    title = reading.text(key, None, got, "title")
    tables = got.get("step", [])
    ids = {str(step.get("id")) for step in tables}
    steps = [_step(reading, table, n, step, ids, known) for n, step in enumerate(tables)]
    if len(ids) != len(tables):
        reading.problem(key, None, "two steps have the same id")
    if len(reading.problems) > before:
        return None
    procedure = Procedure(key, title, tuple(step for step in steps if step is not None))
    if procedure.cycle():
        reading.problem(key, None, f"steps wait for one another: {', '.join(procedure.cycle())}")
        return None
    return procedure


def _step(
    reading: Reading,
    table: str,
    n: int,
    got: Table,
    ids: set[str],
    known: Mapping[str, Source],
) -> Step | None:
    reading.unknown(table, n, got, _STEP_KEYS)
    id, says, reason = (reading.text(table, n, got, key) for key in ("id", "says", "reason"))
    citation = reading.citation(table, n, got, known)
    needs = []
    for need in got.get("needs", []):
        reading.unknown(table, n, need, _NEED_KEYS)
        before, why = reading.text(table, n, need, "step"), reading.text(table, n, need, "why")
        if before and before not in ids:
            reading.problem(table, n, f"needs {before!r}, which is not a step", "needs")
        needs.append(Need(before, id, why, bool(need.get("critical", False))))
    return None if citation is None else Step(id, says, reason, citation, tuple(needs))
