"""Chance that is the same on every machine: each draw follows from who, what and where."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterable, Sequence
from typing import TypeVar

T = TypeVar("T")
_BETWEEN = "\x1e"  # no learner id holds it


def lot(learner: str, attempt: int) -> str:
    """Return what a learner's draws of an attempt, counted from 1, follow from."""
    return learner if attempt == 1 else f"{learner}{_BETWEEN}{attempt}"


def lot_before(lot_: str) -> str:
    """Return what the draws of the attempt before followed from; nothing before the first."""
    learner, _, attempt = lot_.partition(_BETWEEN)
    return lot(learner, int(attempt) - 1) if attempt else ""


class Draw:
    """A stream of draws for one part of one learner's exercise.

    Only ``random.Random.random`` is used: its values are promised to stay the same between
    Python versions; those of ``choice`` and ``shuffle`` are not.
    """

    def __init__(self, course: str, exercise: str, learner: str, part: str) -> None:
        text = "\x1f".join((course, exercise, learner, part))
        seed = int.from_bytes(hashlib.sha256(text.encode()).digest(), "big")
        self._random = random.Random(seed)  # noqa: S311 (a teaching case, not a secret)

    def chance(self) -> float:
        """Return a number from 0 to below 1."""
        return self._random.random()

    def below(self, n: int) -> int:
        """Return a whole number from 0 to n - 1."""
        return int(self._random.random() * n)

    def pick(self, items: Sequence[T]) -> T:
        """Return one of the items."""
        return items[self.below(len(items))]

    def shuffled(self, items: Iterable[T]) -> list[T]:
        """Return the items in a drawn order."""
        left = list(items)
        return [left.pop(self.below(len(left))) for _ in range(len(left))]

    def some(self, items: Iterable[T], count: int) -> list[T]:
        """Return ``count`` different items in a drawn order."""
        return self.shuffled(items)[:count]

    def whole(self, low: float, high: float) -> int:
        """Return a whole number from low to high, both ends included."""
        return int(low) + self.below(int(high) - int(low) + 1)
