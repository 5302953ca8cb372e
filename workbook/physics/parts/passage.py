"""Pressure and flow: passages that gas always passes, valves that open at a pressure.

Pressures are floats in cmH2O and flows floats in L/min; quantities are converted when given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbook.physics.border import MOST, number, settle

LINEAR, QUADRATIC = "cmH2O/(L/min)", "cmH2O/(L/min)^2"


def flow_through(drop: float, linear: float, quadratic: float) -> float:
    """Return the flow (L/min) that a pressure drop (cmH2O) drives: drop = a q + b q |q|.

    Written so that nothing cancels; a passage without any resistance carries no limit.
    """
    if drop == 0:
        return 0.0
    bottom = linear + math.sqrt(linear * linear + 4 * quadratic * abs(drop))
    return math.inf if bottom == 0 else 2 * drop / bottom


@dataclass(frozen=True, slots=True)
class Passage:
    """A way that is always open: drop = linear q + quadratic q |q|.

    ``linear`` in cmH2O/(L/min), ``quadratic`` in cmH2O/(L/min)^2.
    """

    linear: float = 0.0
    quadratic: float = 0.0

    def __post_init__(self) -> None:
        settle(self, "linear", LINEAR, "A passage's linear resistance")
        settle(self, "quadratic", QUADRATIC, "A passage's quadratic resistance")

    def drop(self, flow: float) -> float:
        """Return the pressure drop (cmH2O) at a flow (L/min)."""
        return self.linear * flow + self.quadratic * flow * abs(flow)

    def flow(self, drop: float) -> float:
        """Return the flow (L/min) at a pressure drop (cmH2O)."""
        return flow_through(drop, self.linear, self.quadratic)


@dataclass(frozen=True, slots=True)
class LimitValve:
    """A valve that opens at a pressure (cmH2O) and then passes more the higher it is.

    ``linear`` in cmH2O/(L/min), ``quadratic`` in cmH2O/(L/min)^2.
    """

    opens_at: float
    linear: float
    quadratic: float = 0.0

    def __post_init__(self) -> None:
        settle(self, "opens_at", "cmH2O", "The pressure a valve opens at", -MOST)
        settle(self, "linear", LINEAR, "A valve's linear resistance")
        settle(self, "quadratic", QUADRATIC, "A valve's quadratic resistance")

    @classmethod
    def reading(
        cls, pressure: float, flow: float, linear: float, quadratic: float = 0.0
    ) -> LimitValve:
        """Return the valve whose gauge reads a pressure with all of a flow through it."""
        pressure = number(pressure, "cmH2O", "A reading")
        flow = number(flow, "L/min", "A flow")
        return cls(pressure - linear * flow - quadratic * flow * flow, linear, quadratic)

    def flow(self, pressure: float) -> float:
        """Return the flow (L/min) the valve lets out at a pressure; never backwards."""
        over = pressure - self.opens_at
        return flow_through(over, self.linear, self.quadratic) if over > 0 else 0.0

    def pressure(self, flow: float) -> float:
        """Return the pressure (cmH2O) with all of a flow through the valve."""
        return self.opens_at + self.linear * flow + self.quadratic * flow * flow
