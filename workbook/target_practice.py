"""Practice feedback on pressures: a starting set, two editions, a needle, a strip and chest."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook import rate_practice
from workbook.cases import Question, seal, starting, two_editions
from workbook.cases.pressure_targets import NUMBERED, texts
from workbook.language import _, number
from workbook.rate_practice import Feedback, Wanted, line
from workbook.rules import RuleBook
from workbook.units import convert, plain

UNIT = "cmH2O"
Says = Mapping[str, Any]


def on_set(
    value: Any, sets: Mapping[str, starting.Set], met: starting.Baby, book: RuleBook, says: Says
) -> Feedback:
    """Return feedback on a starting set: what its wrong part should be, and why."""
    chosen = sets[str(value)]
    rules, wrong = starting.wanted(book, met), starting.broken(chosen, book, met)
    if not wrong:
        told = says["right"].format(set=starting.says(chosen))
        return _one(line(True, told, rules["pip"]), says)
    part = wrong[0]
    told = says.get(starting.slip_of(chosen, book, met), says["other"])
    asks = says["asks"].format(part=_(starting.NAMES[part]), number=rules[part].shown)
    return _one(line(False, f"{told} {asks}", rules[part]), says)


def on_two(value: Any, asked: Question, says: Says) -> Feedback:
    """Return feedback on a statement about two editions."""
    chosen = next(option.text for option in asked.options if option.id == value)
    claims = two_editions.statements(asked.facts, texts()["two"])
    claim = next(claim for claim, text in claims.items() if text == chosen)
    one, two = two_editions.rules_of(asked.facts)
    told = says[claim].format(a=one.text, b=two.text)
    return _one(line(claim == "both", told, one), says)


def on_needle(value: Any, stands: float, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a needle that was read: right, or how the scale was misread."""
    below = stands // NUMBERED * NUMBERED
    slips = {
        "small-mark-is-one": below + (stands - below) / book["gauge.mark"].value,
        "nearest-number": below + NUMBERED * (2 * (stands - below) >= NUMBERED),
    }
    words = {"mark": plain(book["gauge.mark"].value, UNIT), "stands": plain(stands, UNIT)}
    return _on_number(value, Wanted(UNIT, stands, book["gauge.accept"], slips), says, words)


def on_unit(value: Any, stands: float, unit: str, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a needle that was read and converted; each slip has its own words."""
    each = convert(1, UNIT, unit)
    words = {
        "unit": unit, "each": f"{number(each, '.3g')} {unit}", "stands": plain(stands, UNIT),
        "becomes": f"{number(stands * each, '.3g')} {unit}",
    }  # fmt: skip
    accept = book["gauge.accept"]
    if rate_practice.typed(value, UNIT) is not None and value["unit"] != unit:
        return _one(line(False, says["unit"].format_map(words), accept), says)
    # A slip is weighed in cmH2O: what was typed is taken for the unit that was asked for.
    slips = {"alike": stands / each, "backwards": stands / each**2}
    return _on_number(value, Wanted(UNIT, stands, accept, slips), says, words)


def _on_number(value: Any, wanted: Wanted, says: Says, words: Mapping[str, str]) -> Feedback:
    return rate_practice.on_number(value, wanted, says, words, wanted.accept)


def on_strip(value: Any, asked: Question, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a needle and a chest: what overlooks what, and what is done first."""
    kind, first = seal.found(asked.facts, book), seal.first(asked.facts, book)
    words = {"taken": plain(round(seal.volume(asked.facts), 1), "mL/kg")}
    slip = "" if value == first else says["slips"][str(value)]
    told = f"{slip} {says[kind]}".strip().format_map(words)
    rule = book["volume.window"]
    return _one(line(value == first, told, rule), says)


def _one(made: rate_practice.Line, says: Says) -> Feedback:
    return {"heading": says["heading"], "lines": [made]}
