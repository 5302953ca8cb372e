"""What a T-piece gives a lung in one inflation: the bench's pressures and flows, in closed form.

A circuit's settled pressures come from the steady model, leak and all. Filling is limited first by
the flow, then by the valve; emptying by airway and aperture. Tests hold it to the stepper.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp

from workbook.physics import coefficients as c
from workbook.physics.baby.constants import k
from workbook.physics.closed import PER_LITRE_A_SECOND, PER_SECOND, TINY
from workbook.physics.parts.circuit import Circuit
from workbook.physics.steady import steady_state


@dataclass(frozen=True, slots=True)
class Ways:
    """A circuit before a lung: where it settles, held and released (cmH2O), and its resistances.

    ``flow`` is what can fill a lung (mL/s), ``valve`` and ``out`` resistances in cmH2O/(mL/s),
    ``store`` the gas the circuit takes up (mL/cmH2O).
    """

    top: float
    rest: float
    flow: float
    valve: float
    out: float
    store: float

    def filled(self, start: float, compliance: float, airway: float, time: float) -> float:
        """Return the pressure in a lung (cmH2O) ``time`` seconds after the hole was covered.

        ``start`` is the pressure in it before, ``compliance`` in mL/cmH2O, ``airway`` in
        cmH2O/(mL/s).
        """
        if self.top <= start:
            return self.top + (start - self.top) * exp(-time / (compliance * (airway + self.out)))
        slows = max(start, self.top - self.flow * (airway + self.valve))
        takes = (slows - start) * (compliance + self.store) / self.flow
        if time <= takes:
            return start + time * self.flow / (compliance + self.store)
        over = compliance * (airway + self.valve)
        return self.top + (slows - self.top) * exp(-(time - takes) / over)

    def emptied(self, start: float, compliance: float, airway: float, time: float) -> float:
        """Return the pressure in a lung (cmH2O) ``time`` seconds after the hole was let go."""
        over = compliance * (airway + self.out)
        return self.rest + (start - self.rest) * exp(-time / over)


@lru_cache(maxsize=1024)
def ways_of(circuit: Circuit) -> Ways:
    """Return what a circuit, on a face, does to a lung behind it."""
    most = c.GAUGE_TOP.value
    top, rest = (
        min(max(steady_state(circuit, held=held).at_t, 0.0), most) for held in (True, False)
    )
    lost = circuit.leaked(top / 2)
    flow = max(circuit.flow - lost, TINY) * PER_SECOND
    opens = [v.opens_at for v in (circuit.pip_valve, circuit.relief_valve) if v is not None]
    slope = (top - min([*opens, top])) / flow if opens else TINY
    out = 2 * rest / max(circuit.flow * PER_SECOND, TINY)
    return Ways(top, rest, flow, max(slope, TINY), max(out, TINY), circuit.compressible)


def arrives(turned: float) -> float:
    """Return when oxygen of a dial that was turned at a time (s) reaches the baby."""
    return turned + k("gas.late")


def moves_until(inflated: float) -> float:
    """Return until when (s) a lung counts as moving that was inflated at a time (s)."""
    return inflated + k("heart.moving")


def airway(resistance: float) -> float:
    """Return a resistance given in cmH2O/(L/s) in cmH2O/(mL/s)."""
    return resistance / PER_SECOND / PER_LITRE_A_SECOND
