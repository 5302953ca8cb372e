"""How a learner who holds a misconception answers on gauge, chest and heart rate."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from graders.units.targets.heart_and_chest import POINTS, PRESSURE_TOO_EARLY, belief_of, key
from workbook.cases import Case, steps
from workbook.rules import RuleBook
from workbook.units.targets.case import corrective

FIRST = "pressure-first"


def beliefs() -> tuple[str, ...]:
    """Return the misconceptions that these questions can show."""
    named = [belief for part in key().values() for belief in part.get("beliefs", {}).values()]
    return tuple(dict.fromkeys([*named, FIRST]))


def answers(case: Case, book: RuleBook, belief: str) -> dict[str, Any]:
    """Return the answers that somebody who holds a belief gives differently."""
    made: dict[str, Any] = dict(_choices(case, book, belief))
    if belief == FIRST:
        late, early = PRESSURE_TOO_EARLY
        rest = [step for step in steps.STEPS if step not in (late, *early)]
        made[corrective.QUESTION] = [late, *early, *rest]
    return made


def _choices(case: Case, book: RuleBook, belief: str) -> Iterator[tuple[str, str]]:
    for id in POINTS:
        if id != corrective.QUESTION:
            for option in case[id].options:
                if belief_of(case[id], option.id, book) == belief:
                    yield id, option.id
