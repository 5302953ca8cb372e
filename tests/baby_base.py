"""What tests of the baby share: plays of regular inflations, and chance that is the same always."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

from workbook.physics.baby import Drive, Nature, State, advance, born, inflations

AIR = 0.21
APNOEA = Drive(oxygen=AIR, effort=0.0)
BREATHES = Drive(oxygen=AIR)
BY_HAND = replace(inflations(30, 5, 40, 0.5, AIR), effort=0.0)
Part = tuple[float, Drive]  # until when (s), and what reaches the baby meanwhile


def chance(seed: object) -> Callable[[], float]:
    """Return a stream of uniform chances, the same for the same seed."""
    return random.Random(str(seed)).random  # noqa: S311 (the same always, no secret)


def played(nature: Nature, parts: Sequence[Part], step: float = 0.1) -> list[State]:
    """Return the baby at the end of each part."""
    state, found = born(nature), list[State]()
    for until, drive in parts:
        state = advance(nature, state, drive, until, step=step)
        found.append(state)
    return found


def shown(state: State) -> tuple[float, float]:
    """Return heart rate (1/min) and saturation (percent) of a state."""
    return state.heart, 100 * state.saturation
