"""A record: what the hands did at the bench, as readable data that replays bit for bit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from itertools import pairwise
from typing import Any

from workbook.physics.action import Action
from workbook.physics.border import number
from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Effort, Lung, Recruitment, Stiffening, Tube
from workbook.physics.parts.passage import LimitValve, Passage
from workbook.physics.simulate import start, trace_from
from workbook.physics.solver.stepper import Outlet
from workbook.physics.trace import Trace

FORMAT, VERSION = "tpiece-record", 1
UNITS = "pressure cmH2O, flow L/min, volume mL, time s, resistance of the airway cmH2O/(L/s)"
OUTLETS = ("lung", "capped", "open")
LONGEST_RECORD = 600.0  # s
MOST_ACTIONS = 5000


class RecordError(ValueError):
    """A record that cannot be read or is out of bounds."""


@dataclass(frozen=True, slots=True)
class Record:
    """A circuit as it stood, the lung and the actions; ``duration`` in seconds.

    ``outlet`` is what the circuit ends in at the start: the lung, the cap or the open air.
    """

    circuit: Circuit
    lung: Lung
    duration: float
    actions: tuple[Action, ...] = ()
    effort: Effort | None = None
    outlet: Outlet = "lung"

    def __post_init__(self) -> None:
        object.__setattr__(self, "duration", _number(self.duration))
        if self.outlet not in OUTLETS:
            raise RecordError(f"{self.outlet!r} is no outlet; these are: {', '.join(OUTLETS)}.")
        object.__setattr__(self, "actions", tuple(self.actions))
        if len(self.actions) > MOST_ACTIONS:
            raise RecordError(
                f"A record holds at most {MOST_ACTIONS} actions, not {len(self.actions)}."
            )
        for earlier, later in pairwise(self.actions):
            if later.time < earlier.time:
                raise RecordError(f"The action at {later.time:g} s comes after a later one.")
        if self.actions and self.actions[-1].time > self.duration:
            raise RecordError(f"An action lies after the record's end at {self.duration:g} s.")

    def replay(self) -> Trace:
        """Return the trace; the same record gives the same bits every time."""
        begin = start(self.circuit, self.lung, outlet=self.outlet)
        return trace_from(begin, self.lung, self.actions, self.duration, effort=self.effort)

    def to_data(self) -> dict[str, Any]:
        """Return the record as data for JSON."""
        actions = [
            {name: value for name, value in asdict(action).items() if _said(name, value)}
            for action in self.actions
        ]
        return {
            "format": FORMAT,
            "version": VERSION,
            "units": UNITS,
            "duration": self.duration,
            "circuit": asdict(self.circuit),
            "lung": asdict(self.lung),
            "outlet": self.outlet,
            "effort": None if self.effort is None else asdict(self.effort),
            "actions": actions,
        }

    @classmethod
    def from_data(cls, data: object) -> Record:
        """Return the record that data from JSON describes.

        Raises RecordError with one sentence that says what is wrong and where.
        """
        table = _table(data, "the whole")
        if table.get("format") != FORMAT:
            raise RecordError("This is no record of the bench: its format says otherwise.")
        if table.get("version") != VERSION:
            raise RecordError(
                f"The record is of version {table.get('version')!r}; version {VERSION} is read."
            )
        _only(table, "the record", ("format", "version", "units", *_names(cls)))
        effort = table.get("effort")
        return cls(
            circuit=_part(Circuit, table.get("circuit"), "circuit"),
            lung=_part(Lung, table.get("lung"), "lung"),
            duration=_number(table.get("duration")),
            actions=_actions(table.get("actions", [])),
            effort=None if effort is None else _part(Effort, effort, "effort"),
            outlet=table.get("outlet", "lung"),
        )


def _said(name: str, value: object) -> bool:
    """Return whether an action's field is worth writing: not when it has its default."""
    return value is not None and not (name == "over" and value == 0)


def _number(value: object) -> float:
    try:
        return number(value, "s", "A record's duration", most=LONGEST_RECORD)
    except ValueError as error:
        raise RecordError(str(error)) from None


def _names(kind: type) -> tuple[str, ...]:
    return tuple(each.name for each in fields(kind))


def _table(data: object, where: str) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise RecordError(f"In a record, {where} is a table of names and values.")
    return data


def _only(table: Mapping[str, Any], where: str, names: Sequence[str]) -> None:
    strange = [str(name) for name in table if name not in names]
    if strange:
        raise RecordError(f"In {where} {strange[0]!r} is not known.")


_NESTED: dict[str, tuple[type, ...]] = {
    "circuit.pip_valve": (LimitValve,),
    "circuit.relief_valve": (LimitValve,),
    "circuit.aperture": (Passage,),
    "circuit.limb": (Passage,),
    "circuit.leak": (LimitValve, Passage),
    "circuit.crack": (Passage,),
    "lung.tube": (Tube,),
    "lung.stiffening": (Stiffening,),
    "lung.recruitment": (Recruitment,),
}


def _part(kind: type, data: object, where: str) -> Any:
    """Return a part of the record made from its table."""
    table = _table(data, where)
    _only(table, where, _names(kind))
    made: dict[str, Any] = {}
    for name, value in table.items():
        place = f"{where}.{name}"
        kinds = _NESTED.get(place)
        if kinds and value is not None:
            # Only a valve, never a passage, says where it opens.
            at_hand = (
                kinds[0] if len(kinds) == 1 or "opens_at" in _table(value, place) else kinds[1]
            )
            value = _part(at_hand, value, place)
        made[name] = value
    try:
        return kind(**made)
    except (TypeError, ValueError) as error:
        text = str(error) if isinstance(error, ValueError) else "something is missing."
        raise RecordError(f"In {where}: {text}") from None


def _actions(data: object) -> tuple[Action, ...]:
    if not isinstance(data, Sequence) or isinstance(data, str):
        raise RecordError("The record's actions are not a list.")
    if len(data) > MOST_ACTIONS:
        raise RecordError(f"A record holds at most {MOST_ACTIONS} actions, not {len(data)}.")
    return tuple(_part(Action, each, f"action {n}") for n, each in enumerate(data, start=1))
