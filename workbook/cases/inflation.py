"""What one inflation brings, by the model."""

from __future__ import annotations

from functools import lru_cache

from workbook.bench import circuit_at
from workbook.physics import Action, Lung, advance, start

STEP = 0.01  # s of the stepper: the volume is asked for, not the course of it
SHARE = 1 / 3  # of a cycle that an inflation lasts in the usual count


@lru_cache(maxsize=8192)
def inflated(positions: tuple[tuple[str, int], ...], lung: Lung, rate: float) -> float:
    """Return what an inflation of the usual count at a rate (1/min) brings (mL).

    ``positions`` are where the controls stand. The inflation begins at rest at PEEP: so small or
    stiff a lung has all but emptied before the next one.
    """
    rest = start(circuit_at(dict(positions)), lung)
    held = [Action(0.0, "occlude")]
    return advance(rest, lung, held, 60 / rate * SHARE, STEP).volume - rest.volume
