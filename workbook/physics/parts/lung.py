"""A newborn lung in one compartment, the tube before it and the effort of a breathing baby."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from workbook.physics import coefficients as c
from workbook.physics.border import number, settle
from workbook.physics.parts.passage import flow_through

PASCALS = 98.0665  # one cmH2O


@dataclass(frozen=True, slots=True)
class Tube:
    """A tracheal tube: inner ``diameter`` and ``length`` in mm.

    Its resistance comes from its geometry: laminar flow in the bore and a loss at its ends.
    """

    diameter: float
    length: float = c.TUBE_LENGTH.value

    def __post_init__(self) -> None:
        for name in ("diameter", "length"):
            settle(self, name, "mm", f"A tube's {name}", 0.5)

    @property
    def linear(self) -> float:
        """Return the laminar resistance in cmH2O/(L/s)."""
        bore, length = self.diameter / 1000, self.length / 1000
        return 128 * c.GAS_VISCOSITY.value * length / (math.pi * bore**4) / PASCALS / 1000

    @property
    def quadratic(self) -> float:
        """Return the loss at the ends in cmH2O/(L/s)^2."""
        area = math.pi * (self.diameter / 1000) ** 2 / 4
        return c.TUBE_LOSS.value * c.GAS_DENSITY.value / 2 / area**2 / PASCALS / 1e6


@dataclass(frozen=True, slots=True)
class Stiffening:
    """Recoil that grows faster above a volume: ``factor`` (cmH2O/mL^2) above ``above`` (mL)."""

    factor: float
    above: float

    def __post_init__(self) -> None:
        settle(self, "factor", "cmH2O/mL^2", "The factor of stiffening")
        settle(self, "above", "mL", "The volume where stiffening begins")


@dataclass(frozen=True, slots=True)
class Recruitment:
    """A lung of which only a ``share`` is open at first; the rest opens at a high recoil.

    Above a recoil of ``above`` (cmH2O) what is shut opens with the time constant ``over`` (s),
    more slowly within the first ``OPENING_SPREAD`` cmH2O. It never closes: for teaching only.
    """

    share: float
    above: float
    over: float

    def __post_init__(self) -> None:
        open_share = number(self.share, "", "The open share of a lung", least=0.01, most=1)
        object.__setattr__(self, "share", open_share)
        settle(self, "above", "cmH2O", "The recoil at which a lung opens")
        settle(self, "over", "s", "The time constant of opening", 0.01)

    def speed(self, share: float, recoil: float) -> float:
        """Return how fast the open share grows (1/s) at a recoil pressure (cmH2O)."""
        past = min(max((recoil - self.above) / c.OPENING_SPREAD.value, 0.0), 1.0)
        return past * (1 - share) / self.over


@dataclass(frozen=True, slots=True)
class Lung:
    """``compliance`` in mL/cmH2O, ``airway`` resistance in cmH2O/(L/s), perhaps a tube.

    ``compliance`` is that of the whole lung; with ``recruitment`` its open share of it counts.
    """

    compliance: float
    airway: float
    tube: Tube | None = None
    stiffening: Stiffening | None = None
    recruitment: Recruitment | None = None

    def __post_init__(self) -> None:
        settle(self, "compliance", "mL/cmH2O", "Compliance", 1e-3)
        settle(self, "airway", "cmH2O/(L/s)", "Airway resistance")

    @property
    def linear(self) -> float:
        """Return airway and tube together in cmH2O/(L/s)."""
        return self.airway + (self.tube.linear if self.tube else 0.0)

    @property
    def quadratic(self) -> float:
        """Return the quadratic part of the resistance in cmH2O/(L/s)^2."""
        return self.tube.quadratic if self.tube else 0.0

    @property
    def open_compliance(self) -> float:
        """Return the compliance (mL/cmH2O) of the share that is open."""
        return self.compliance * (self.recruitment.share if self.recruitment else 1.0)

    def opened(self, share: float) -> Lung:
        """Return the lung with another share of it open."""
        if self.recruitment is None:
            return self
        return replace(self, recruitment=replace(self.recruitment, share=share))

    def recoil(self, volume: float) -> float:
        """Return the recoil pressure (cmH2O) at a volume (mL) above relaxation."""
        stiff = self.stiffening
        over = max(0.0, volume - stiff.above) if stiff else 0.0
        return volume / self.open_compliance + (stiff.factor * over * over if stiff else 0.0)

    def volume(self, recoil: float) -> float:
        """Return the volume (mL) above relaxation at a recoil pressure (cmH2O)."""
        stiff, compliance = self.stiffening, self.open_compliance
        if stiff is None or recoil <= stiff.above / compliance:
            return recoil * compliance
        beyond = recoil - stiff.above / compliance
        return stiff.above + flow_through(beyond, 1 / compliance, stiff.factor)


@dataclass(frozen=True, slots=True)
class Effort:
    """Breathing: half-sine pulls of ``amplitude`` (cmH2O) at a ``rate`` (1/min).

    ``duty`` is the share of each breath that the pull lasts.
    """

    amplitude: float
    rate: float
    duty: float

    def __post_init__(self) -> None:
        settle(self, "amplitude", "cmH2O", "An effort's amplitude")
        object.__setattr__(
            self, "rate", number(self.rate, "1/min", "An effort's rate", least=1, most=300)
        )
        object.__setattr__(
            self, "duty", number(self.duty, "", "An effort's duty", least=0.05, most=1)
        )

    @property
    def period(self) -> float:
        """Return the time from one pull to the next in seconds."""
        return 60 / self.rate

    def pull(self, time: float) -> float:
        """Return the muscles' pressure (cmH2O) at a time (s)."""
        phase = time % self.period / (self.duty * self.period)
        return self.amplitude * math.sin(math.pi * phase) if phase < 1 else 0.0

    def edges(self, start: float, end: float) -> list[float]:
        """Return when pulls begin and end strictly between two times (s)."""
        first = math.floor(start / self.period)
        last = math.ceil(end / self.period)
        times = [
            (n + part) * self.period for n in range(first, last + 1) for part in (0, self.duty)
        ]
        return [time for time in times if start < time < end]
