"""A careful team at a case from birth: what it knows is an expert's, its hands are a person's.

They stop to think before each act, and hold no two inflations alike; all of it is assumed. The same
baby meets the same hands each time, so that a note can be written of what they did.
"""

from __future__ import annotations

from functools import lru_cache
from random import Random
from typing import Any

from graders.units.scenario import note
from graders.units.scenario.marks import facts_of
from workbook.rules import RuleBook
from workbook.scenario import Case
from workbook.scenario.expert import Expert
from workbook.scenario.note import read_note
from workbook.scenario.replay import Inflation

THINKS = (0.2, 1.0)  # s before an act, where a baby waits
HOLDS, KEEPS = 0.06, 0.04  # of an inflation, and of the pace (SD)
CLOCK = 1.5  # s (SD): a clock on the wall, read while the hands are busy


class Careful(Expert):
    """Somebody who goes by the edition's steps, at a person's pace."""

    def __init__(self, case: Case, book: RuleBook, chance: Random) -> None:
        super().__init__(case, book)
        self.chance = chance

    def inflate(self, held: float, period: float) -> Inflation | None:
        """Hold about as long as is meant, at about the pace."""
        long = held * (1 + self.chance.gauss(0, HOLDS))
        return super().inflate(long, period * (1 + self.chance.gauss(0, KEEPS)))

    def do(self, act: str, what: object = None) -> None:
        """Think before an act; the finger at the hole has its own pace."""
        if act not in ("occlude", "release"):
            self.wait(self.chance.uniform(*THINKS))
        super().do(act, what)


@lru_cache(maxsize=64)
def _played(case: Case, book: RuleBook) -> dict[str, Any]:
    chance = Random(f"{case.id} {case.hidden}")  # noqa: S311 a simulated hand
    return Careful(case, book, chance).play().to_data()


def looked_after(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return the record of a case that a careful team looked after."""
    return dict(_played(case, book))


def written(case: Case, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return its note: times as a clock on the wall is read, all else as it was seen."""
    right = note.of(facts_of(case, looked_after(case, book), book))
    made = dict(read_note(right).entries)
    for entry in ("begun", "moved"):
        at = made.get(entry)
        if isinstance(at, float):
            made[entry] = float(max(0, round(at + chance.gauss(0, CLOCK))))
    return {**right, **made}
