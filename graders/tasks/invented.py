"""Invented learners for the demo: who they are, what they believe, and how they answer."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from graders.course.roster import Person
from graders.marking.personas import answers_of
from workbook.cases import Case
from workbook.course.settings import Course
from workbook.rules import RuleBook
from workbook.units.setup.case.bench import QUESTION

# The commonest first, each of which every case can show; a small cohort holds the first few.
BELIEFS = (
    "peep-before-pip",
    "hold-to-turn",
    "search-before-bag",
    "stretch-is-a-minute",
    "turn-is-nothing",
    "colour-or-saturation-first",
    "falls-to-zero",
    "leak-spares-pip",
    "rushes-when-distracted",
    "deeper-is-safer",
    "flow-any-time",
    "leak-spares-peep",
    "same-pip-same-gas",
    "x-ray-first",
    "bag-not-needed",
    "stop-to-turn",
    "equal-times",
    "chin-inside",
    "relief-after-pip",
    "compress-first",
    "ratio-turned-round",
    "suction-harder",
    "silent-leader",
)
HOLD = 7 / 8  # share of the cohort that holds one of them
LAZY = 3  # one of so many of the others has not handed everything in
SLOWEST = 1.5  # times as long between two touches of the bench as in a model run; nobody is faster
TREMOR = 0.035  # s, at most; no two people keep the same time to a hundredth of a second

_NAMES = (
    *("Aster", "Birch", "Clover", "Dahlia", "Elder", "Fern", "Gentian", "Hazel"),
    *("Iris", "Juniper", "Kelp", "Larch", "Mallow", "Nettle", "Olive", "Poppy"),
    *("Quince", "Rowan", "Sorrel", "Thistle", "Umber", "Vetch", "Willow", "Yarrow"),
)
_ROLES = ("nurse", "respiratory therapist", "resident")
_PLACES = ("North", "South", "East", "West", "Hill", "Shore", "Meadow", "Wood")
_PER_WARD, _PER_SITE = 12, 200  # learners


@dataclass(frozen=True, slots=True)
class Invented:
    """One invented learner, what they believe, and the units they have not handed in."""

    person: Person
    holds: str = ""
    skips: tuple[str, ...] = ()


def held(learners: int) -> dict[str, int]:
    """Return how many of a cohort hold each misconception: distinct numbers, from the commonest."""
    many = int(learners * HOLD)
    kinds = max((k for k in range(len(BELIEFS) + 1) if k * (k + 1) // 2 <= many), default=0)
    share = many / (kinds * (kinds + 1) // 2) if kinds else 0
    return {BELIEFS[n]: int((kinds - n) * share) for n in range(kinds)}


def people(course: Course, learners: int) -> Iterator[Invented]:
    """Yield the invented learners of a course, the same ones every time."""
    beliefs = [belief for belief, count in held(learners).items() for _ in range(count)]
    beliefs += [""] * (learners - len(beliefs))
    random.Random(learners).shuffle(beliefs)  # noqa: S311  # an invented cohort, no secret
    lazy = 0
    for n, belief in enumerate(beliefs):
        lazy += not belief
        skips = course.units[-2:] if not belief and lazy % LAZY == 0 else ()
        yield Invented(_person(n, learners), belief, skips)


def _person(n: int, learners: int) -> Person:
    width = max(2, len(str(learners)))
    family, first = divmod(n, len(_NAMES))
    name = f"{_NAMES[first]} Demo" + (f" {family + 1}" if family else "")
    sites, wards = max(2, learners // _PER_SITE), max(2, min(60, learners // _PER_WARD))
    ward = n % wards
    site = ward % min(sites, len(_PLACES))
    again = ward // len(_PLACES)
    return Person(
        f"demo{n + 1:0{width}d}",
        name,
        _ROLES[n % len(_ROLES)],
        f"Ward {_PLACES[ward % len(_PLACES)]}" + (f" {again + 1}" if again else ""),
        f"Site {_PLACES[site]}",
    )


def answers(drawn: Case, book: RuleBook, holds: str) -> dict[str, Any]:
    """Return what an invented learner answers; timed runs are in a time of their own."""
    own = random.Random(drawn.learner)  # noqa: S311
    made = answers_of(drawn, book, holds)
    if QUESTION in made:
        made[QUESTION] = _at_own_pace(made[QUESTION], own)
    return {id: _by_hand(value, own) for id, value in made.items()}


def _at_own_pace(run: Mapping[str, Any], own: random.Random) -> dict[str, Any]:
    """Return a run at the bench with longer pauses, each of another length, in the same order."""
    before, when, rows = 0.0, 0.0, []
    for at, *touch in run["actions"]:
        when += (at - before) * own.uniform(1, SLOWEST)
        before = at
        rows.append([when, *touch])
    return {**run, "duration": when + run["duration"] - before, "actions": rows}


def _by_hand(value: Any, own: random.Random) -> Any:
    """Return a timed run with each move a little early or late, in the same order."""
    if not isinstance(value, Mapping):
        return value
    made = dict(value)
    for key in ("actions", "events"):
        rows = value.get(key)
        if isinstance(rows, list):
            at = sorted(round(max(0, row[0] + own.uniform(-TREMOR, TREMOR)), 4) for row in rows)
            made[key] = [[when, *row[1:]] for when, row in zip(at, rows, strict=True)]
    return made
