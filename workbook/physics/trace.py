"""A trace: what the model says happened, at the stepper's own times."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from workbook.physics.border import number
from workbook.physics.parts.lung import Effort, Lung
from workbook.physics.solver.stepper import Point, State
from workbook.physics.solver.ways import PER_SECOND, upstream

CHANNELS = (
    "time",
    "volume",
    "pressure_t",
    "manometer",
    "alveolar",
    "flow_patient",
    "flow_leak",
)
Column = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Trace:
    """Columns of equal length: time (s), volume (mL), pressures (cmH2O), flows (mL/s).

    ``ends`` are the places of the last points before an event, in order; between two of them
    every column is smooth. ``start`` and ``end`` are the states it begins and ends
    with, with the gas that was used.
    """

    time: Column
    volume: Column
    pressure_t: Column
    manometer: Column
    alveolar: Column
    flow_patient: Column
    flow_leak: Column
    ends: tuple[int, ...]
    start: State
    end: State

    def __len__(self) -> int:
        return len(self.time)

    def at(self, times: Iterable[float], channel: str = "manometer") -> list[float]:
        """Return a channel at times (s), by cubics that never overshoot the points."""
        column = self._column(channel)
        return [self._value(column, number(time, "s", "A time")) for time in times]

    def every(self, interval: float) -> dict[str, list[float]]:
        """Return every channel on an even grid (s), for a plot or a table."""
        interval = number(interval, "s", "The interval", least=1e-4)
        first, last = self.time[0], self.time[-1]
        times = [first + n * interval for n in range(int((last - first) / interval + 1e-9) + 1)]
        made = {name: self.at(times, name) for name in CHANNELS[1:]}
        return {"time": times, **made}

    def integral(self, channel: str, start: float, end: float) -> float:
        """Return the integral of a channel over time from ``start`` to ``end`` (s)."""
        column = self._column(channel)
        inside = (self.time[i] for i in range(*self.between(start, end)))
        times = [start, *(time for time in inside if start < time < end), end]
        total = 0.0
        for one, two in pairwise(times):
            values = [self._value(column, time) for time in (one, (one + two) / 2, two)]
            total += (two - one) * (values[0] + 4 * values[1] + values[2]) / 6
        return total

    def between(self, start: float, end: float) -> tuple[int, int]:
        """Return the range of points after ``start`` and up to ``end`` (s)."""
        return bisect_right(self.time, start), bisect_right(self.time, end)

    def _column(self, channel: str) -> Column:
        if channel not in CHANNELS:
            raise ValueError(f"{channel!r} is no channel; these are: {', '.join(CHANNELS)}.")
        column: Column = getattr(self, channel)
        return column

    def _value(self, column: Column, time: float) -> float:
        after = bisect_right(self.time, time)
        if after == 0 or after == len(self):
            return column[0 if after == 0 else -1]
        i = after - 1
        h = self.time[after] - self.time[i]
        x = (time - self.time[i]) / h
        if x == 0:
            return column[i]
        one, two = self._slope(column, i, after=True), self._slope(column, after, after=False)
        rise = column[after] - column[i]
        bend = (one + two) * h - 2 * rise
        return column[i] + x * (one * h + x * (rise - one * h - bend + x * bend))

    def _slope(self, column: Column, i: int, *, after: bool) -> float:
        """Return the slope at a point seen from one side; no smoothing across an event."""
        t = self.time
        n = len(t)
        j = i if after else i - 1
        secant = (column[j + 1] - column[j]) / (t[j + 1] - t[j])
        if i in (0, n - 1) or self._is_end(i):
            return secant
        h0, h1 = t[i] - t[i - 1], t[i + 1] - t[i]
        d0, d1 = (column[i] - column[i - 1]) / h0, (column[i + 1] - column[i]) / h1
        if d0 * d1 <= 0:
            return 0.0
        slope = (h1 * d0 + h0 * d1) / (h0 + h1)
        most = 3 * min(abs(d0), abs(d1))
        return slope if abs(slope) <= most else most if slope > 0 else -most

    def _is_end(self, i: int) -> bool:
        place = bisect_right(self.ends, i)
        return place > 0 and self.ends[place - 1] == i


class Log:
    """Gathers the columns of a trace while the stepper goes."""

    def __init__(self, lung: Lung, effort: Effort | None) -> None:
        self.columns: list[list[float]] = [[] for _ in CHANNELS]
        self.ends: list[int] = []
        self._lung = lung
        self._pull = effort.pull if effort else None

    def begin(self, state: State) -> None:
        """Keep the first point: the state itself."""
        limb = upstream(state.circuit)(state.pressure_t)[0]
        leak = state.circuit.leaked(state.pressure_t) * PER_SECOND
        node = (state.pressure_t, state.flow_patient, 0.0, leak, limb)
        lung = self._lung if state.open_share is None else self._lung.opened(state.open_share)
        self.keep((state.time, state.volume, node, state.circuit, lung))

    def keep(self, point: Point) -> None:
        """Keep a point."""
        time, volume, (at_t, flow, _, leak, limb), circuit, lung = point
        manometer = at_t + circuit.limb.drop(limb / PER_SECOND)
        alveolar = lung.recoil(volume) - (self._pull(time) if self._pull else 0.0)
        row = (time, volume, at_t, manometer, alveolar, flow, leak)
        for column, value in zip(self.columns, row, strict=True):
            column.append(value)

    def trace(self, start: State, end: State) -> Trace:
        """Return what was gathered, from the state it began with to the one it ended with."""
        time, volume, at_t, manometer, alveolar, flow, leak = map(tuple, self.columns)
        return Trace(
            time, volume, at_t, manometer, alveolar, flow, leak, tuple(self.ends), start, end
        )
