"""Steady states in closed form or by one root: what the gauge shows, and how controls are set.

An operator never sets where a valve opens; the operator turns a control until the gauge shows a
reading. The functions ``set_...`` do the same.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from workbook.physics.border import number
from workbook.physics.parts.circuit import OPEN_MASK, Circuit, Outlet, pip_valve, relief_valve
from workbook.physics.parts.passage import LimitValve, Passage

HIGHEST = 1000.0  # cmH2O; above this the model says: nothing lets the gas out
MIN_READING = 1e-3  # cmH2O; no needle shows less
CLOSE, SECANTS = 4e-15, 60  # of the root; about 20 floats
NEAR = 1e-9  # of a pressure, and cmH2O; what keeps a bound clear of rounding
LEAST = 1e-9  # cmH2O/(L/min)^2; a way without any resistance is treated as having this


@dataclass(frozen=True, slots=True)
class Steady:
    """Pressures (cmH2O) and the flow down the limb (L/min) once nothing changes any more."""

    manometer: float
    at_t: float
    limb: float


def steady_reading(circuit: Circuit, *, held: bool, outlet: Outlet = "capped") -> float:
    """Return what the gauge shows (cmH2O) once nothing changes any more.

    ``held``: the aperture is occluded. Infinite when no way is open to the gas.
    """
    return steady_state(circuit, held=held, outlet=outlet).manometer


def steady_state(circuit: Circuit, *, held: bool, outlet: Outlet = "capped") -> Steady:
    """Return the pressures at the gauge and at the T: one root for the pressure at the T."""
    if circuit.flow == 0:
        return Steady(0.0, 0.0, 0.0)
    opening = circuit.opening(held=held)
    ends: list[Passage | LimitValve] = [] if opening is None else [_some(opening)]
    ends += [OPEN_MASK] if outlet == "open" else []
    ends += [circuit.leak] if circuit.leak and outlet != "open" else []
    valves = [valve for valve in (circuit.pip_valve, circuit.relief_valve) if valve is not None]
    passed, vented, limb = _passing(ends), _passing(valves), circuit.limb
    flow, linear, quadratic = circuit.flow, limb.linear, limb.quadratic

    def surplus(at_t: float) -> float:
        down = passed(at_t)
        return flow - vented(at_t + (linear * down + quadratic * down * down)) - down

    high = min((_alone(way, flow) for way in (*ends, *valves)), default=HIGHEST)
    if high >= HIGHEST or surplus(high) > 0:
        high = HIGHEST
        if surplus(high) > 0:
            return Steady(math.inf, math.inf, 0.0)
    at_t = _root(surplus, high)
    down = passed(at_t)
    return Steady(at_t + limb.drop(down), at_t, down)


def _alone(way: Passage | LimitValve, flow: float) -> float:
    """Return a pressure (cmH2O) just above that at which one way alone passes a whole flow.

    No pressure at the T is higher: the root lies below, and need not be looked for further up.
    """
    opens = way.opens_at if isinstance(way, LimitValve) else 0.0
    return (max(opens, 0.0) + way.linear * flow + way.quadratic * flow * flow) * (1 + NEAR) + NEAR


def _passing(ways: Sequence[Passage | LimitValve]) -> Callable[[float], float]:
    """Return what some ways side by side pass (L/min) at a pressure (cmH2O).

    The same as the sum of their ``flow``, worked out in one place: roots ask for it most.
    """
    sqrt = math.sqrt
    parts = [
        (
            way.opens_at if isinstance(way, LimitValve) else 0.0,
            way.linear,
            way.linear * way.linear,
            4 * way.quadratic,
        )
        for way in ways
    ]

    def passing(pressure: float) -> float:
        flow = 0.0
        for opens_at, linear, squared, four in parts:
            over = pressure - opens_at
            if over > 0:
                bottom = linear + sqrt(squared + four * over)
                flow += 2 * over / bottom if bottom else math.inf
        return flow

    return passing


def _some(way: Passage) -> Passage:
    """Return a way that has at least a trace of resistance."""
    return way if way.linear or way.quadratic else Passage(quadratic=LEAST)


def _root(falling: Callable[[float], float], high: float = HIGHEST) -> float:
    """Return where a falling function crosses zero between 0 and ``high``, to the last digit.

    Halving ends at two neighbouring floats; secants first narrow where it starts.
    """
    low, high = _narrowed(falling, 0.0, high)
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return (low + high) / 2


def _narrowed(falling: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Return a narrow bracket of the same root: regula falsi, by Anderson and Bjorck (1973)."""
    left, right, x = falling(low), falling(high), high
    if not left > 0 > right:
        return low, high
    for _ in range(SECANTS):
        before, x = x, (low * right - high * left) / (right - left)
        if not low < x < high or abs(x - before) <= CLOSE * x:
            break
        value = falling(x)
        if value == 0:
            return x, x
        if value > 0:
            right *= max(1 - value / left, 0.0) or 0.5
            low, left = x, value
        else:
            left *= max(1 - value / right, 0.0) or 0.5
            high, right = x, value
    for near in (x * (1 - CLOSE), x * (1 + CLOSE)):
        if low < near < high:
            low, high = (near, high) if falling(near) > 0 else (low, near)
    return low, high


def set_flow(circuit: Circuit, flow: float) -> Circuit:
    """Turn the flow; every other control stays where it stands."""
    return circuit.at(flow)


def set_relief(circuit: Circuit, reading: float) -> Circuit:
    """Set the relief: PIP control fully open, aperture occluded, by the gauge."""
    reading = _demand(circuit, reading)
    valve = relief_valve(0.0)
    return replace(
        circuit, pip_valve=None, relief_valve=relief_valve(reading - valve.pressure(circuit.flow))
    )


def set_pip(circuit: Circuit, reading: float) -> Circuit:
    """Set PIP: aperture occluded, until the gauge shows a reading.

    Beyond the relief the control turns on while the gauge stays at the limit.
    """
    reading = _demand(circuit, reading)
    relief = circuit.relief_valve
    passed = 0.0 if relief is None else min(relief.flow(reading), circuit.flow)
    own = pip_valve(0.0).pressure(circuit.flow - passed)
    return replace(circuit, pip_valve=pip_valve(reading - own))


def set_peep(circuit: Circuit, reading: float) -> Circuit:
    """Set PEEP: aperture released, turned until the gauge shows a reading.

    With the PIP control low part of the flow leaves by it, and the aperture ends too narrow.
    Raises ValueError when the gauge cannot reach the reading.
    """
    reading = _demand(circuit, reading)
    limb = circuit.flow - circuit.vented(reading)
    at_end = reading - circuit.limb.drop(max(limb, 0.0))
    left = limb - circuit.leaked(at_end) - (circuit.crack.flow(at_end) if circuit.crack else 0.0)
    if left <= 0 or at_end <= 0:
        by = "PIP control" if limb <= 0 or not circuit.leak else "leak"
        raise ValueError(f"The gauge cannot reach {reading:g} cmH2O: the gas leaves by the {by}.")
    return replace(circuit, aperture=Passage(quadratic=at_end / left**2))


def _demand(circuit: Circuit, reading: float) -> float:
    reading = number(reading, "cmH2O", "A reading", least=MIN_READING)
    if circuit.flow == 0:
        raise ValueError("No pressure can be set without flow: open the gas first.")
    return reading
