"""What a unit is to the workbook: the exercise it asks, by what name, and what is drawn for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from workbook.cases.question import Question
from workbook.rules import RuleBook

ROOMS = "workbook.units"  # looked into, never imported by name: nothing here knows a unit


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit that asks questions: ``UNIT`` in its room.

    ``exercise`` is the exercise's id, ``title`` its heading in English, marked for translation;
    ``questions`` draws those of one learner from (course, learner, rules), in teaching order.
    ``lesson`` names the module whose ``KIND`` opens the lesson of the same id, where it has one of
    its own: it is loaded when that page opens.
    """

    exercise: str
    title: str
    questions: Callable[[str, str, RuleBook], tuple[Question, ...]]
    lesson: str = ""


@cache
def units() -> Mapping[str, Unit]:
    """Return every unit that asks questions, by the id of its exercise and in teaching order."""
    rooms = import_module(ROOMS)
    inside = [import_module(f"{ROOMS}.{room.name}") for room in iter_modules(rooms.__path__)]
    found: list[Unit] = [room.UNIT for room in inside if hasattr(room, "UNIT")]
    return {unit.exercise: unit for unit in sorted(found, key=lambda unit: unit.exercise)}
