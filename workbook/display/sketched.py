"""Strips that a lesson has sketched: the points asked for, and what the model draws over them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from workbook.display.cards import shown
from workbook.display.studies import GRID, Numbers, breath_time, in_rhythm, lung, set_up
from workbook.physics import Trace, leak_of, simulate
from workbook.physics import coefficients as c
from workbook.physics.parts.circuit import Circuit

BREATHS = 4  # after so many the breath repeats itself
STEP = 1.0  # cmH2O of one arrow key
ROOM, TEN = 3.0, 10.0  # cmH2O above the highest point; the scale ends at a whole ten


@dataclass(frozen=True, slots=True)
class Sketched:
    """One inflation to sketch: the moments asked for, a strip to start from, and the true one."""

    moments: tuple[float, ...]
    covered: tuple[float, float]
    start: Mapping[str, Sequence[float]]
    true: Mapping[str, Sequence[float]]
    words: Mapping[str, str]

    def at(self, strip: Mapping[str, Sequence[float]], moment: float) -> float:
        """Return the pressure (cmH2O) of a strip nearest to a moment (s)."""
        times = strip["time"]
        return strip["pressure"][min(range(len(times)), key=lambda n: abs(times[n] - moment))]

    @property
    def shows(self) -> dict[str, Any]:
        """Return what the page draws; the true strip is not among it."""
        first = [round(self.at(self.start, moment)) for moment in self.moments]
        return {
            "times": list(self.moments), "covered": list(self.covered), "first": first,
            "start": dict(self.start), "step": STEP,
            "top": math.ceil((max(first) + ROOM) / TEN) * TEN,
        }  # fmt: skip


def leak(numbers: Numbers) -> Sketched:
    """One inflation with a mask that seals, and with one that leaks."""
    whole = breath_time(numbers)
    held = numbers["beat"] * numbers["occlude_beats"]
    before = held / 2
    moments = (0.0, before, before + held / 4, before + held, before + 1.3 * held, whole)
    sealed, leaky = (_strip(each, numbers, before) for each in _circuits(numbers))
    made = Sketched(
        tuple(round(each, 2) for each in moments), (before, round(before + held, 2)), sealed,
        leaky, {},
    )  # fmt: skip
    ends = {name: (max(each["pressure"]), each["pressure"][-1])
            for name, each in (("sealed", sealed), ("leaky", leaky))}  # fmt: skip
    words = {f"{name}_{end}": shown(value) for name, both in ends.items()
             for end, value in zip(("top", "rest"), both, strict=True)}  # fmt: skip
    return replace(made, words=words)


def _circuits(numbers: Numbers) -> tuple[Circuit, Circuit]:
    circuit = set_up(numbers)
    return circuit, replace(circuit, leak=leak_of(c.SEALS[0].value))


def _strip(circuit: Circuit, numbers: Numbers, before: float) -> dict[str, list[float]]:
    """Return the strip of the last of some inflations, from ``before`` (s) its beginning on."""
    whole = breath_time(numbers)
    done = in_rhythm(numbers, BREATHS * whole, whole)
    first = done[-2].time - before
    trace: Trace = simulate(circuit, lung(), done, first + whole)
    columns = trace.every(GRID)
    kept = [n for n, time in enumerate(columns["time"]) if time >= first - GRID / 2]
    return {
        "time": [abs(round(columns["time"][n] - first, 3)) for n in kept],
        "pressure": [round(columns["manometer"][n], 2) for n in kept],
    }


SKETCHES: Mapping[str, Callable[[Numbers], Sketched]] = {"leak": leak}
