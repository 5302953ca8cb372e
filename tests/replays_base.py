"""Random records of the bench, and how far two replays of them lie apart."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import strategies as st

from workbook.physics import (
    Action,
    Circuit,
    Effort,
    LimitValve,
    Lung,
    Passage,
    Record,
    Stiffening,
    Tube,
    leak_of,
    pip_valve,
    relief_valve,
    start,
    trace_from,
)

CHANNELS = ("volume", "pressure_t", "manometer", "alveolar")
BLURRED = 2e-4  # s; about three smallest steps
FINE = 0.0005  # s; a step so small that what is left of the error is ours
# Where the circuit takes up no gas a single replay's steps heed the volume alone: its pressures are
# as exact only at a step smaller still.
FINE_RIGID = 0.0001  # s


def some(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return a strategy that sometimes gives None."""
    return st.none() | values


CIRCUITS = st.builds(
    Circuit,
    st.floats(0.5, 15),
    some(st.builds(pip_valve, st.floats(5, 35))),
    some(st.builds(relief_valve, st.floats(10, 40))),
    st.builds(Passage, st.sampled_from([0.0, 0.2]), st.floats(0.01, 0.5)),
    st.sampled_from([Circuit(8).limb, Passage(), Passage(0.03, 0.002), Passage(0.15)]),
    some(
        st.builds(leak_of, st.floats(0.05, 2), st.sampled_from([0.0, 12.0]))
        | st.builds(Passage, st.sampled_from([0.0, 1.5]), st.floats(0.1, 2))
        | st.builds(LimitValve, st.floats(2, 20), st.floats(0.2, 2), st.just(0.05))
    ),
    st.sampled_from([0.0, 0.03, 0.1, 0.5]),
)
LUNGS = st.builds(
    Lung,
    st.floats(0.3, 4),
    st.floats(5, 100),
    some(st.builds(Tube, st.floats(2, 3.5))),
    some(st.builds(Stiffening, st.floats(0.001, 0.05), st.floats(2, 20))),
)
EFFORTS = some(st.builds(Effort, st.floats(1, 10), st.floats(20, 80), st.floats(0.1, 1)))
TURNS = {
    "flow": st.floats(1, 15),
    "pip": some(st.floats(5, 35)),
    "relief": some(st.floats(10, 40)),
    "peep": st.floats(0.01, 0.5),
    "leak": some(st.floats(0.05, 2)),
}
HOLDS = ("occlude", "release", "occlude", "release", "connect", "open", "cap")


@st.composite
def actions(draw: st.DrawFn, until: float) -> tuple[Action, ...]:
    """Draw what hands did, in order; controls are turned at once or over a time."""
    made, fully_open = [], {"pip", "relief"}
    for time in sorted(draw(st.lists(st.floats(0, until), max_size=10))):
        kind = draw(st.sampled_from((*HOLDS, *TURNS)))
        value = draw(TURNS[kind]) if kind in TURNS else None
        slow = kind in TURNS and kind != "leak" and value is not None and kind not in fully_open
        over = draw(st.sampled_from([0.0, 0.3, 2.0])) if slow else 0.0
        made.append(Action(time, kind, value, over))
        if kind in ("pip", "relief"):
            (fully_open.add if value is None else fully_open.discard)(kind)
    return tuple(made)


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Draw a record of up to three seconds."""
    duration = draw(st.floats(0, 3))
    outlet = draw(st.sampled_from(["lung", "lung", "capped", "open"]))
    acts = draw(actions(duration))
    return Record(draw(CIRCUITS), draw(LUNGS), duration, acts, draw(EFFORTS), outlet)


def fine(record: Record) -> Any:
    """Return the replay of a record at a quarter of the step, or less."""
    begin = start(record.circuit, record.lung, outlet=record.outlet)
    step = FINE if record.circuit.compressible else FINE_RIGID
    return trace_from(
        begin, record.lung, record.actions, record.duration, step, effort=record.effort
    )


def apart(many: Any, row: int, trace: Any, channel: str, record: Record) -> float:
    """Return the greatest distance of a row from a trace, as a share of its peak.

    A peak is taken to be 1 (mL or cmH2O) or more, and that of the alveolar pressure at least the
    pull's, for it is what the recoil leaves of the pull. Left out is what lies less than
    ``BLURRED`` behind an action: a fall that is over sooner than a smallest step is only damped.
    """
    ours = getattr(many, channel)[row, : many.lengths[row]]
    theirs = np.array(trace.every(many.interval)[channel])
    assert ours.shape == theirs.shape
    times = many.times[: len(ours)]
    clear = np.ones(len(ours), dtype=bool)
    for action in record.actions:
        clear &= (times <= action.time) | (times > action.time + BLURRED)
    pull = record.effort.amplitude if record.effort and channel == "alveolar" else 0.0
    peak = max(*map(abs, getattr(trace, channel)), 1.0, pull)
    return float(np.abs(ours - theirs)[clear].max(initial=0.0) / peak)
