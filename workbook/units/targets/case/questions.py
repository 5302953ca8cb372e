"""The pressure target exercise: questions drawn for one learner, and a run at the bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from workbook.cases import starting
from workbook.cases.draw import Draw
from workbook.cases.question import PRESSURE_UNITS, Given, Kind, Option, Question
from workbook.core.language import data
from workbook.core.quantities import plain
from workbook.physics.coefficients import GAUGE_TOP
from workbook.rules import RuleBook
from workbook.units.targets.case import (
    corrective,
    cpap,
    heart_first,
    leaks,
    oxygen,
    predictions,
    raise_pip,
    seal,
    starting_sets,
    two_editions,
)

EXERCISE = "3_pressure_targets"
GROUPS = ("extremely-preterm", "very-preterm", "preterm", "term")
SMALL = GROUPS[:2]  # one of these is drawn, and one of each other group
TARGETS = ("target-1", "target-2", "target-3")
GAUGES = ("gauge",)
LETTERS = "abcd"
NUMBERED = 10  # a number stands at every tenth cmH2O of the gauge
# Last digits that lie between two small marks, and where a misreading lies further off than an eye
# that is off: 13 taken for 11.5 could be either.
ENDS = (5, 7)


def texts() -> Mapping[str, Any]:
    """Return what the questions say."""
    return data(Path(__file__).with_name("questions.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    return (
        *_targets(draw("targets"), book),
        two_editions.question(draw("two-editions"), GROUPS, book, texts()["two"]),
        *oxygen.questions(Given(draw("oxygen"), GROUPS, book, texts()["oxygen"])),
        *_gauges(draw("gauges"), book),
        *predictions.questions(Given(draw("predictions"), GROUPS, book, texts()["predict"])),
        *_chest(draw, book),
        raise_pip.question(draw("raise"), GROUPS, book, texts()["raise"]),
    )


def chest_texts() -> Mapping[str, Any]:
    """Return what the questions on gauge, chest and heart rate say."""
    return data(Path(__file__).with_name("gauge_and_chest.toml"))


def _chest(draw: Callable[[str], Draw], book: RuleBook) -> tuple[Question, ...]:
    """Return the questions on gauge, chest and heart rate."""
    says = chest_texts()
    return (
        leaks.question(draw("leaks"), book, says["leaks"]),
        *seal.questions(Given(draw("seal"), GROUPS, book, says["seal"])),
        *heart_first.questions(Given(draw("heart"), GROUPS, book, says["heart"])),
        corrective.question(draw("corrective"), book, says["corrective"]),
        cpap.question(draw("cpap"), GROUPS, book, says["cpap"]),
    )


def _targets(draw: Draw, book: RuleBook) -> list[Question]:
    groups = draw.shuffled([draw.pick(SMALL), *GROUPS[2:]])
    return [target(id, group, draw, book) for id, group in zip(TARGETS, groups, strict=True)]


def target(id: str, group: str, draw: Draw, book: RuleBook) -> Question:
    """Return one baby and four starting sets, of which one fits every rule."""
    met = starting.baby(draw, group, book)
    lettered = dict(zip(LETTERS, starting_sets.four(draw, book, met), strict=True))
    return Question(
        id,
        Kind.CHOICE,
        texts()["ask"]["target"],
        context=" ".join([starting.asks(book, met), *starting.notes(book, met)]),
        options=tuple(Option(letter, starting_sets.says(s)) for letter, s in lettered.items()),
        facts={"weeks": met.weeks, "kg": met.kg, "sets": lettered},
    )


def _gauges(draw: Draw, book: RuleBook) -> list[Question]:
    values = draw.some(needles(book), len(GAUGES))
    return [_gauge(id, value, book) for id, value in zip(GAUGES, values, strict=True)]


def needles(book: RuleBook) -> list[int]:
    """Return where the needle of a case may stand (cmH2O): between two small marks."""
    low, high = book["gauge.drawn"].band
    return [n for n in range(int(low), int(high) + 1) if n % NUMBERED in ENDS]


def _gauge(id: str, value: int, book: RuleBook) -> Question:
    told = {"accept": plain(book["gauge.accept"].value, "cmH2O")}
    return Question(
        id,
        Kind.NUMBER,
        texts()["ask"]["gauge"],
        help=texts()["ask"]["gauge-help"].format_map(told),
        units=PRESSURE_UNITS,
        facts={"value": value},
        shows={"figure": figure(value, book)},
    )


def figure(value: float, book: RuleBook) -> dict[str, Any]:
    """Return a gauge to read from, its needle at a value (cmH2O)."""
    return {
        "kind": "gauge", "value": value, "top": GAUGE_TOP.value, "unit": PRESSURE_UNITS[0],
        "minor": book["gauge.mark"].value, "hide_value": True,
    }  # fmt: skip
