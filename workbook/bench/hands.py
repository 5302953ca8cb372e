"""What the hands did at the bench: an answer as data, read with suspicion, played on the model."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

from workbook.bench.dial import DIALS
from workbook.core.language import N_, _, number
from workbook.core.timed import Form
from workbook.physics import Action, Circuit, Lung, Passage, Record, Tube, pip_valve, relief_valve
from workbook.physics.parts.circuit import leak_of
from workbook.physics.solver.stepper import Outlet

FORMAT, VERSION = "tpiece-hands", 1
LONGEST = 600.0  # s
MOST = 2000  # actions; the longest answer still fits a line of the answers file
KINDS = ("occlude", "release", "cap", "open", "connect")
BETWEEN = 1e-4  # s; the page rounds to this


class HandsError(ValueError):
    """A record of the hands that cannot be read; the message says what is wrong, and where."""


@dataclass(frozen=True, slots=True)
class Touch:
    """One thing a hand did at a time (s); ``position`` in clicks for a turned control."""

    time: float
    kind: str
    position: int | None = None


@dataclass(frozen=True, slots=True)
class Hands:
    """Everything the hands did, in order, and how long the bench ran (s)."""

    duration: float
    touches: tuple[Touch, ...]

    def to_data(self) -> dict[str, Any]:
        """Return the hands as data for JSON, as a bench page sends them."""
        rows = [
            [t.time, t.kind] if t.position is None else [t.time, t.kind, t.position]
            for t in self.touches
        ]
        head = {"format": FORMAT, "version": VERSION, "duration": self.duration}
        return {**head, "actions": rows}


@dataclass(frozen=True, slots=True)
class Bench:
    """How a bench stands before it is touched, and the baby for its outlet.

    ``positions`` in clicks for every control of ``DIALS``; ``weight`` in kg.
    """

    positions: Mapping[str, int]
    lung: Lung
    weight: float
    outlet: Outlet = "open"

    @property
    def circuit(self) -> Circuit:
        """Return the circuit with its controls where they stand at the start."""
        return circuit_at(self.positions)

    def record(self, hands: Hands) -> Record:
        """Return the record that replays the hands on the model."""
        return Record(
            self.circuit,
            self.lung,
            hands.duration,
            tuple(map(action_of, hands.touches)),
            outlet=self.outlet,
        )

    def to_data(self) -> dict[str, Any]:
        """Return the bench as data for a page."""
        tube = self.lung.tube
        return {
            "positions": dict(self.positions),
            "outlet": self.outlet,
            "weight": self.weight,
            "compliance": self.lung.compliance,
            "airway": self.lung.airway,
            "tube": None if tube is None else tube.diameter,
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Bench:
        """Return the bench that ``to_data`` wrote."""
        tube = None if data["tube"] is None else Tube(data["tube"])
        lung = Lung(data["compliance"], data["airway"], tube)
        return cls(data["positions"], lung, data["weight"], data["outlet"])


def circuit_at(positions: Mapping[str, int]) -> Circuit:
    """Return the circuit with its controls at these positions."""
    return _circuit(tuple(positions[name] for name in DIALS))


@lru_cache(maxsize=4096)
def _circuit(positions: tuple[int, ...]) -> Circuit:
    at = {name: DIALS[name].value(n) for name, n in zip(DIALS, positions, strict=True)}
    return Circuit(
        at["flow"] or 0.0,
        None if at["pip"] is None else pip_valve(at["pip"]),
        None if at["relief"] is None else relief_valve(at["relief"]),
        Passage(quadratic=at["peep"] or 0.0),
        leak=None if at["leak"] is None else leak_of(at["leak"]),
    )


def action_of(touch: Touch) -> Action:
    """Return what a touch does to the model."""
    if touch.position is None:
        return Action(touch.time, touch.kind)  # type: ignore[arg-type]  # checked when read
    return Action(touch.time, touch.kind, DIALS[touch.kind].value(touch.position))  # type: ignore[arg-type]


def positions_at(
    start: Mapping[str, int], touches: Sequence[Touch], until: float
) -> dict[str, int]:
    """Return where every control stands at a time (s), what is done at it included."""
    now = dict(start)
    for touch in touches:
        if touch.time <= until and touch.position is not None:
            now[touch.kind] = touch.position
    return now


FORM = Form(
    HandsError,
    FORMAT,
    VERSION,
    rows="actions",
    most=MOST,
    none=N_("this is no record of the bench."),
    no_rows=N_("the record has no list of actions."),
    many=N_("the record holds {count} actions; at most {most} are read."),
    no_row=N_("action {n} is not a time, a control and a position."),
)


def read_hands(data: object) -> Hands:
    """Return the hands an answer describes; HandsError with one sentence when it cannot be read.

    At most 2000 actions in at most 600 s are read, so a replay is bounded.
    """
    record = FORM.opened(data)
    duration = _seconds(record.get("duration"), _("the record's end"))
    rows = FORM.listed(record)
    touches = tuple(_touch(row, n) for n, row in enumerate(rows, start=1))
    for n, (one, two) in enumerate(pairwise(touches), start=2):
        if two.time < one.time:
            raise HandsError(_("action {n} comes before the one it follows.").format(n=n))
    if touches and touches[-1].time > duration + BETWEEN:
        raise HandsError(_("an action lies after the record's end."))
    return Hands(max(duration, touches[-1].time if touches else 0.0), touches)


def _touch(row: object, n: int) -> Touch:
    at, kind, rest = FORM.parted(row, n)
    time = _seconds(at, _("action {n}").format(n=n))
    if kind in KINDS and not rest:
        return Touch(time, kind)
    dial = DIALS.get(kind)
    if dial is None or not rest:
        nothing = _("action {n} is nothing a hand can do at the bench: {kind}.")
        raise HandsError(nothing.format(n=n, kind=repr(kind[:20])))
    position = rest[0]
    if type(position) is not int or not 0 <= position <= dial.clicks:
        beyond = _("action {n} turns {kind} to {position}, where it cannot go.")
        raise HandsError(beyond.format(n=n, kind=kind, position=repr(str(position)[:20])))
    return Touch(time, kind, position)


def _seconds(value: object, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise HandsError(_("{what} has no time in seconds.").format(what=what))
    # A whole number of any size is compared before it becomes a float.
    if not 0 <= value <= LONGEST or not math.isfinite(value):
        raise HandsError(
            _("{what} is at {given} s; the bench runs from 0 to {most} s.").format(
                what=what, given=str(value)[:20], most=number(LONGEST)
            )
        )
    return float(value)
