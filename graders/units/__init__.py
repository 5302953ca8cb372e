"""The units: one room each, with its marks, its key, its beliefs and how they are played.

A room that is marked says so by its ``UNIT``; nothing else has to be told of it. It counts from
when the workbook draws its exercise: until then nobody is asked, and nothing is shown of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from graders.marks.unit import Unit
from workbook.cases import exercises


@cache
def units() -> Mapping[str, Unit]:
    """Return every unit that is marked, by the id of its exercise and in its order."""
    rooms = [import_module(f"{__name__}.{room.name}") for room in iter_modules(__path__)]
    found: list[Unit] = [room.UNIT for room in rooms if hasattr(room, "UNIT")]
    asked = [unit for unit in found if unit.marks.EXERCISE in exercises()]
    return {unit.marks.EXERCISE: unit for unit in sorted(asked, key=_exercise)}


def _exercise(unit: Unit) -> str:
    return unit.marks.EXERCISE
