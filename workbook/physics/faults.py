"""What can be wrong with a circuit, its gauge or an airway, as changes of the model.

No fault scripts a needle: each changes a part, and its signs fall out of the model. How large a
fault is, is an assumption of ours (`coefficients`); device and hose can fail in other ways.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from workbook.physics import coefficients as c
from workbook.physics.parts.circuit import OPEN_MASK, Circuit, leak_of, relief_valve
from workbook.physics.parts.lung import Lung
from workbook.physics.parts.passage import LimitValve, Passage
from workbook.physics.steady import steady_reading

BLOCKED = Passage(c.FAULT_BLOCKED.value)
OFF = LimitValve(0.0, 0.0, c.FAULT_VENT.value)  # gas leaves where the hose should be
LOW_RELIEF = relief_valve(
    c.FAULT_RELIEF.value - relief_valve(0.0).pressure(c.FAULT_RELIEF_FLOW.value)
)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge that shows ``share`` times the pressure there, and ``offset`` (cmH2O) more."""

    share: float = 1.0
    offset: float = 0.0

    def reads(self, pressure: float) -> float:
        """Return what the needle shows (cmH2O) at a pressure at the manometer (cmH2O)."""
        return self.share * pressure + self.offset


TRUE = Gauge()


def _same_circuit(circuit: Circuit) -> Circuit:
    return circuit


def _same_lung(lung: Lung) -> Lung:
    return lung


def _true_gauge(circuit: Circuit) -> Gauge:
    return TRUE


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what it makes of a circuit whose controls stand, of the lung and of the gauge."""

    circuit: Callable[[Circuit], Circuit] = field(default=_same_circuit)
    lung: Callable[[Lung], Lung] = field(default=_same_lung)
    gauge: Callable[[Circuit], Gauge] = field(default=_true_gauge)


NONE = Fault()


def comes(fault: Fault) -> float:
    """Return how much of the flow that is set comes through the flow meter, as a share."""
    return fault.circuit(Circuit(1.0)).flow


def _cracked(circuit: Circuit) -> Circuit:
    """Widen the aperture: a cap cracked where the finger covers the crack too."""
    wide = circuit.aperture.quadratic / c.FAULT_CRACK.value**2
    return replace(circuit, aperture=Passage(circuit.aperture.linear, wide))


def _stuck(circuit: Circuit) -> Gauge:
    """Return a needle that stays where it stood with the hole occluded."""
    return Gauge(0.0, min(steady_reading(circuit, held=True), c.GAUGE_TOP.value))


def _stiff(lung: Lung) -> Lung:
    return replace(lung, compliance=lung.compliance * c.FAULT_STIFF.value)


def _closed(lung: Lung) -> Lung:
    return replace(lung, airway=c.FAULT_AIRWAY.value)


def _leaking(k: float) -> Fault:
    return Fault(lambda circuit: replace(circuit, leak=leak_of(k)))


def _circuit(**parts: Any) -> Fault:
    return Fault(lambda circuit: replace(circuit, **parts))


FAULTS: Mapping[str, Fault] = {
    "no-gas": Fault(lambda circuit: circuit.at(0.0)),
    "gas-fading": Fault(lambda circuit: circuit.at(circuit.flow * c.FAULT_FADING.value)),
    "hose-off": _circuit(pip_valve=OFF, limb=BLOCKED),
    "outlet-open": _circuit(leak=OPEN_MASK),
    "leak-some": _leaking(c.FAULT_LEAKS[0].value),
    "leak-large": _leaking(c.FAULT_LEAKS[1].value),
    "cap-under-finger": Fault(_cracked),
    "cap-beside-finger": _circuit(crack=Passage(quadratic=c.FAULT_LEAKS[1].value)),
    "hole-narrow": _circuit(aperture=Passage(quadratic=c.FAULT_NARROW.value)),
    "hose-kinked": _circuit(limb=Passage(c.FAULT_KINK.value)),
    "hose-blocked": _circuit(limb=BLOCKED),
    "relief-low": _circuit(relief_valve=LOW_RELIEF),
    "pip-fails": _circuit(pip_valve=None),
    "limits-fail": _circuit(pip_valve=None, relief_valve=None),
    "needle-sticks": Fault(gauge=_stuck),
    "needle-off-zero": Fault(gauge=lambda circuit: Gauge(offset=c.FAULT_ZERO.value)),
    "gauge-blocked": Fault(gauge=lambda circuit: Gauge(share=0.0)),
    "airway-blocked": Fault(lung=_closed),
    "lung-stiff": Fault(lung=_stiff),
}
