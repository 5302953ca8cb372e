"""What the bench page plays: the model's laws as tables, for where the controls now stand.

Each table is (x, y), straight between its points; pressures in cmH2O, volumes in mL, flows in
mL/s. The page only adds up what flows in and out at the T and into the lung, at screen rate; it
holds no law and no number of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any

from workbook.physics import Circuit, Lung
from workbook.physics.faults import TRUE, Gauge
from workbook.physics.parts.passage import LimitValve, Passage, flow_through
from workbook.physics.solver.kernel import stored
from workbook.physics.solver.ways import PER_SECOND, outflow, upstream

Table = tuple[list[float], list[float]]

LOW, HIGH = -20.0, 120.0  # cmH2O; beyond them a table goes on straight
NEAR_ZERO = (-1.0, -0.1, -0.01, -0.001, 0.0, 0.001, 0.01, 0.1, 1.0)  # where openings are steep
CLOSE = 1e-4  # a straight piece may miss the law by this share of the flow there
FLOOR = 20.0  # mL/s; below this flow the miss allowed stays the same
SHORTEST = 1e-5  # cmH2O; a corner is cut no finer


def laws(circuit: Circuit, outlet: str, lung: Lung, gauge: Gauge = TRUE) -> dict[str, Any]:
    """Return the tables for a circuit and what is at its outlet, and the gas the circuit takes up.

    ``limb``, ``manometer`` (as the gauge shows it) and ``relief`` (by the pressure at the T),
    ``aperture`` (released), ``covered`` (what a finger on it leaves open), ``outlet`` (a leak, or
    the open end), ``patient`` (by the drive across the airway) and ``recoil`` (by the volume);
    ``store`` in mL/cmH2O.
    """
    joined = outlet == "lung"
    capped = None if joined else outlet == "capped"
    limb, manometer, relief = _above(
        circuit.flow, circuit.pip_valve, circuit.relief_valve, circuit.limb
    )
    return {
        "limb": limb,
        "manometer": manometer if gauge is TRUE else _read(manometer, gauge),
        "relief": relief,
        "aperture": _aperture(circuit.aperture, circuit.crack),
        "covered": _covered(circuit.crack),
        "outlet": _leak(None if capped else circuit.leak, capped),
        "patient": _patient(lung),
        "recoil": _recoil(lung),
        "store": stored(circuit, joined=joined),
        "joined": joined,
    }


def table(
    law: Callable[[float], float],
    corners: Iterable[float] = (),
    low: float = LOW,
    high: float = HIGH,
) -> Table:
    """Return a law as points so close that straight pieces between them follow it."""
    marks = sorted({low, high, *(x for x in (*NEAR_ZERO, *corners) if low < x < high)})
    xs, ys = [marks[0]], [law(marks[0])]
    for end in marks[1:]:
        waiting = [(end, law(end))]
        while waiting:
            x, y = waiting[-1]
            middle = (xs[-1] + x) / 2
            there = law(middle)
            miss = abs(there - (ys[-1] + y) / 2)
            if miss > CLOSE * (FLOOR + abs(there)) and x - xs[-1] > SHORTEST:
                waiting.append((middle, there))
            else:
                xs.append(x)
                ys.append(y)
                waiting.pop()
    return xs, ys


@lru_cache(maxsize=512)
def _above(
    flow: float, pip: LimitValve | None, relief: LimitValve | None, limb: Passage
) -> tuple[Table, Table, Table]:
    above = upstream(Circuit(flow, pip, relief, limb=limb))
    shut = limb.drop(flow)
    corners = [v.opens_at + off for v in (pip, relief) if v is not None for off in (-shut, 0.0)]
    down = table(lambda at_t: above(at_t)[0], corners)
    manometer = [x + limb.drop(y / PER_SECOND) for x, y in zip(*down, strict=True)]
    return down, (down[0], manometer), _relieved(relief, down[0], manometer)


def _relieved(relief: LimitValve | None, at_t: list[float], manometer: list[float]) -> Table:
    """Return what the relief lets go, from the last point at which it is shut."""
    out = [0.0 if relief is None else PER_SECOND * relief.flow(at) for at in manometer]
    shut = max((n for n, flow in enumerate(out) if not flow), default=0)
    first = min(shut, len(out) - 2)
    return [LOW - 1, *at_t[first:]], [out[first], *out[first:]]


@lru_cache(maxsize=512)
def _aperture(aperture: Passage, crack: Passage | None) -> Table:
    out = outflow(Circuit(0.0, aperture=aperture, crack=crack), held=False)
    return table(lambda at_t: out(at_t)[0])


@lru_cache(maxsize=64)
def _covered(crack: Passage | None) -> Table:
    if crack is None:
        return [LOW, HIGH], [0.0, 0.0]
    out = outflow(Circuit(0.0, crack=crack), held=True)
    return table(lambda at_t: out(at_t)[0])


def _read(manometer: Table, gauge: Gauge) -> Table:
    return manometer[0], [gauge.reads(at) for at in manometer[1]]


@lru_cache(maxsize=64)
def _leak(leak: Passage | LimitValve | None, capped: bool | None) -> Table:
    out = outflow(Circuit(0.0, leak=leak), held=True, capped=capped)
    return table(lambda at_t: out(at_t)[1])


@lru_cache(maxsize=64)
def _patient(lung: Lung) -> Table:
    linear, quadratic = lung.linear / 1000, lung.quadratic / 1e6
    return table(lambda drive: flow_through(drive, linear, quadratic))


@lru_cache(maxsize=64)
def _recoil(lung: Lung) -> Table:
    if lung.recruitment:
        raise ValueError("A page plays no lung that opens: simulate it instead.")
    most = max(lung.volume(HIGH), 1.0)
    xs = [most * n / 200 for n in range(-20, 201)] if lung.stiffening else [-most, most]
    return xs, [lung.recoil(x) for x in xs]
