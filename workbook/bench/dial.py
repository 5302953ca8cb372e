"""The bench's controls: where each can stand, and what the model makes of it.

Positions are whole clicks, as a hand counts them; only the gauge says what pressure they make.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from workbook.physics import coefficients as c


@dataclass(frozen=True, slots=True)
class Dial:
    """A control with positions from 0 to ``clicks``, each ``step`` further than the one before.

    With ``ends_open`` the last position takes the control out of the way: it limits nothing.
    """

    clicks: int
    first: float
    step: float
    ends_open: bool = False

    def value(self, position: int) -> float | None:
        """Return what the model has at a position, in the unit an action gives it in."""
        if self.ends_open and position == self.clicks:
            return None
        return self.first + position * self.step

    def nearest(self, value: float | None) -> int:
        """Return the position whose value comes nearest; None is fully open."""
        if value is None:
            return self.clicks
        return self._within(round((value - self.first) / self.step))

    def _within(self, position: int) -> int:
        return min(max(position, 0), self.clicks - self.ends_open)


@dataclass(frozen=True, slots=True)
class Aperture(Dial):
    """A control whose every click multiplies: an equal-percentage characteristic."""

    def value(self, position: int) -> float:
        """Return the aperture's k at a position."""
        return float(self.first * self.step**position)

    def nearest(self, value: float | None) -> int:
        """Return the position whose k comes nearest."""
        share = max(value or 0.0, self.first) / self.first
        return self._within(round(math.log(share) / math.log(self.step)))


@dataclass(frozen=True, slots=True)
class Seal(Dial):
    """How well the mask seals: position 0 is sealed, each further one leaks more."""

    def value(self, position: int) -> float | None:
        """Return the leak's k at a position; None when it seals."""
        return None if position == 0 else c.SEALS[position - 1].value

    def nearest(self, value: float | None) -> int:
        """Return the position of a leak."""
        found = [n for n in range(self.clicks + 1) if self.value(n) == value]
        return found[0] if found else 0


def _dial(lowest: c.Coefficient, *, ends_open: bool = False) -> Dial:
    click = c.PRESSURE_CLICK.value
    clicks = round((c.DIAL_TOP.value - lowest.value) / click)
    return Dial(clicks, lowest.value, click, ends_open)


DIALS: Mapping[str, Dial] = {
    "flow": Dial(round(c.FLOW_TOP.value / c.FLOW_CLICK.value), 0.0, c.FLOW_CLICK.value),
    "pip": _dial(c.PIP_LOWEST, ends_open=True),
    "relief": _dial(c.RELIEF_LOWEST),
    "peep": Aperture(int(c.APERTURE_CLICKS.value), c.APERTURE_WIDE.value, c.APERTURE_CLICK.value),
    "leak": Seal(len(c.SEALS), 0.0, 1.0),
}
