"""From a circuit, a lung and timed actions to a trace; every event is met exactly."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from workbook.physics.action import LONGEST, Action, Ramp, position, turned
from workbook.physics.border import number
from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Effort, Lung
from workbook.physics.solver.stepper import STEP, Outlet, Smooth, State
from workbook.physics.steady import steady_state
from workbook.physics.trace import Log, Trace

MOST_ACTIONS = 20_000
INSTANT = 1e-9  # s; two events this close happen at once


def simulate(
    circuit: Circuit,
    lung: Lung,
    actions: Sequence[Action],
    duration: float,
    dt: float = STEP,
    *,
    effort: Effort | None = None,
    start_volume: float | None = None,
) -> Trace:
    """Return the trace of ``duration`` seconds that begin with the aperture released.

    ``dt`` (s) sets the accuracy: half of it quarters the error. ``start_volume`` (mL) is the
    volume above relaxation; by default the lung rests at PEEP.
    """
    until = number(duration, "s", "The duration", most=LONGEST)
    state = start(circuit, lung, start_volume=start_volume)
    return trace_from(state, lung, actions, until, dt, effort=effort)


def trace_from(
    state: State,
    lung: Lung,
    actions: Iterable[Action],
    until: float,
    dt: float = STEP,
    *,
    effort: Effort | None = None,
) -> Trace:
    """Return the trace from a state to ``until`` (s), with the actions from now on done."""
    until = number(until, "s", "The end of a trace", least=state.time, most=LONGEST)
    log = Log(lung, effort)
    log.begin(state)
    end = _run(state, lung, actions, until, effort, _checked(dt), log)
    return log.trace(state, end)


def start(
    circuit: Circuit, lung: Lung, *, start_volume: float | None = None, outlet: Outlet = "lung"
) -> State:
    """Return the state at time 0: aperture released, at rest or at a volume.

    With the circuit on the ``lung`` it rests at PEEP, else relaxed. Raises ValueError when the
    gas has no way out, for then nothing comes to rest.
    """
    rest = steady_state(circuit, held=False, outlet="open" if outlet == "open" else "capped")
    at_t = rest.at_t if math.isfinite(rest.at_t) else 0.0
    if outlet != "lung":
        return State(0.0, start_volume or 0.0, at_t, circuit, outlet=outlet)
    if start_volume is None:
        if not math.isfinite(rest.at_t):
            raise ValueError("The gas has no way out: open the aperture or give a start volume.")
        return State(0.0, lung.volume(at_t), at_t, circuit)
    volume = number(start_volume, "mL", "The start volume")
    return State(0.0, volume, at_t, circuit)


def advance(
    state: State,
    lung: Lung,
    actions: Iterable[Action],
    until: float,
    dt: float = STEP,
    *,
    effort: Effort | None = None,
) -> State:
    """Return the state at ``until`` (s), with the actions from now on and before then done.

    An action exactly at ``until`` belongs to the next call.
    """
    until = number(until, "s", "The time to advance to", least=state.time, most=LONGEST)
    return _run(state, lung, actions, until, effort, _checked(dt), None)


def _checked(dt: float) -> float:
    return number(dt, "s", "The step", least=1e-5, most=0.05)


def _run(
    state: State,
    lung: Lung,
    actions: Iterable[Action],
    until: float,
    effort: Effort | None,
    dt: float,
    log: Log | None,
) -> State:
    due = sorted((a for a in actions if state.time <= a.time < until), key=lambda a: a.time)
    if len(due) > MOST_ACTIONS:
        raise ValueError(f"A run holds at most {MOST_ACTIONS} actions, not {len(due)}.")
    place = 0
    while True:
        while place < len(due) and due[place].time <= state.time:
            state = done(state, due[place])
            place += 1
        if state.time >= until:
            return state
        stop = min(until, due[place].time if place < len(due) else until)
        state = _to_event(state, lung, stop, effort, dt, log)


def _to_event(
    state: State, lung: Lung, stop: float, effort: Effort | None, dt: float, log: Log | None
) -> State:
    """Return the state at the next event, at ``stop`` or earlier: a ramp's end, a pull's edge."""
    inner = [ramp.end for ramp in state.ramps if ramp.end < stop]
    if effort:
        inner += effort.edges(state.time, min(stop, state.time + 2 * effort.period))
    end = min([stop, *inner])
    smooth = Smooth(state, lung, effort, dt)
    if end - state.time >= INSTANT:
        smooth.go(end, log.keep if log else None)
        if log:
            log.ends.append(len(log.columns[0]) - 1)
    return _settled(state, smooth, end, event=bool(inner))


def _settled(state: State, smooth: Smooth, end: float, *, event: bool) -> State:
    circuit, ramps = state.circuit, state.ramps
    for ramp in ramps:
        if ramp.end <= end:
            circuit = turned(circuit, ramp.kind, ramp.last)
    return replace(
        state,
        time=end,
        volume=smooth.volume,
        pressure_t=smooth.pressure,
        circuit=circuit,
        ramps=tuple(ramp for ramp in ramps if ramp.end > end),
        gas=smooth.counted(),
        flow_patient=smooth.flow,
        drift=smooth.drift,
        open_share=smooth.opening.share if smooth.opening else None,
        stride=0.0 if event or len(ramps) else smooth.stride,
    )


def done(state: State, action: Action) -> State:
    """Return the state with one action done at its time."""
    state = replace(state, stride=0.0)
    if action.kind in ("occlude", "release"):
        return replace(state, held=action.kind == "occlude")
    if action.kind in ("connect", "open", "cap"):
        outlet = {"connect": "lung", "open": "open", "cap": "capped"}[action.kind]
        return replace(state, outlet=outlet)
    return _turn(state, action)


def _turn(state: State, action: Action) -> State:
    circuit, kind = state.circuit, action.kind
    for ramp in state.ramps:
        if ramp.kind == kind:  # a control taken in hand again goes on from where it is
            circuit = turned(circuit, kind, ramp.at(state.time))
    ramps = tuple(ramp for ramp in state.ramps if ramp.kind != kind)
    if not action.over or action.value is None:
        return replace(state, circuit=turned(circuit, kind, action.value), ramps=ramps)
    now = position(circuit, kind)
    if now is None:
        raise ValueError(f"The {kind} control is fully open: set it at once before turning it.")
    ramp = Ramp(kind, state.time, state.time + action.over, now, action.value)
    return replace(state, circuit=circuit, ramps=(*ramps, ramp))
