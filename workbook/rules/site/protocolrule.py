"""Builds one rule of a site's protocol from its table, noting everything wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook.core.quantities import UnitError, convert, plain
from workbook.rules.book import RuleBook
from workbook.rules.reader.reading import Reading
from workbook.rules.rule import Basis, Citation, Rule, RuleError, Source
from workbook.rules.site.replaceable import locked, sane_limit

_NUMBERS = ("value", "low", "high", "below", "typical")
_KEYS = {"rule", "population", "says", "unit", "locator", *_NUMBERS}
_UNVERIFIED = " Unverified."
Table = Mapping[str, Any]


def build_replacement(
    reading: Reading, doubts: Reading, n: int, got: Table, book: RuleBook | None, site: Source
) -> Rule | None:
    """Return the site's rule, or None when ``reading`` was told of a problem."""
    before = len(reading.problems)
    reading.unknown("replace", n, got, _KEYS)
    numbers = {key: reading.number("replace", n, got, key) for key in _NUMBERS}
    given = {key: value for key, value in numbers.items() if value is not None}
    old = None if book is None else _replaced(reading, n, got, book)
    if old is None or len(reading.problems) > before:
        return None
    says = _says(reading, n, got, old)
    _check_shape(reading, n, given, got, old)
    if len(reading.problems) > before:
        return None
    if old.unit is not None:
        given = _in_unit_of(reading, doubts, n, got, old, given)
    if len(reading.problems) > before:
        return None
    citation = Citation(site, Basis.PRACTICE, str(got.get("locator", "")))
    made = _made(old, says, given, citation)
    _check_typical(reading, n, made, old)
    return made if len(reading.problems) == before else None


def _replaced(reading: Reading, n: int, got: Table, book: RuleBook) -> Rule | None:
    """Return the rule that a replacement names, for the population it names."""
    id = reading.text("replace", n, got, "rule")
    try:
        candidates = book.all(id) if id else ()
    except RuleError as error:
        reading.problem("replace", n, str(error), "rule")
        return None
    wanted = got.get("population")
    found = [r for r in candidates if wanted is None or r.population.says == wanted]
    if len(found) == 1 and (why := locked(found[0])):
        reading.problem("replace", n, f"{id} cannot be replaced: {why}", "rule")
        return None
    if len(found) == 1:
        return found[0]
    if candidates:
        there = "; ".join(rule.population.says for rule in candidates)
        reading.problem("replace", n, f"name the population of {id}, one of: {there}", "population")
    return None


def _says(reading: Reading, n: int, got: Table, old: Rule) -> str:
    if "says" in got or not old.stated or old.unit is None:
        return reading.text("replace", n, got, "says")
    return old.says.removesuffix(_UNVERIFIED)


def _check_shape(
    reading: Reading, n: int, given: Mapping[str, float], got: Table, old: Rule
) -> None:
    """Note a number where a sentence stands, and a limit that changes what it limits."""
    if old.unit is None:
        if given or "unit" in got:
            reading.problem("replace", n, f"{old.id} is a sentence: it takes says and no number")
        return
    ends = set(given) - {"typical"}
    wrong = _wrong_ends(ends, old)
    if wrong:
        reading.problem("replace", n, f"{old.id} {wrong}")
    elif not isinstance(got.get("unit"), str):
        says = f"a number needs its unit: {old.id} has unit = {old.unit!r}".replace("'", '"')
        reading.problem("replace", n, says, "unit")
    low, high = given.get("low"), given.get("high", given.get("below"))
    if low is not None and high is not None and low > high:
        reading.problem("replace", n, f"low {low:g} is above high {high:g}", "low")


def _wrong_ends(ends: set[str], old: Rule) -> str:
    if not ends:
        return "has no number: give value, or low and high"
    if "value" in ends and len(ends) > 1:
        return "has value beside low or high: give one or the other"
    if {"high", "below"} <= ends:
        return "has high and below: give one of them"
    if old.stated and old.low is None and not ends & {"high", "below"}:
        return f"is an upper limit, {old.text}: give high"
    if old.stated and old.high is None and "low" not in ends:
        return f"is a lower limit, {old.text}: give low"
    return ""


def _in_unit_of(
    reading: Reading,
    doubts: Reading,
    n: int,
    got: Table,
    old: Rule,
    given: Mapping[str, float],
) -> dict[str, float]:
    """Return the numbers in the old rule's unit, noting another dimension or an insane number."""
    unit, home, limit = str(got["unit"]), old.unit or "", sane_limit(old)
    made: dict[str, float] = {}
    for key, value in given.items():
        try:
            made[key] = convert(value, unit, home)
        except UnitError as error:
            reading.problem("replace", n, f"{old.id}: {error}", "unit")
            return {}
        if not limit.holds(convert(made[key], home, limit.unit or "")):
            says = f"{old.id}: {plain(value, unit)} is outside what can be meant, {limit.text}"
            reading.problem("replace", n, says + _meant(value, home, limit), key)
        elif unit != home:
            read_as = f"{plain(value, unit)} is read as {plain(made[key], home)}"
            doubts.problem("replace", n, f"{old.id}: {read_as}", key)
    return made


def _meant(value: float, home: str, limit: Rule) -> str:
    """Return what was likely meant: the same number in the rule's unit, when that is sane."""
    likely = limit.holds(convert(value, home, limit.unit or ""))
    return f"; did you mean {plain(value, home)}?" if likely else ""


def _check_typical(reading: Reading, n: int, made: Rule, old: Rule) -> None:
    """Note a typical number outside its band, or none where lessons ask for one number."""
    if made.typical is not None and not made.holds(made.typical):
        says = f"typical {made.typical:g} is outside the band {made.text}"
        reading.problem("replace", n, says, "typical")
    elif _is_one_number(old) and not _is_one_number(made):
        reading.problem("replace", n, f"{old.id} is used as one number: add typical, or give value")


def _is_one_number(old: Rule) -> bool:
    return old.stated and (old.typical is not None or old.low == old.high)


def _made(old: Rule, says: str, given: Mapping[str, float], citation: Citation) -> Rule:
    value, typical = given.get("value"), given.get("typical")
    low, high = given.get("low", value), given.get("high", given.get("below", value))
    below = "below" in given or (old.below and "high" in given)
    if typical is None and value is None and _is_one_number(old) and None in (low, high):
        typical = high if low is None else low
    return replace(
        old, says=says, low=low, high=high, typical=typical, citation=citation, replaces=old,
        below=below, blank=False,
    )  # fmt: skip
