"""What one inflation brings, what of it leaks, and how the chest shows it, by the model."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from workbook.bench import circuit_at
from workbook.core.language import number
from workbook.physics import Action, Circuit, Lung, advance, settled_breath, start
from workbook.rules import RuleBook

STEP = 0.01  # s of the stepper: the volume is asked for, not the course of it
SHARE = 1 / 3  # of a cycle that an inflation lasts in the usual count
ROOM = 1.25  # of what is drawn, kept free above it in a picture of the chest


@lru_cache(maxsize=8192)
def inflated(positions: tuple[tuple[str, int], ...], lung: Lung, rate: float) -> float:
    """Return what an inflation of the usual count at a rate (1/min) brings (mL).

    ``positions`` are where the controls stand. The inflation begins at rest at PEEP: so small or
    stiff a lung has all but emptied before the next one.
    """
    rest = start(circuit_at(dict(positions)), lung)
    held = [Action(0.0, "occlude")]
    return advance(rest, lung, held, 60 / rate * SHARE, STEP).volume - rest.volume


@lru_cache(maxsize=1024)
def leaking(circuit: Circuit, lung: Lung, rate: float) -> tuple[float, float, float]:
    """Return the share (percent) of an inflation's gas that leaks, and the needle's two ends.

    The needle's top and rest are in cmH2O, once the breaths repeat themselves.
    """
    breath = settled_breath(circuit, lung, rate, 60 / rate * SHARE, STEP)
    return breath.leak_percent, breath.pip, breath.peep


def chest(taken: list[float], book: RuleBook, texts: Mapping[str, str]) -> dict[str, Any]:
    """Return how the chest moves (mL/kg above rest), beside an easy breath, and in words."""
    low, high = book["volume.window"].band
    times = max(taken) / ((low + high) / 2)
    flat = max(taken) < book["chest.still"].value
    says = texts["flat"] if flat else texts["rises"].format(times=number(round(times, 1)))
    return {
        "title": texts["chest"], "easy": texts["easy"], "says": says, "band": [low, high],
        "volume": [round(each, 2) for each in taken], "top": ROOM * max(*taken, high),
    }  # fmt: skip
