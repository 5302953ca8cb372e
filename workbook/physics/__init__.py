"""The model of a T-piece circuit: for teaching what it does, never for choosing settings."""

from workbook.physics.action import Action
from workbook.physics.breaths import (
    Breath,
    breaths,
    settled_auto_peep,
    settled_breath,
    simulate_many,
)
from workbook.physics.closed import (
    aperture_for,
    emptying_time_constant,
    peep,
    periodic_breath,
    pip,
    refill_time_constant,
)
from workbook.physics.parts.circuit import Circuit, Outlet, leak_of, pip_valve, relief_valve
from workbook.physics.parts.lung import Effort, Lung, Recruitment, Stiffening, Tube
from workbook.physics.parts.passage import LimitValve, Passage
from workbook.physics.record import Record, RecordError
from workbook.physics.simulate import advance, simulate, start, trace_from
from workbook.physics.solver.stepper import Gas, State
from workbook.physics.steady import (
    set_flow,
    set_peep,
    set_pip,
    set_relief,
    steady_reading,
    steady_state,
)
from workbook.physics.trace import Trace

__all__ = [
    "Action",
    "Breath",
    "Circuit",
    "Effort",
    "Gas",
    "LimitValve",
    "Lung",
    "Outlet",
    "Passage",
    "Record",
    "RecordError",
    "Recruitment",
    "State",
    "Stiffening",
    "Trace",
    "Tube",
    "advance",
    "aperture_for",
    "breaths",
    "emptying_time_constant",
    "leak_of",
    "peep",
    "periodic_breath",
    "pip",
    "pip_valve",
    "refill_time_constant",
    "relief_valve",
    "set_flow",
    "set_peep",
    "set_pip",
    "set_relief",
    "settled_auto_peep",
    "settled_breath",
    "simulate",
    "simulate_many",
    "start",
    "steady_reading",
    "steady_state",
    "trace_from",
]
