"""A lesson without a browser: what it displays, and how its questions are answered."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import nbformat

from workbook.display.cards import Shown
from workbook.display.scene import Scenes
from workbook.lesson.page import FOLDER, texts
from workbook.rules import rulebook
from workbook.widgets import Control

LESSON = "1_setup_order"
BENCH = "2_bench"
TARGETS = "3_pressure_targets"
RATE = "4_rate_counting"
SIZES = "5_interface_sizing"
FAULTS = "6_fault_finding"
BIRTH = "7_from_birth"
LESSONS = [LESSON, BENCH, TARGETS, RATE, SIZES, FAULTS, BIRTH]
# How many controls each page has.
CONTROLS = {
    LESSON: 13, BENCH: 20, TARGETS: 12, RATE: 16, SIZES: 13, FAULTS: 13, BIRTH: 13,
    "start_here": 4,
}  # fmt: skip
# Cells with nothing but a sentence that waits for its prediction.
SENTENCES = {LESSON: 3, BENCH: 1}


def page(name: str) -> Any:
    return nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)


def prose(name: str) -> str:
    return "\n\n".join(c.source for c in page(name).cells if c.cell_type == "markdown")


def headings(name: str) -> list[tuple[int, str]]:
    found = re.findall(r"^(#+) (.+)$", prose(name), re.MULTILINE)
    return [(len(marks), text) for marks, text in found]


def strings(value: Any) -> Iterator[str]:
    """Yield every sentence of a lesson's data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from itertools.chain.from_iterable(strings(v) for v in value.values())
    elif isinstance(value, list):
        yield from itertools.chain.from_iterable(strings(v) for v in value)


def table(kind: str, id: str) -> dict[str, Any]:
    """Return one table of the bench lesson's data."""
    return next(each for each in texts(BENCH)[kind] if each["id"] == id)


class Screen:
    """Stands in for the page: what is displayed now, in order; updates replace."""

    def __init__(self) -> None:
        self.shown: list[Any] = []

    def display(self, thing: Any, **_: Any) -> Handle:
        """Show a thing below the others."""
        self.shown.append(thing)
        return Handle(self, len(self.shown) - 1)

    def control(self, question: str) -> Control:
        """Return the control of a question."""
        return next(c for c in self.shown if isinstance(c, Control) and c.question == question)

    @property
    def text(self) -> str:
        """Return all that is shown, controls left out, in words."""
        return "\n".join(s.text for s in self.shown if isinstance(s, Shown))


@dataclass
class Handle:
    """What replaces one displayed thing by another."""

    screen: Screen
    place: int

    def update(self, thing: Any) -> None:
        """Show something else in the same place."""
        self.screen.shown[self.place] = thing


def answer(control: Control, value: Any, seq: int = 1) -> None:
    control._hear(None, {"kind": "answer", "value": value, "client": "tab", "seq": seq}, [])


def ask(control: Control) -> dict[str, Any]:
    control._hear(None, {"kind": "check"}, [])
    return control.feedback


def told(control: Control) -> dict[str, Any]:
    """Ask for feedback and return its one line; without a heading a page shows no feedback."""
    feedback = ask(control)
    assert feedback["heading"]
    (line,) = feedback["lines"]
    return line


def scenes(edition: str = "aha-2020") -> Scenes:
    data = texts(LESSON)
    return Scenes(data["numbers"], data["does"], rulebook(edition))


# --- pages
