"""Known misconceptions: what a learner believes, what is true, what to do about it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from workbook.cases import exercises
from workbook.core.language import _

EITHER = "/"  # between the ids of two that cannot be told apart
SLIP = "a-slip"  # before a belief, or two, where a slip explains the answers as well
_UNITS = Path(__file__).parents[1] / "units"  # each with its own in its room


@dataclass(frozen=True, slots=True)
class Misconception:
    """A wrong belief that answers show again and again.

    ``unsafe`` says that an answer given by it can be a critical finding: acted on, it could harm.
    """

    id: str
    unit: str
    believes: str
    true: str
    rule: str
    read: str
    lab: str
    unsafe: bool = False

    @property
    def where(self) -> str:
        """Return where to read, in the language in force: each lesson and its heading there."""
        places = (place.partition(", ") for place in self.read.split(EITHER))
        return "; ".join(
            _("lesson {file}, “{heading}”").format(file=file, heading=_(heading))
            for file, _comma, heading in places
        )


class Known(dict[str, Misconception]):
    """Every known misconception by id.

    ``one/other`` is the two that cannot be told apart; ``a-slip/`` stands before what may as well
    be a slip, as beside other wrong answers.
    """

    def __missing__(self, id: str) -> Misconception:
        before, _slash, rest = id.partition(EITHER)
        if before == SLIP and rest:
            return _or_a_slip(id, self[rest])
        first, *others = [dict.__getitem__(self, each) for each in id.split(EITHER)]
        if not others:
            raise KeyError(id)
        return _one_of(id, first, others[0])

    def __contains__(self, id: object) -> bool:
        parts = beliefs_of(id).split(EITHER) if isinstance(id, str) else [id]
        both = len(parts) == len(set(parts)) and len(parts) in (1, 2)
        return both and all(dict.__contains__(self, part) for part in parts)

    def get(self, id: str, default: Any = None) -> Any:
        """Return a misconception, or one of two; the default where it is not known."""
        if id not in self:
            return default
        return self[id]


def allows_a_slip(id: str) -> bool:
    """Say whether an id is that of a belief, or two, that may be a slip as well."""
    return id.startswith(f"{SLIP}{EITHER}")


def beliefs_of(id: str) -> str:
    """Return the belief, or the two, of an id that allows for a slip as well."""
    return id.removeprefix(f"{SLIP}{EITHER}")


def _or_a_slip(id: str, belief: Misconception) -> Misconception:
    """Return the entry for a belief, or one of two, that may be a slip as well."""
    says = _("A slip gives the same answer. If this is what you think, read on: {belief}")
    return replace(belief, id=id, believes=says.format(belief=_(belief.believes)))


def _one_of(id: str, one: Misconception, other: Misconception) -> Misconception:
    """Return the entry for two that the answers cannot tell apart; it is unsafe if both are."""
    says = _("One of these two, and the answers do not tell which. Either: {one} Or: {other}")
    return replace(
        one,
        id=id,
        believes=says.format(one=_(one.believes), other=_(other.believes)),
        true=f"{_(one.true)} {_(other.true)}",
        read=EITHER.join(dict.fromkeys((one.read, other.read))),
        lab=f"{_(one.lab)} {_(other.lab)}",
        unsafe=one.unsafe and other.unsafe,
    )


@cache
def misconceptions() -> Mapping[str, Misconception]:
    """Return every known misconception by id, unit by unit.

    Each unit has its own file, which counts from when its exercise is drawn. What two units look
    for stands in the first one's. ValueError for one that stands in two files.
    """
    found = Known()
    paths = _UNITS.glob("*/misconceptions.toml")
    every = [tomllib.loads(path.read_text(encoding="utf-8")) for path in paths]
    files = [tables for tables in every if tables["unit"] in exercises()]
    for tables in sorted(files, key=lambda tables: str(tables["unit"])):
        unit = tables.pop("unit")
        for id, table in tables.items():
            if id in found:
                raise ValueError(f"{unit}: {id} stands in that of {found[id].unit} already")
            found[id] = Misconception(id=id, unit=unit, **table)
    return found
