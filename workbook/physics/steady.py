"""Steady states in closed form or by one root: what the gauge shows, and how controls are set.

An operator never sets where a valve opens; the operator turns a control until the gauge shows a
reading. The functions ``set_...`` do the same.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from workbook.physics.circuit import OPEN_MASK, Circuit, Outlet, pip_valve, relief_valve
from workbook.physics.passage import Passage

HIGHEST = 1000.0  # cmH2O; above this the model says: nothing lets the gas out


def steady_reading(circuit: Circuit, *, held: bool, outlet: Outlet = "capped") -> float:
    """Return what the gauge shows (cmH2O) once nothing changes any more.

    ``held``: the aperture is occluded. Infinite when no way is open to the gas.
    """
    if circuit.flow == 0:
        return 0.0
    ways = [] if held else [circuit.aperture]
    if outlet == "open":
        ways.append(OPEN_MASK)

    def surplus(pressure: float) -> float:
        return circuit.flow - circuit.vented(pressure) - _through_limb(circuit, ways, pressure)

    if surplus(HIGHEST) > 0:
        return math.inf
    return _root(surplus)


def _through_limb(circuit: Circuit, ways: list[Passage], pressure: float) -> float:
    """Return the flow (L/min) down the limb and out by the open ways at its end."""
    if not ways or pressure <= 0:
        return 0.0
    out, limb = _side_by_side(ways), circuit.limb
    in_line = Passage(limb.linear + out.linear, limb.quadratic + out.quadratic)
    return in_line.flow(pressure)


def _side_by_side(ways: list[Passage]) -> Passage:
    """Return sharp openings side by side as one: their conductances 1/sqrt(k) add up."""
    if len(ways) == 1:
        return ways[0]
    if any(way.linear for way in ways) or not all(way.quadratic for way in ways):
        raise ValueError("Only sharp openings, drop = k Q^2, can stand side by side here.")
    conductance = sum(way.quadratic**-0.5 for way in ways)
    return Passage(quadratic=conductance**-2)


def _root(falling: Callable[[float], float], high: float = HIGHEST) -> float:
    """Return where a falling function crosses zero between 0 and ``high``, by halving."""
    low = 0.0
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return (low + high) / 2


def set_flow(circuit: Circuit, flow: float) -> Circuit:
    """Turn the flow; every other control stays where it stands."""
    return circuit.at(flow)


def set_relief(circuit: Circuit, reading: float) -> Circuit:
    """Set the relief: PIP control fully open, aperture occluded, by the gauge."""
    _demand(circuit, reading)
    valve = relief_valve(0.0)
    return replace(
        circuit, pip_valve=None, relief_valve=relief_valve(reading - valve.pressure(circuit.flow))
    )


def set_pip(circuit: Circuit, reading: float) -> Circuit:
    """Set PIP: aperture occluded, until the gauge shows a reading.

    Beyond the relief the control turns on while the gauge stays at the limit.
    """
    _demand(circuit, reading)
    relief = circuit.relief_valve
    passed = 0.0 if relief is None else min(relief.flow(reading), circuit.flow)
    own = pip_valve(0.0).pressure(circuit.flow - passed)
    return replace(circuit, pip_valve=pip_valve(reading - own))


def set_peep(circuit: Circuit, reading: float) -> Circuit:
    """Set PEEP: aperture released, turned until the gauge shows a reading.

    With the PIP control low part of the flow leaves by it, and the aperture ends too narrow.
    Raises ValueError when the gauge cannot reach the reading.
    """
    _demand(circuit, reading)
    left = circuit.flow - circuit.vented(reading)
    at_end = reading - circuit.limb.drop(left)
    if left <= 0 or at_end <= 0:
        raise ValueError(
            f"The gauge cannot reach {reading:g} cmH2O: the gas leaves by the PIP control."
        )
    return replace(circuit, aperture=Passage(quadratic=at_end / left**2))


def _demand(circuit: Circuit, reading: float) -> None:
    if not (math.isfinite(reading) and reading > 0):
        raise ValueError(f"A pressure above zero is set, not {reading}.")
    if circuit.flow == 0:
        raise ValueError("No pressure can be set without flow: open the gas first.")


def peep(flow: float, aperture: Passage) -> float:
    """Return PEEP at the T (cmH2O), valves shut: the aperture's drop with all of the flow."""
    return aperture.drop(flow)


def aperture_for(peep: float, flow: float) -> Passage:
    """Return the aperture (a sharp opening) that holds a PEEP at a flow: k = PEEP / Q^2."""
    if not (peep > 0 and flow > 0):
        raise ValueError("PEEP and flow are above zero.")
    return Passage(quadratic=peep / flow**2)
