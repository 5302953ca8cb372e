"""What a baby is before anything is done: its lung, its stores, its depth of asphyxia, its breath.

Per kilogram where a volume or a flow is meant. A drawn baby differs from the middle one in few of
these; the rest is the same for all.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook.physics import coefficients as c
from workbook.physics.baby.constants import k
from workbook.physics.parts.lung import Lung


@dataclass(frozen=True, slots=True)
class Nature:
    """A baby as born; times in s after birth. Its cord is clamped early (``clamp``).

    ``depth`` of asphyxia from 0 (none) to 1; ``shunt`` a share; ``vessels`` the time constant (s)
    of the lung's vessels; ``compliance`` mL/cmH2O and ``transfer`` mL/min/mmHg for each kg;
    ``opens`` the pressure (cmH2O) above which the lung opens; ``effort`` (cmH2O) and ``pulls``
    (1/min) of own breathing at full strength, which begins at ``breath`` or, where that is None,
    comes back by the model's rule.
    """

    weight: float
    preterm: bool
    depth: float
    shunt: float
    vessels: float
    returning: float
    transfer: float
    use: float
    frc: float
    compliance: float
    opens: float
    effort: float
    pulls: float
    breath: float | None
    clamp: float

    def lung(self, aerated: float) -> Lung:
        """Return the lung as the bench knows it, at a share that is aerated."""
        return Lung(self.weight * self.taken(aerated), c.AIRWAY.value)

    def taken(self, aerated: float) -> float:
        """Return the compliance for each kg (mL/cmH2O) at a share that is aerated."""
        wet = k("compliance.wet")
        return self.compliance * (wet + (1 - wet) * aerated)

    @property
    def wait(self) -> float:
        """Return how long (s) the heart must have been fast before own breathing comes back."""
        return k("breath.wait") + k("breath.wait-depth") * self.depth


def term(weight: float, *, depth: float = 0.0, breath: float | None = None) -> Nature:
    """Return the middle term baby of a weight (kg), who breathes from ``breath`` (s) or not."""
    return Nature(
        weight, False, depth, k("shunt"), k("vessels"), k("start.returning"), k("transfer"),
        k("use"), k("frc"), k("compliance"), k("open.above"), k("breath.effort"),
        k("breath.rate"), breath, k("clamp"),
    )  # fmt: skip


def healthy(weight: float) -> Nature:
    """Return the middle term baby of a weight (kg) who breathes soon after birth."""
    return term(weight, breath=k("breath.first"))


def preterm(weight: float, *, depth: float = 0.0, breath: float | None = None) -> Nature:
    """Return the middle baby below 32 weeks of a weight (kg)."""
    return Nature(
        weight, True, depth, k("shunt"), k("vessels"), k("start.returning-preterm"),
        k("transfer.preterm"), k("use.preterm"), k("frc.preterm"), k("compliance"),
        k("open.above"), k("breath.effort-preterm"), k("breath.rate-preterm"), breath,
        k("clamp"),
    )  # fmt: skip
