"""How a lung opens while the stepper goes: the explicit half of the method, at the same stages.

The pair is ARS(2,2,2) of Ascher, Ruuth and Spiteri (Applied Numerical Mathematics 25, 1997; cited
from memory): of second order together, and the implicit half stays L-stable.
"""

from __future__ import annotations

from workbook.physics.parts.lung import Lung, Recruitment
from workbook.physics.solver.ways import GAMMA, REST

FIRST = 1 - 1 / (2 * GAMMA)  # weight of the slope a step begins with; the middle has what is left


class Opening:
    """The open share of a lung; a step is tried by its stages, then taken."""

    def __init__(self, lung: Lung, recruitment: Recruitment, volume: float) -> None:
        self.lung, self.law, self.share = lung, recruitment, recruitment.share
        self.begun = self._speed(self.share, volume)

    def _speed(self, share: float, volume: float) -> float:
        return self.law.speed(share, self.lung.opened(share).recoil(volume))

    def partway(self, h: float) -> Lung:
        """Return the lung as it stands at the middle stage of a step of ``h`` seconds."""
        self.middle = self._within(self.share + GAMMA * h * self.begun)
        return self.lung.opened(self.middle)

    def whole(self, volume: float, h: float) -> Lung:
        """Return the lung at the end of the step; ``volume`` (mL) is that of the middle."""
        self.turned = self._speed(self.middle, volume)
        self.tried = self._within(self.share + h * (FIRST * self.begun + (1 - FIRST) * self.turned))
        return self.lung.opened(self.tried)

    def bend(self, volume: float) -> float:
        """Return how much the slope turns within the step that ends at a volume (mL)."""
        self.ended = self._speed(self.tried, volume)
        return (self.ended - self.turned) / REST - (self.turned - self.begun) / GAMMA

    def take(self) -> None:
        """Make the step that was tried count."""
        self.share, self.begun = self.tried, self.ended

    def _within(self, share: float) -> float:
        """Return a share that has not closed again and is not more than all."""
        return min(max(share, self.share), 1.0)
