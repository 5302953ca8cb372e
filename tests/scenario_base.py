"""What tests of a case share: a drawn case, and a record from a few lines."""

from __future__ import annotations

from typing import Any

from tests.baby_base import chance
from workbook.cases.dials import set_for
from workbook.physics.baby import KINDS, drawn
from workbook.rules import RuleBook, rulebook
from workbook.scenario import Case, Done, Played, demands

BOOK = rulebook("aha-2020")
EVERY = tuple(KINDS)
SIZES = {True: (30, 1.4), False: (39, 3.2)}  # weeks and kg, by whether very preterm


def case(id: str, seed: object = 1, book: RuleBook = BOOK) -> Case:
    """Return a drawn case of a course, its T-piece set as the edition or custom begins."""
    weeks, kg = SIZES[KINDS[id].very_preterm]
    asked = demands(book, weeks, kg)
    pip = asked.number("pip") or book["pip.example"].value
    peep = asked.number("peep") or book["peep.example"].value
    oxygen = (asked.band("oxygen") or (21.0, 21.0))[1 if KINDS[id].very_preterm else 0]
    oxygen = oxygen if oxygen < 100 else 30.0
    at = set_for({"flow": book["flow.start"].value, "pip": pip, "peep": peep, "relief": 40.0})
    return Case("case-1", weeks, kg, drawn(id, kg, pip, chance((id, seed))), at, oxygen)


def acts(*rows: tuple[Any, ...]) -> tuple[Done, ...]:
    """Return acts from rows of time (s), act and what."""
    return tuple(Done(float(time), act, *rest) for time, act, *rest in rows)


def inflating(start: float, end: float, rate: float = 40.0, held: float = 0.5) -> list[Any]:
    """Return rows of inflations from ``start`` until ``end`` (s)."""
    period, rows, time = 60 / rate, [], start
    while time + period <= end:
        rows += [(round(time, 3), "occlude"), (round(time + held, 3), "release")]
        time += period
    return rows


def played(rows: Any, duration: float = 420.0) -> Played:
    """Return a record of rows in the order of their times."""
    return Played("case-1", duration, acts(*sorted(rows, key=lambda row: row[0])))
