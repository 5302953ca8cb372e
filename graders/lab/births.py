"""How a group looked after its cases from birth: when chests moved, its stalls, what was unsaid.

Pure: from what the marking left of each case to counts, and three cases to run live. Nobody is
named: who should not lead yet is counted, and comes first in the groups.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

from graders.units.scenario.went import STEPS, UNSAID, Went

LIVE = 3


@dataclass(frozen=True, slots=True)
class Live:
    """A case to run live: how it is played on a manikin, how often it stalled, of how many."""

    course: str
    stalled: int
    of: int
    run: str
    watch: str


@dataclass(frozen=True, slots=True)
class Births:
    """What a group did in its cases: ``moved`` is the median time (s) to a chest that moves.

    ``never`` counts the cases of babies to ventilate in which no chest moved, of ``of`` such cases;
    ``stalls`` and ``unsaid`` are (words, count), the commonest first, of ``cases`` in all.
    ``not_yet`` learners did in a case what could have harmed: they should not lead yet.
    """

    cases: int
    of: int
    moved: float | None
    never: int
    stalls: tuple[tuple[str, int], ...]
    unsaid: tuple[tuple[str, int], ...]
    live: tuple[Live, ...]
    not_yet: int = 0

    @property
    def helper(self) -> str:
        """Return what the helper of a live case does wrong on purpose."""
        return str(_key()["helper"])


@cache
def _key() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def births(cases: Sequence[Went], not_yet: int = 0) -> Births | None:
    """Return how a group looked after its cases; None where nobody met any."""
    if not cases:
        return None
    asked = [one for one in cases if one.course != "breather"]
    times = [one.moved for one in asked if one.moved is not None]
    return Births(
        len(cases), len(asked), median(times) if times else None, len(asked) - len(times),
        _ranked([one.stalled for one in cases], STEPS),
        _ranked([one.unsaid for one in cases], UNSAID), _live(cases), not_yet,
    )  # fmt: skip


def _ranked(ids: Sequence[str], words: Mapping[str, str]) -> tuple[tuple[str, int], ...]:
    count = Counter(id for id in ids if id)
    order = list(words)
    return tuple(
        (words[id], n) for id, n in sorted(count.items(), key=lambda e: (-e[1], order.index(e[0])))
    )


def _live(cases: Sequence[Went]) -> tuple[Live, ...]:
    """Return the courses that stalled most often; of two alike the one that the file has first."""
    of, stalled = Counter(o.course for o in cases), Counter(o.course for o in cases if o.stalled)
    table = _key()["course"]
    ranked = sorted(table, key=lambda id: -stalled[id] / of[id] if of[id] else 0.0)
    return tuple(Live(id, stalled[id], of[id], **table[id]) for id in ranked[:LIVE])
