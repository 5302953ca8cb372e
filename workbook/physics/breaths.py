"""What each inflation of a trace came to, and the periodic breath of many cases."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from workbook.physics.action import TURNED, Action, turned
from workbook.physics.border import number
from workbook.physics.circuit import Circuit
from workbook.physics.lung import Lung
from workbook.physics.simulate import advance, start, trace_from
from workbook.physics.steady import steady_state
from workbook.physics.stepper import STEP
from workbook.physics.trace import Trace

SETTLED = 1e-4  # mL, as a share of the volume: two breaths this alike are the same
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
    period = 60 / number(rate, "1/min", "The rate", least=1, most=300)
    held = number(inflation_time, "s", "The inflation time", least=0.01, most=period - 0.01)
    state = start(circuit, lung)
    for _ in range(MOST_BREATHS):
        at = state.time
        actions = [Action(at, "occlude"), Action(at + held, "release")]
        after = advance(state, lung, actions, at + period, dt)
        same = after.open_share is None or after.open_share - (state.open_share or 0) <= SETTLED
        if same and abs(after.volume - state.volume) <= SETTLED * (1 + abs(state.volume)):
            return breaths(trace_from(state, lung, actions, at + period, dt), actions)[0]
        state = after
    raise ValueError(f"No breath repeats itself within {MOST_BREATHS} breaths.")


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
