"""What the records ask for: stretches between two events, laid out as one table for all."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from workbook.physics import Circuit, Lung, Record, start
from workbook.physics.action import turned
from workbook.physics.parts.circuit import OPEN_MASK
from workbook.physics.simulate import INSTANT, done
from workbook.physics.solver.kernel import stored
from workbook.physics.solver.stepper import Outlet, State, circuit_at
from workbook.physics.solver.ways import PER_SECOND, upstream, way
from workbook.replays.laws import PARTS, Array, derived, place

RAMPS = {  # what a ramp moves, and one of its units in the kernel's
    "flow": (place("flow"), PER_SECOND),
    "pip": (place("pip_opens"), 1.0),
    "relief": (place("relief_opens"), 1.0),
    "peep": (place("aperture_b"), PER_SECOND**-2),
}


class Stretch(NamedTuple):
    """From one event to the next (s), whether the aperture is held, and how the rest stands."""

    begin: float
    end: float
    held: bool
    state: State


@dataclass(frozen=True, slots=True)
class Schedule:
    """Every stretch of some records, one after the other, and where each record's begin.

    ``laws`` are the laws at a stretch's begin, one column each; where ``ramped``, ``parts`` go on
    from there at ``rates`` per second. ``first`` holds each record's volume, pressure at the T and
    manometer at time 0.
    """

    laws: Array
    parts: Array
    rates: Array
    ramped: Array
    bounds: Array
    first: Array
    before: list[list[int]]


class Table:
    """The columns of the parts as they come: many stretches share one circuit and lung."""

    def __init__(self) -> None:
        self.heads: list[tuple[float, ...]] = []
        self.kinds: list[tuple[float, ...]] = []
        self.kind: list[int] = []
        self.moving: list[tuple[int, int, float]] = []

    def add(self, made: list[Stretch], record: Record) -> None:
        """Add the stretches of one record."""
        known: State | None = None
        for each in made:
            state = each.state
            if state is not known or state.ramps:
                known = state
                circuit = circuit_at(state, each.begin)
                self.kinds.append(_of_circuit(circuit, state.outlet) + _of(record.lung))
                self.moving += [(len(self.heads), *speed) for speed in _speeds(state)]
            self.kind.append(len(self.kinds) - 1)
            free = 0.0 if each.held else 1.0
            self.heads.append((each.begin, each.end, free, *_pull(each, record)))

    def parts(self) -> Array:
        """Return the parts, one column for each stretch."""
        if not self.heads:
            return np.empty((len(PARTS), 0))
        heads, kinds = np.array(self.heads, dtype=float), np.array(self.kinds, dtype=float)
        return np.concatenate((heads.T, kinds.T[:, self.kind]))

    def rates(self) -> Array:
        """Return how fast each kind of control moves, one column for each stretch."""
        rates = np.zeros((len(RAMPS), len(self.heads)))
        kinds = [part for part, _ in RAMPS.values()]
        for at, part, speed in self.moving:
            rates[kinds.index(part), at] = speed
        return rates


def schedule(records: Sequence[Record]) -> Schedule:
    """Return the table of all stretches of the records."""
    table, bounds = Table(), [0]
    first, before = list[tuple[float, ...]](), list[list[int]]()
    for number, record in enumerate(records):
        try:
            state = _start(record.circuit, record.lung, record.outlet)
            made = list(stretches(state, record))
        except ValueError as error:
            raise ValueError(f"In record {number}: {error}") from None
        table.add(made, record)
        bounds.append(len(table.heads))
        first.append((state.volume, state.pressure_t, _manometer(state)))
        ends = [each.end for each in made]
        before.append([bisect_right(ends, action.time) - 1 for action in record.actions])
    parts, rates = table.parts(), table.rates()
    starts = np.array(first, dtype=float).reshape(len(first), 3).T
    ramped = np.any(rates != 0, axis=0)
    return Schedule(derived(parts), parts, rates, ramped, np.array(bounds), starts, before)


def stretches(state: State, record: Record) -> Iterator[Stretch]:
    """Yield what lies between the events of a record, with each event done before the next."""
    due = [action for action in record.actions if action.time < record.duration]
    pulls = record.effort.edges(0.0, record.duration) if record.effort else []
    stops = sorted({record.duration, *(action.time for action in due), *pulls})
    now, held, acted, stopped = state.time, state.held, 0, 0
    while True:
        while acted < len(due) and due[acted].time <= now:
            if due[acted].kind in ("occlude", "release"):
                held = due[acted].kind == "occlude"
            else:
                state = done(replace(state, time=now), due[acted])
            acted += 1
        if now >= record.duration:
            return
        while stops[stopped] <= now:
            stopped += 1
        end = stops[stopped]
        if state.ramps:
            end = min(end, *(ramp.end for ramp in state.ramps))
        if end - now >= INSTANT:
            yield Stretch(now, end, held, state)
        state, now = _arrived(state, end) if state.ramps else state, end


def _arrived(state: State, end: float) -> State:
    """Return the state at the end of a stretch, as far as the controls go."""
    circuit = state.circuit
    over = [ramp for ramp in state.ramps if ramp.end <= end]
    if not over:
        return state
    for ramp in over:
        circuit = turned(circuit, ramp.kind, ramp.last)
    return replace(state, circuit=circuit, ramps=tuple(r for r in state.ramps if r not in over))


def _pull(stretch: Stretch, record: Record) -> tuple[float, float, float]:
    """Return amplitude, begin and pace of the pull that lasts through a stretch."""
    effort = record.effort
    if effort is None:
        return 0.0, 0.0, 0.0
    middle, length = (stretch.begin + stretch.end) / 2, effort.duty * effort.period
    since = middle % effort.period
    if since >= length:
        return 0.0, 0.0, 0.0
    return effort.amplitude, middle - since, 1 / length


@lru_cache(maxsize=1024)
def _start(circuit: Circuit, lung: Lung, outlet: Outlet) -> State:
    return start(circuit, lung, outlet=outlet)


@lru_cache(maxsize=1024)
def _of(lung: Lung) -> tuple[float, ...]:
    stiff = lung.stiffening
    stiffer = (stiff.factor, stiff.above) if stiff else (0.0, math.inf)
    return (1 / lung.compliance, lung.linear / 1000, lung.quadratic / 1e6, *stiffer)


@lru_cache(maxsize=8192)
def _of_circuit(circuit: Circuit, outlet: str) -> tuple[float, ...]:
    if circuit.crack is not None:
        raise ValueError("A circuit with a crack is replayed one by one.")
    joined = outlet == "lung"
    opens, *leak = way(circuit.leak if joined else OPEN_MASK if outlet == "open" else None)
    return (
        circuit.flow * PER_SECOND,
        *way(circuit.pip_valve),
        *way(circuit.relief_valve),
        circuit.limb.linear / PER_SECOND,
        circuit.limb.quadratic / PER_SECOND**2,
        *way(circuit.aperture)[1:],
        opens,
        *leak,
        stored(circuit, joined=joined),
        1.0 if joined else 0.0,
    )


def _speeds(state: State) -> Iterator[tuple[int, float]]:
    for ramp in state.ramps:
        part, unit = RAMPS[ramp.kind]
        yield part, unit * (ramp.last - ramp.first) / (ramp.end - ramp.start)


def _manometer(state: State) -> float:
    limb = upstream(state.circuit)(state.pressure_t)[0]
    return state.pressure_t + state.circuit.limb.drop(limb / PER_SECOND)
