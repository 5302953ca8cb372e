"""The corrective steps in the textbook's order, and what an order of them breaks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

# The textbook's order; steps in one group go together, either way round.
STAGES = (("mask", "position"), ("suction", "open"), ("pressure",), ("airway",))
STEPS = tuple(step for stage in STAGES for step in stage)


def needs() -> list[tuple[str, str]]:
    """Return (before, after): each step of a stage before each of the next."""
    return [(a, b) for one, two in pairwise(STAGES) for a in one for b in two]


def broken(steps: Sequence[str]) -> list[tuple[str, str]]:
    """Return which of the needs an order breaks."""
    place = {step: n for n, step in enumerate(steps)}
    return [(a, b) for a, b in needs() if place[a] > place[b]]
