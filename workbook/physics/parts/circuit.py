"""A T-piece circuit: its flow and where its controls stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from workbook.physics import coefficients as c
from workbook.physics.border import settle
from workbook.physics.parts.passage import LimitValve, Passage

Outlet = Literal["capped", "open"]

OPEN = Passage()
LIMB = Passage(c.LIMB.value)
OPEN_MASK = Passage(quadratic=c.OPEN_OUTLET.value)


def pip_valve(opens_at: float = c.PIP_LOWEST.value) -> LimitValve:
    """Return a PIP valve; by default with its control turned right down."""
    return LimitValve(opens_at, c.PIP_LINEAR.value, c.PIP_QUADRATIC.value)


def relief_valve(opens_at: float) -> LimitValve:
    """Return a maximum pressure relief that opens at a pressure (cmH2O)."""
    return LimitValve(opens_at, c.RELIEF_LINEAR.value, c.RELIEF_QUADRATIC.value)


def leak_of(quadratic: float, opens_at: float = 0.0) -> LimitValve:
    """Return a leak at the mask, drop = k Q^2, that may open only above a pressure (cmH2O)."""
    return LimitValve(opens_at, 0.0, quadratic)


@dataclass(frozen=True, slots=True)
class Circuit:
    """The circuit's flow (L/min) and the positions of its controls.

    ``pip_valve`` None means the PIP control is fully open (it limits nothing), ``relief_valve``
    None that there is no relief, ``leak`` None that the interface seals. ``aperture`` is what a
    finger occludes; ``crack``, where the T is broken, stays open whatever the finger does.
    ``compressible`` is the gas the circuit takes up, in mL/cmH2O.
    """

    flow: float
    pip_valve: LimitValve | None = None
    relief_valve: LimitValve | None = None
    aperture: Passage = OPEN
    limb: Passage = LIMB
    leak: Passage | LimitValve | None = None
    compressible: float = c.COMPRESSIBLE.value
    crack: Passage | None = None

    def __post_init__(self) -> None:
        settle(self, "flow", "L/min", "The flow")
        settle(self, "compressible", "mL/cmH2O", "The circuit's compressible volume")

    def at(self, flow: float) -> Circuit:
        """Return the circuit at another flow, with every control left where it stands."""
        return replace(self, flow=flow)

    def opening(self, *, held: bool) -> Passage | None:
        """Return the way out at the T with the aperture occluded or released; None for none.

        Two sharp openings side by side are one: their conductances 1/sqrt(k) add up. Raises
        ValueError for a crack beside an aperture that is not sharp.
        """
        if held or self.crack is None:
            return self.crack if held else self.aperture
        if self.aperture.linear or self.crack.linear:
            raise ValueError("A crack and the aperture beside it are sharp openings, drop = k Q^2.")
        both = (self.aperture.quadratic, self.crack.quadratic)
        if not all(both):
            return OPEN
        return Passage(quadratic=sum(k**-0.5 for k in both) ** -2)

    def leaked(self, pressure: float) -> float:
        """Return what leaks at the interface (L/min) at a pressure at the T (cmH2O)."""
        return 0.0 if self.leak is None else self.leak.flow(pressure)

    def vented(self, pressure: float) -> float:
        """Return what the valves let out (L/min) at a manometer pressure (cmH2O)."""
        pip, relief = self.pip_valve, self.relief_valve
        vented = 0.0 if pip is None else pip.flow(pressure)
        return vented if relief is None else vented + relief.flow(pressure)
