"""The baby behind the bench's outlet: a lung by weight, as the model knows it."""

from __future__ import annotations

from functools import lru_cache

from workbook.physics import Lung, Tube
from workbook.physics import coefficients as c


def healthy(weight: float, tube: float | None = None) -> Lung:
    """Return the lung of a healthy newborn of a weight (kg), by a tube of a diameter (mm)."""
    compliance = c.COMPLIANCE_PER_KG.value * weight + c.COMPLIANCE_BASE.value
    return Lung(round(compliance, 3), c.AIRWAY.value, None if tube is None else Tube(tube))


@lru_cache(maxsize=1024)  # of a class, many are drawn with the same
def taking(volume: float, weight: float, swing: float) -> Lung:
    """Return the lung that takes up a volume (mL/kg) at a swing of pressure (cmH2O)."""
    return Lung(round(volume * weight / swing, 3), c.AIRWAY.value)
