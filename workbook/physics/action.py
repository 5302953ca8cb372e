"""What hands do to a T-piece: occlude, release, turn a control, take it off the baby."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

from workbook.physics.border import MOST, number
from workbook.physics.parts.circuit import Circuit, leak_of, pip_valve, relief_valve
from workbook.physics.parts.passage import LimitValve, Passage

Kind = Literal[
    "occlude", "release", "connect", "open", "cap", "flow", "pip", "relief", "peep", "leak"
]
KINDS: tuple[str, ...] = get_args(Kind)
# What each control's position is given in; None stands for fully open (PIP), none (relief, leak).
TURNED = {
    "flow": "L/min",
    "pip": "cmH2O",
    "relief": "cmH2O",
    "peep": "cmH2O/(L/min)^2",
    "leak": "cmH2O/(L/min)^2",
}
MAY_BE_NONE = ("pip", "relief", "leak")
LONGEST = 3600.0  # s


@dataclass(frozen=True, slots=True)
class Action:
    """One action at a ``time`` (s); a turn may take ``over`` seconds.

    ``value`` is where the control ends: the flow (L/min), the pressure at which the PIP or relief
    valve opens (cmH2O), the aperture's or the leak's k (cmH2O/(L/min)^2). ``connect`` puts the
    circuit on the lung, ``open`` leaves its outlet in the air, ``cap`` closes it.
    """

    time: float
    kind: Kind
    value: float | None = None
    over: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.kind!r} is no action; these are: {', '.join(KINDS)}.")
        for name in ("time", "over"):
            checked = number(getattr(self, name), "s", f"An action's {name}", most=LONGEST)
            object.__setattr__(self, name, checked)
        self._check_value()

    def _check_value(self) -> None:
        unit = TURNED.get(self.kind)
        if unit is None and (self.value is not None or self.over):
            raise ValueError(f"The action {self.kind!r} takes no value and no time.")
        if self.value is None and unit and self.kind not in MAY_BE_NONE:
            raise ValueError(f"The action {self.kind!r} needs a value in {unit}.")
        if self.over and (self.value is None or self.kind == "leak"):
            raise ValueError(f"The action {self.kind!r} to {self.value} happens at once.")
        if unit and self.value is not None:
            least = -MOST if self.kind in ("pip", "relief") else 0.0
            checked = number(self.value, unit, f"The position of {self.kind}", least=least)
            object.__setattr__(self, "value", checked)

    @property
    def end(self) -> float:
        """Return when the action is over (s)."""
        return self.time + self.over


def position(circuit: Circuit, kind: str) -> float | None:
    """Return where a control stands, in the unit an action gives it in."""
    if kind == "flow":
        return circuit.flow
    if kind == "peep":
        return circuit.aperture.quadratic
    valve = circuit.pip_valve if kind == "pip" else circuit.relief_valve
    return None if valve is None else valve.opens_at


def turned(circuit: Circuit, kind: str, value: float | None) -> Circuit:
    """Return the circuit with one control at a position; the others stay."""
    if kind == "pip":
        return replace(circuit, pip_valve=_opening(circuit.pip_valve or pip_valve(), value))
    if kind == "relief":
        return replace(circuit, relief_valve=_opening(circuit.relief_valve or RELIEF, value))
    if kind == "leak":
        return replace(circuit, leak=None if value is None else leak_of(value))
    if kind == "flow":
        return replace(circuit, flow=value or 0.0)
    return replace(circuit, aperture=Passage(quadratic=value or 0.0))


RELIEF = relief_valve(0.0)


def _opening(valve: LimitValve, opens_at: float | None) -> LimitValve | None:
    return None if opens_at is None else replace(valve, opens_at=opens_at)


@dataclass(frozen=True, slots=True)
class Ramp:
    """A control on its way from one position to another."""

    kind: str
    start: float
    end: float
    first: float
    last: float

    def at(self, time: float) -> float:
        """Return the position at a time (s)."""
        share = (time - self.start) / (self.end - self.start)
        return self.first + (self.last - self.first) * min(max(share, 0.0), 1.0)
