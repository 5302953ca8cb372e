"""Practice feedback on pressures: a starting set, oxygen, a needle, a strip and chest."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases import Question, starting
from workbook.cases.starting import Baby
from workbook.core.quantities import plain
from workbook.lesson.answered import Feedback, Line, Wanted, line, on_number
from workbook.rules import RuleBook
from workbook.units.targets.case import oxygen, seal, starting_sets
from workbook.units.targets.case.questions import NUMBERED

UNIT = "cmH2O"
Says = Mapping[str, Any]


def on_set(value: Any, asked: Question, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a starting set: what each wrong part should be, and why."""
    chosen, met = (
        asked.facts["sets"][str(value)],
        Baby(asked.facts["weeks"], asked.facts["kg"]),
    )
    rules, slips = starting.wanted(book, met), starting_sets.slips(chosen, book, met)
    if not slips:
        told = says["right"].format(set=starting_sets.says(chosen))
        return _one(line(True, told, rules["pip"]), says)
    lines = [
        line(False, _missed(part, slip, book, met, says), rules[part])
        for part, slip in slips.items()
    ]
    return {"heading": says["heading"], "lines": lines}


def _missed(part: str, slip: str, book: RuleBook, met: Baby, says: Says) -> str:
    asked = starting_sets.asked_of(part, starting.wanted(book, met), book, met)
    asks = says["asks"].format(part=asked)
    return f"{says.get(slip, says['other'])} {asks}"


def on_oxygen(value: Any, asked: Question, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on what was done with a baby's oxygen."""
    turn, rule = oxygen.found(asked.facts, book)
    told = says[turn].format(
        minute=plain(asked.facts["minute"], "min"), asked=rule.text,
        saturation=plain(asked.facts["saturation"], "percent"),
    )  # fmt: skip
    if value == oxygen.PURE:
        told = f"{says['pure']} {told}"
    return _one(line(value == turn, told, rule), says)


def on_needle(value: Any, stands: float, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a needle that was read: right, or how the scale was misread."""
    below = stands // NUMBERED * NUMBERED
    slips = {
        "small-mark-is-one": below + (stands - below) / book["gauge.mark"].value,
        "nearest-number": below + NUMBERED * (2 * (stands - below) >= NUMBERED),
    }
    words = {"mark": plain(book["gauge.mark"].value, UNIT), "stands": plain(stands, UNIT)}
    return _on_number(value, Wanted(UNIT, stands, book["gauge.accept"], slips), says, words)


def _on_number(value: Any, wanted: Wanted, says: Says, words: Mapping[str, str]) -> Feedback:
    return on_number(value, wanted, says, words, wanted.accept)


def on_strip(value: Any, asked: Question, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a needle and a chest: what overlooks what, and what is done first."""
    kind, first = seal.found(asked.facts, book), seal.first(asked.facts, book)
    words = {"taken": plain(round(seal.volume(asked.facts), 1), "mL/kg")}
    slip = "" if value == first else says["slips"][str(value)]
    told = f"{slip} {says[kind]}".strip().format_map(words)
    rule = book["volume.window"]
    return _one(line(value == first, told, rule), says)


def _one(made: Line, says: Says) -> Feedback:
    return {"heading": says["heading"], "lines": [made]}
