"""The same model by other means: scipy's integrators, and exact solutions of the linear circuit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from workbook.physics import Action, Circuit, Effort, LimitValve, Lung, Passage
from workbook.physics.action import turned
from workbook.physics.simulate import start

PER_SECOND = 1000 / 60
SPREAD = 2.0  # cmH2O, over which a lung comes to its full speed of opening


def law(circuit: Circuit, lung: Lung, held: bool, effort: Effort | None) -> Callable:
    """Return dy/dt of (pressure at the T, volume), written from the laws, not from the kernel."""
    r, k = lung.linear / 1000, lung.quadratic / 1e6

    def limb_flow(at_t: float) -> float:
        def surplus(flow: float) -> float:
            shown = at_t + circuit.limb.drop(flow)
            return circuit.flow - circuit.vented(shown) - flow

        if surplus(circuit.flow) >= 0:
            return circuit.flow
        return brentq(surplus, -1e3, circuit.flow, xtol=1e-13, rtol=1e-14)

    def slope(time: float, y: np.ndarray) -> tuple[float, float]:
        at_t, volume = float(y[0]), float(y[1])
        pull = effort.pull(time) if effort else 0.0
        drive = at_t - lung.recoil(volume) + pull
        bottom = r + math.sqrt(r * r + 4 * k * abs(drive))
        patient = 2 * drive / bottom
        out = circuit.leaked(at_t) + (0.0 if held else circuit.aperture.flow(at_t))
        net = (limb_flow(at_t) - out) * PER_SECOND - patient
        return net / circuit.compressible, patient

    return slope


def opening_law(circuit: Circuit, lung: Lung, held: bool, effort: Effort | None) -> Callable:
    """Return dy/dt of (pressure at the T, volume, open share) of a lung that opens.

    dphi/dt = (1 - phi)/tau above an opening recoil V/(C phi), in full beyond a spread.
    """
    opens = lung.recruitment
    assert opens is not None

    def slope(time: float, y: np.ndarray) -> tuple[float, ...]:
        share = float(y[2])
        now = Lung(lung.compliance * share, lung.airway, lung.tube)
        past = (y[1] / (lung.compliance * share) - opens.above) / SPREAD
        speed = min(max(past, 0.0), 1.0) * (1 - share) / opens.over
        return *law(circuit, now, held, effort)(time, y[:2]), speed

    return slope


def integrate(
    circuit: Circuit,
    lung: Lung,
    actions: Sequence[Action],
    times: Sequence[float],
    *,
    effort: Effort | None = None,
    make: Callable = law,
    more: Sequence[float] = (),
    **options: object,
) -> np.ndarray:
    """Return (pressure at the T, volume) at times, restarting at every action and every pull.

    ``make`` may make a law of more states; ``more`` are those as they begin.
    """
    first = start(circuit, lung)
    y, now, held = [first.pressure_t, first.volume, *more], 0.0, False
    last = times[-1]
    stops = sorted({a.time for a in actions if a.time < last} | {last})
    if effort:
        stops = sorted(set(stops) | set(effort.edges(0.0, last)))
    made: list[np.ndarray] = []
    grid = np.asarray(times)
    for stop in stops:
        for action in (a for a in actions if a.time == now):
            if action.kind in ("occlude", "release"):
                held = action.kind == "occlude"
            else:
                circuit = turned(circuit, action.kind, action.value)
        if stop == now:
            continue
        inside = grid[(grid >= now) & (grid < stop)]
        solved = solve_ivp(
            make(circuit, lung, held, effort), (now, stop), y, t_eval=[*inside, stop], **options
        )
        made.append(solved.y[:, :-1])
        y, now = list(solved.y[:, -1]), stop
    return np.hstack([*made, np.array(y)[:, None]])


def linear_regimes(
    circuit: Circuit, lung: Lung, held: Sequence[tuple[float, float]], times: Sequence[float]
) -> list[tuple[float, float]]:
    """Return (volume, pressure at the T), exactly, of a linear circuit that takes up no gas.

    Each regime goes to C I / G with time constant C (R + 1/G), in a straight line where G is 0;
    the instant at which the PIP valve opens or shuts is a logarithm. The limb has no resistance.
    """
    return [_exact(circuit, lung, held, time) for time in times]


def _exact(
    circuit: Circuit, lung: Lung, held: Sequence[tuple[float, float]], until: float
) -> tuple[float, float]:
    edges = sorted({0.0, until, *(t for pair in held for t in pair if t < until)})
    volume = start(circuit, lung).volume
    pressure = 0.0
    for begin, end in pairwise(edges):
        shut = any(a <= begin < b for a, b in held)
        now = begin
        while True:
            volume, pressure, now = _regime(circuit, lung, shut, volume, now, end)
            if now >= end:
                break
    return volume, pressure


def _regime(
    circuit: Circuit, lung: Lung, shut: bool, volume: float, now: float, end: float
) -> tuple[float, float, float]:
    r, c = lung.linear / 1000, lung.compliance
    valve = circuit.pip_valve or LimitValve(1e6, 1.0)
    a, ap = valve.linear / PER_SECOND, circuit.aperture.linear / PER_SECOND
    leak = circuit.leak if isinstance(circuit.leak, Passage) else None
    g0 = (0.0 if shut else 1 / ap) + (PER_SECOND / leak.linear if leak else 0.0)
    source = circuit.flow * PER_SECOND

    def at_t(vol: float, g: float, i: float) -> float:
        return (i + vol / (r * c)) / (g + 1 / r)

    opened = at_t(volume, g0, source) > valve.opens_at + 1e-12
    g, i = (g0 + 1 / a, source + valve.opens_at / a) if opened else (g0, source)
    edge = c * r * (valve.opens_at * (g + 1 / r) - i)  # volume at which the valve turns
    if g == 0:
        when = now + (edge - volume) / source
        stop = when if now < when < end else end
        volume += source * (stop - now) + (1e-11 if stop == when else 0.0)
        return volume, at_t(volume, g, i), stop
    tau, goal = c * (r + 1 / g), c * i / g
    when = math.inf
    if (edge - goal) * (volume - goal) > 0 and abs(edge - goal) < abs(volume - goal):
        when = now + tau * math.log((volume - goal) / (edge - goal))
    if now + 1e-12 < when < end:
        # A hair beyond the edge, so that the next regime is the other one.
        return edge + (1e-11 if not opened else -1e-11), valve.opens_at, when
    volume = goal + (volume - goal) * math.exp(-(end - now) / tau)
    return volume, at_t(volume, g, i), end


def linear_emptying(
    circuit: Circuit, lung: Lung, volume: float, times: Sequence[float]
) -> list[float]:
    """Return the exact volumes of an emptying with the PIP valve shut."""
    ap = circuit.aperture.linear / (1000 / 60)
    tau = lung.compliance * (lung.linear / 1000 + ap)
    goal = lung.compliance * ap * circuit.flow * 1000 / 60
    return [goal + (volume - goal) * math.exp(-time / tau) for time in times]
