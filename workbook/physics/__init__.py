"""The model of a T-piece circuit: for teaching what it does, never for choosing settings."""

from workbook.physics.circuit import Circuit, Outlet, pip_valve, relief_valve
from workbook.physics.passage import LimitValve, Passage
from workbook.physics.steady import (
    aperture_for,
    peep,
    set_flow,
    set_peep,
    set_pip,
    set_relief,
    steady_reading,
)

__all__ = [
    "Circuit",
    "LimitValve",
    "Outlet",
    "Passage",
    "aperture_for",
    "peep",
    "pip_valve",
    "relief_valve",
    "set_flow",
    "set_peep",
    "set_pip",
    "set_relief",
    "steady_reading",
]
