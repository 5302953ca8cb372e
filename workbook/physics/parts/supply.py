"""A cylinder that runs out: the flow it still gives, as a teaching law.

Flow is taken to follow the regulator's gauge pressure once the cylinder is below it; no
published measurement stands behind this.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbook.physics import coefficients as c
from workbook.physics.border import number

MINUTE = 60.0  # s


@dataclass(frozen=True, slots=True)
class Cylinder:
    """Its water volume ``water`` (L), its ``gauge`` and its ``regulator`` (both in bar)."""

    water: float = c.CYLINDER_WATER.value
    gauge: float = c.CYLINDER_GAUGE.value
    regulator: float = c.CYLINDER_REGULATOR.value

    def steady_for(self, flow: float) -> float:
        """Return how long (s) the full flow (L/min) lasts: (P - P_reg) V/(P_atm Q)."""
        return self._seconds(max(0.0, self.gauge - self.regulator), flow)

    def fades_with(self, flow: float) -> float:
        """Return the time constant (s) of the flow after that: P_reg V/(P_atm Q)."""
        return self._seconds(min(self.gauge, self.regulator), flow)

    def flow(self, flow: float, time: float) -> float:
        """Return what is left of a flow (L/min) after a time (s)."""
        over = number(time, "s", "The time") - self.steady_for(flow)
        return flow if over <= 0 else flow * math.exp(-over / self.fades_with(flow))

    def _seconds(self, pressure: float, flow: float) -> float:
        flow = number(flow, "L/min", "The flow", least=1e-9)
        return MINUTE * pressure * self.water / (c.ATMOSPHERE.value * flow)
