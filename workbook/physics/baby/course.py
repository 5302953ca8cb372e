"""How it went with a baby: its states in order, asked for any second, rounded for thresholds."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import exp, floor

from workbook.physics.baby.model import State

DIGITS = 3  # powers may differ in the last digit between machines
GRID = 1.0  # s between two values of what a monitor would show
STEP = GRID / 4  # s in which a heart rate counts as steady, where beats are counted


@dataclass(frozen=True)
class Course:
    """The states of a baby, the first at birth, in the order of their times (s)."""

    states: Sequence[State]

    @cached_property
    def times(self) -> list[float]:
        """Return the times of the states (s)."""
        return [state.time for state in self.states]

    @property
    def end(self) -> float:
        """Return how far the course goes (s)."""
        return self.states[-1].time

    def at(self, time: float) -> State:
        """Return the last state at or before a time (s)."""
        return self.states[max(0, bisect_right(self.times, time) - 1)]

    def heart(self, time: float) -> float:
        """Return the true heart rate (1/min) at a time (s)."""
        return self._between(time, "heart")

    def saturation(self, time: float) -> float:
        """Return the true saturation before the duct (a share) at a time (s)."""
        return self._between(time, "saturation")

    def _between(self, time: float, name: str) -> float:
        n = max(0, bisect_right(self.times, time) - 1)
        one, two = self.states[n], self.states[min(n + 1, len(self.states) - 1)]
        first, last = float(getattr(one, name)), float(getattr(two, name))
        if two.time > one.time:
            first += (last - first) * min(max((time - one.time) / (two.time - one.time), 0.0), 1.0)
        return round(first, DIGITS)

    def late(self, name: str, time: float, lag: float) -> float:
        """Return heart or saturation as shown with a time constant ``lag`` (s) of lateness."""
        if (name, lag) not in self._late:
            self._late[name, lag] = self._lagged(name, lag)
        shown = self._late[name, lag]
        place = min(max(time / GRID, 0.0), len(shown) - 1.0)
        n = floor(place)
        after = shown[min(n + 1, len(shown) - 1)]
        return round(shown[n] + (after - shown[n]) * (place - n), DIGITS)

    @cached_property
    def _late(self) -> dict[tuple[str, float], list[float]]:
        return {}

    def _lagged(self, name: str, lag: float) -> list[float]:
        near, shown = 1 - exp(-GRID / lag), [self._between(0.0, name)]
        for n in range(1, floor(self.end / GRID) + 2):
            shown.append(shown[-1] + (self._between(n * GRID, name) - shown[-1]) * near)
        return shown

    def beats(self, start: float, end: float, phase: float = 0.0) -> list[float]:
        """Return when the heart beats (s) from ``start`` until ``end``.

        ``phase`` (a share of a beat) is how far the heart was in a beat at ``start``.
        """
        known = self._beaten.setdefault((start, phase), _Beaten(start, phase))
        while known.steps[-1][0] + STEP <= end:
            known.add(self)
        time, done, count = next(
            each for each in reversed(known.steps) if each[0] <= max(start, end)
        )
        last, _done = self._step(time, end, done) if time < end else ([], done)
        return [*known.found[:count], *last]

    def _step(self, time: float, until: float, done: float) -> tuple[list[float], float]:
        """Return the beats (s) of one step, and how far in a beat the heart is after it."""
        found = list[float]()
        speed = self.heart((time + until) / 2) / 60  # beats in a second
        while done + speed * (until - time) >= 1:
            time += (1 - done) / speed
            done = 0.0
            found.append(round(time, DIGITS))
        return found, done + speed * (until - time)

    @cached_property
    def _beaten(self) -> dict[tuple[float, float], _Beaten]:
        return {}


class _Beaten:
    """Beats from a start on, step by step: a heart that is counted again is not gone through anew.

    ``steps`` has the end of each step (s), how far in a beat the heart was, and the beats so far.
    """

    def __init__(self, start: float, phase: float) -> None:
        self.found, self.steps = list[float](), [(start, phase, 0)]

    def add(self, course: Course) -> None:
        """Go on by a step."""
        time, done, _count = self.steps[-1]
        more, done = course._step(time, time + STEP, done)
        self.found += more
        self.steps.append((time + STEP, done, len(self.found)))
