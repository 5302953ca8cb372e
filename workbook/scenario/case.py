"""A drawn case: what a team is told before birth, and what nobody is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.bench import DIALS
from workbook.core.quantities import plain
from workbook.physics.baby import Hidden


@dataclass(frozen=True)
class Case:
    """A baby of ``weeks`` and ``kg``, its hidden course, and the T-piece as it was set.

    ``positions`` are clicks for every control of the bench, ``oxygen`` where its dial stands
    (percent).
    """

    id: str
    weeks: float
    kg: float
    hidden: Hidden
    positions: Mapping[str, int]
    oxygen: float

    def __hash__(self) -> int:
        """Let what was worked out of a case be kept; the clicks are a mapping, which has none."""
        return hash((self.id, self.weeks, self.kg, self.hidden, self.oxygen))

    def told(self) -> dict[str, Any]:
        """Return what a page may know before birth: nothing of the hidden course."""
        return {
            "case": self.id,
            "weeks": plain(self.weeks, "week"),
            "weight": plain(self.kg, "kg"),
            "positions": {name: self.positions[name] for name in DIALS},
            "oxygen": self.oxygen,
        }
