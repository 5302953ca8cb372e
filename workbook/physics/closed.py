"""Closed forms for ideal parts: PEEP, PIP, time constants and the periodic breath.

Each argument says its unit; quantities are converted when given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from workbook.physics.border import number
from workbook.physics.parts.lung import Lung
from workbook.physics.parts.passage import LimitValve, Passage

PER_LITRE_A_SECOND = 60.0  # 1 cmH2O/(L/min) is 60 cmH2O/(L/s)
PER_SECOND = 1000 / 60  # mL/s in 1 L/min
TINY = 1e-9


def peep(flow: float, aperture: Passage, leak: Passage | None = None) -> float:
    """Return PEEP at the T (cmH2O) at a flow (L/min), valves shut.

    With a leak both are sharp openings, whose conductances 1/sqrt(k) add up.
    """
    flow = number(flow, "L/min", "The flow")
    if leak is None:
        return aperture.drop(flow)
    if aperture.linear or leak.linear or not (aperture.quadratic and leak.quadratic):
        raise ValueError("The closed form needs a sharp aperture and a sharp leak, drop = k Q^2.")
    return float((flow / (aperture.quadratic**-0.5 + leak.quadratic**-0.5)) ** 2)


def pip(flow: float, valves: Sequence[LimitValve], leak: Passage | None = None) -> float:
    """Return PIP (cmH2O) in the ideal limit: the lowest of the valves' and the leak's curves."""
    flow = number(flow, "L/min", "The flow")
    curves = [valve.pressure(flow) for valve in valves]
    curves += [leak.drop(flow)] if leak else []
    if not curves:
        raise ValueError("Nothing limits the pressure: give a valve or a leak.")
    return min(curves)


def aperture_for(peep: float, flow: float) -> Passage:
    """Return the aperture (sharp) that holds a PEEP (cmH2O) at a flow (L/min): k = PEEP/Q^2."""
    peep = number(peep, "cmH2O", "PEEP", least=TINY)
    flow = number(flow, "L/min", "The flow", least=TINY)
    return Passage(quadratic=peep / flow**2)


def refill_time_constant(lung: Lung, valve: LimitValve) -> float:
    """Return the time constant (s) of an inflation once a linear valve is open: (R + a) C."""
    total = lung.linear + valve.linear * PER_LITRE_A_SECOND
    return lung.open_compliance * total / 1000


def emptying_time_constant(lung: Lung, peep: float, flow: float) -> float:
    """Return the time constant (s) late in expiration: C (R + 2 PEEP/Q).

    The aperture adds to the airway twice PEEP (cmH2O) over flow (L/min).
    """
    peep = number(peep, "cmH2O", "PEEP")
    flow = number(flow, "L/min", "The flow", least=TINY)
    return lung.open_compliance * (lung.linear + 2 * peep / flow * PER_LITRE_A_SECOND) / 1000


@dataclass(frozen=True, slots=True)
class Periodic:
    """A breath repeated for ever between two pressures, the lung and both ways linear.

    Volumes in mL, pressures in cmH2O. ``excess`` is end-expiratory alveolar pressure above PEEP.
    """

    tidal_volume: float
    end_inspiratory: float
    end_expiratory: float
    excess: float
    trapped_volume: float
    mean_alveolar: float
    mean_at_t: float


def periodic_breath(
    compliance: float,
    high: float,
    low: float,
    inflation: tuple[float, float],
    expiration: tuple[float, float],
) -> Periodic:
    """Return the periodic breath: compliance in mL/cmH2O, pressures in cmH2O.

    ``inflation`` and ``expiration`` are (time, time constant) in seconds.
    """
    c = number(compliance, "mL/cmH2O", "Compliance", least=TINY)
    high, low = number(high, "cmH2O", "PIP"), number(low, "cmH2O", "PEEP")
    ti, tau_i = (number(each, "s", "An inflation's time", least=TINY) for each in inflation)
    te, tau_e = (number(each, "s", "An expiration's time", least=TINY) for each in expiration)
    empty, full = math.exp(-ti / tau_i), math.exp(-te / tau_e)
    share = (1 - empty) / -math.expm1(-ti / tau_i - te / tau_e)
    excess, peak = (high - low) * share * full, (high - low) * share
    mean = (high * ti - (high - low - excess) * tau_i * (1 - empty)) + (
        low * te + peak * tau_e * (1 - full)
    )
    return Periodic(
        tidal_volume=c * (peak - excess),
        end_inspiratory=low + peak,
        end_expiratory=low + excess,
        excess=excess,
        trapped_volume=c * excess,
        mean_alveolar=mean / (ti + te),
        mean_at_t=(high * ti + low * te) / (ti + te),
    )


def orifice_emptying(lung: Lung, aperture: Passage, flow: float, start: float, end: float) -> float:
    """Return the time (s) alveolar pressure takes from ``start`` to ``end`` (cmH2O), exactly.

    A sharp aperture, a linear airway and lung, the valves shut, a flow in L/min.
    """
    k = aperture.quadratic / PER_SECOND**2
    r, q = lung.linear / 1000, number(flow, "L/min", "The flow", least=TINY) * PER_SECOND
    if aperture.linear or lung.quadratic or lung.stiffening or lung.recruitment or not k:
        raise ValueError("The closed form needs a sharp aperture and a linear airway and lung.")

    def through(alveolar: float) -> float:
        total = alveolar + r * q
        return 2 * total / (r + math.sqrt(r * r + 4 * k * total))

    first, last = through(start), through(end)
    logarithm = math.log((first - q) / (last - q))
    return lung.open_compliance * (2 * k * (first - last) + (2 * k * q + r) * logarithm)
