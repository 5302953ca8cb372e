"""What each inflation of a trace came to, and the periodic breath of many cases."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from workbook.physics.action import TURNED, Action, turned
from workbook.physics.border import number
from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Lung
from workbook.physics.simulate import advance, start, trace_from
from workbook.physics.solver.stepper import STEP, State
from workbook.physics.steady import steady_state
from workbook.physics.trace import Trace

SETTLED = 1e-4  # mL, as a share of the volume: a breath that adds no more repeats itself
MOST_BREATHS = 400


@dataclass(frozen=True, slots=True)
class Breath:
    """One inflation and the expiration after it: times in s, pressures in cmH2O, volumes in mL.

    ``pip`` and ``peep`` are the manometer's. ``volume_in`` is what passes the T during the
    inflation, leak included; ``volume_out`` is what the lung gives back, and ``tidal_volume``
    what it took up.
    """

    start: float
    inflation_time: float
    expiration_time: float
    pip: float
    peep: float
    tidal_volume: float
    volume_in: float
    volume_out: float
    mean_airway: float
    mean_alveolar: float
    end_expiratory_alveolar: float
    auto_peep: float

    @property
    def leak_percent(self) -> float:
        """Return the share of what passed the T that the lung does not give back, in percent."""
        return 100 * (1 - self.volume_out / self.volume_in) if self.volume_in > 0 else 0.0


def inflations(actions: Iterable[Action]) -> list[tuple[float, float]]:
    """Return (occluded at, released at) in seconds; an aperture already held is not held again."""
    made: list[tuple[float, float]] = []
    since: float | None = None
    for action in sorted(actions, key=lambda each: each.time):
        if action.kind == "occlude" and since is None:
            since = action.time
        elif action.kind == "release" and since is not None:
            if action.time > since:
                made.append((since, action.time))
            since = None
    return made


def breaths(trace: Trace, actions: Sequence[Action]) -> list[Breath]:
    """Return each breath whose inflation ends within the trace."""
    first, last = trace.time[0], trace.time[-1]
    held = [pair for pair in inflations(actions) if first <= pair[0] and pair[1] < last]
    ends = [later[0] for later in held[1:]] + [last]
    return [
        _breath(trace, actions, begin, release, end)
        for (begin, release), end in zip(held, ends, strict=True)
    ]


def _breath(
    trace: Trace, actions: Sequence[Action], begin: float, release: float, end: float
) -> Breath:
    inside = range(*trace.between(begin, release))
    out = range(*trace.between(release, end))
    leaked = trace.integral("flow_leak", begin, release)
    volumes = trace.at((begin, release, end), "volume")
    alveolar = trace.at((end,), "alveolar")[0]
    rest = steady_state(_circuit(trace, actions, end), held=False).at_t
    return Breath(
        start=begin,
        inflation_time=release - begin,
        expiration_time=end - release,
        pip=max(trace.manometer[i] for i in inside),
        peep=trace.at((end,))[0],
        tidal_volume=max(trace.volume[i] for i in (*inside, *out)) - volumes[0],
        volume_in=volumes[1] - volumes[0] + leaked,
        volume_out=volumes[1] - volumes[2],
        mean_airway=trace.integral("pressure_t", begin, end) / (end - begin),
        mean_alveolar=trace.integral("alveolar", begin, end) / (end - begin),
        end_expiratory_alveolar=alveolar,
        auto_peep=alveolar - rest,
    )


def _circuit(trace: Trace, actions: Iterable[Action], time: float) -> Circuit:
    circuit = trace.start.circuit
    for action in sorted(actions, key=lambda each: each.time):
        if action.kind in TURNED and trace.start.time <= action.time < time:
            circuit = turned(circuit, action.kind, action.value)
    return circuit


def settled_breath(
    circuit: Circuit, lung: Lung, rate: float, inflation_time: float, dt: float = STEP
) -> Breath:
    """Return the breath that repeats itself at a rate (1/min) and an inflation time (s)."""
    period, held = _rhythm(rate, inflation_time)
    state = _settled(circuit, lung, period, held, dt)
    actions = _inflation(state.time, held)
    return breaths(trace_from(state, lung, actions, state.time + period, dt), actions)[0]


def settled_auto_peep(
    circuit: Circuit, lung: Lung, rate: float, inflation_time: float, dt: float = STEP
) -> float:
    """Return only the ``auto_peep`` (cmH2O) of the breath that repeats itself."""
    state = _settled(circuit, lung, *_rhythm(rate, inflation_time), dt)
    lung = lung if state.open_share is None else lung.opened(state.open_share)
    return lung.recoil(state.volume) - steady_state(circuit, held=False).at_t


def _rhythm(rate: float, inflation_time: float) -> tuple[float, float]:
    """Return how long a breath and its inflation last, in seconds."""
    period = 60 / number(rate, "1/min", "The rate", least=1, most=300)
    most = period - 0.01
    return period, number(inflation_time, "s", "The inflation time", least=0.01, most=most)


def _inflation(begin: float, held: float) -> list[Action]:
    return [Action(begin, "occlude"), Action(begin + held, "release")]


def _settled(circuit: Circuit, lung: Lung, period: float, held: float, dt: float) -> State:
    """Return the state at the start of the breath that repeats itself.

    Each breath adds a share of what the one before it added, so two tell how much more is to
    come: a lung that does not open goes on from there (Aitken's delta-squared process).
    """
    state, before, more = start(circuit, lung), math.nan, 1.0
    for _ in range(MOST_BREATHS):
        after = advance(state, lung, _inflation(state.time, held), state.time + period, dt)
        added = after.volume - state.volume
        same = after.open_share is None or after.open_share - (state.open_share or 0) <= SETTLED
        kept = added / before if after.open_share is None else math.nan
        told = 0 < kept < 1
        more = kept / (1 - kept) if told else more
        if same and more * abs(added) <= SETTLED * (1 + abs(state.volume)):
            return after
        state, before = (_ahead(state, after, more), math.nan) if told else (after, added)
    raise ValueError(f"No breath repeats itself within {MOST_BREATHS} breaths.")


def _ahead(state: State, after: State, more: float) -> State:
    """Return where breaths lead that will add so many times what the last one added."""
    return replace(
        after,
        volume=after.volume + more * (after.volume - state.volume),
        pressure_t=after.pressure_t + more * (after.pressure_t - state.pressure_t),
    )


def simulate_many(
    circuits: Sequence[Circuit],
    lungs: Sequence[Lung],
    rates: Sequence[float],
    inflation_times: Sequence[float],
) -> list[Breath]:
    """Return the breath that repeats itself for each case; rates in 1/min, times in s."""
    if not len(circuits) == len(lungs) == len(rates) == len(inflation_times):
        raise ValueError("Each case needs a circuit, a lung, a rate and an inflation time.")
    cases = zip(circuits, lungs, rates, inflation_times, strict=True)
    return [settled_breath(*case) for case in cases]
