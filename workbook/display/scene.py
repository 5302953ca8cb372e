"""What is done to a T-piece in a lesson, and what the model's gauge shows after each step."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from workbook.core.quantities import plain
from workbook.display.cards import Reading, shown
from workbook.physics import (
    Circuit,
    Outlet,
    Passage,
    pip_valve,
    set_flow,
    set_peep,
    set_pip,
    set_relief,
    steady_reading,
)
from workbook.rules import RuleBook

SHUT = Passage(quadratic=1e6)  # an aperture turned as far as it goes

Numbers = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Device:
    """A T-piece as it stands between two steps."""

    circuit: Circuit
    outlet: Outlet = "capped"

    def read(self) -> tuple[float, float]:
        """Return what the gauge shows with the aperture occluded and released, in cmH2O."""
        held, released = (
            steady_reading(self.circuit, held=held, outlet=self.outlet) for held in (True, False)
        )
        return held, released

    def do(self, step: str, numbers: Numbers) -> tuple[Device, str]:
        """Return the device after a step, and the id of what is to be said about it."""
        if step == "uncap":
            return replace(self, outlet="open"), step
        circuit, said = _DO[step](self.circuit, numbers)
        return replace(self, circuit=circuit), said or step


def left_by_last_user(flow: float, relief: float, relief_flow: float) -> Device:
    """Return a device with its PIP control turned right down and its aperture wide open.

    Its relief was set at the start of the shift, at a flow of its own.
    """
    return Device(with_relief(Circuit(relief_flow, pip_valve()), relief).at(flow))


def with_relief(circuit: Circuit, reading: float) -> Circuit:
    """Return the circuit with a relief that was set earlier; the PIP control stays."""
    return replace(set_relief(circuit, reading), pip_valve=circuit.pip_valve)


Done = tuple[Circuit, str]


def _relief(circuit: Circuit, numbers: Numbers) -> Done:
    # A PIP that somebody has set holds the gauge below the limit, so the limit is never seen.
    if circuit.pip_valve not in (None, pip_valve()):
        return circuit, "relief-unseen"
    return set_relief(circuit, numbers["relief"]), ""


def _peep(circuit: Circuit, numbers: Numbers) -> Done:
    try:
        return set_peep(circuit, numbers["peep"]), ""
    except ValueError:
        return replace(circuit, aperture=SHUT), "peep-unreached"


_DO: dict[str, Callable[[Circuit, Numbers], Done]] = {
    "leave-relief": lambda circuit, n: (with_relief(circuit, n["relief_left"]), ""),
    "set-flow": lambda circuit, n: (set_flow(circuit, n["flow"]), ""),
    "set-relief": _relief,
    "set-pip": lambda circuit, n: (set_pip(circuit, n["pip"]), ""),
    "set-peep": _peep,
    "raise-flow": lambda circuit, n: (set_flow(circuit, n["flow_high"]), ""),
    "lower-flow": lambda circuit, n: (set_flow(circuit, n["flow_left"]), ""),
    "nudge-flow": lambda circuit, n: (set_flow(circuit, n["flow_nudged"]), ""),
    "far-pip": lambda circuit, n: (set_pip(circuit, n["pip_far"]), ""),
    "shut-pip": lambda circuit, n: (replace(circuit, pip_valve=pip_valve()), ""),
    "open-pip": lambda circuit, n: (replace(circuit, pip_valve=None), ""),
    "move-relief": lambda circuit, n: (with_relief(circuit, n["relief_left"]), ""),
    "shut-aperture": lambda circuit, n: (replace(circuit, aperture=SHUT), ""),
    "fail-gas": lambda circuit, n: (set_flow(circuit, 0.0), ""),
}


class Scenes:
    """A lesson's numbers, what it says of each step, and the device they are played on."""

    def __init__(self, table: Mapping[str, Any], does: Mapping[str, str], book: RuleBook) -> None:
        self.numbers = {name: _number(book, **where) for name, where in table.items()}
        self.units = {name: book.all(where["rule"])[0].unit or "" for name, where in table.items()}
        self._does, self._book = does, book

    def fill(
        self, text: str, played: Sequence[Reading] = (), more: Mapping[str, str] | None = None
    ) -> str:
        """Return a text with the numbers of the rules and of a played scene filled in."""
        words: dict[str, Any] = {
            n: plain(value, self.units[n]) for n, value in self.numbers.items()
        }
        words |= more or {}
        if played:
            last = played[-1]
            words |= {"held": shown(last.held), "released": shown(last.released)}
            words["at"] = {each.step: shown(each.held) for each in played}
        return text.format_map(words)

    def play(self, steps: Sequence[str], *, as_left: bool = False) -> list[Reading]:
        """Return what the gauge shows after each step, from a device as the last user left it.

        ``as_left``: the flow too stands where the last user left it.
        """
        flow, wanted = self.numbers["flow_left" if as_left else "flow"], self.numbers["flow"]
        device = left_by_last_user(flow, self.numbers["relief"], wanted)
        played = []
        for step in steps:
            device, said = device.do(step, self.numbers)
            played.append(Reading(step, self.fill(self._does[said]), *device.read()))
        return played


def _number(book: RuleBook, rule: str, end: str = "", less: str = "", more: str = "") -> float:
    """Return a rule's number, one end of its band, or it with another rule's taken or added."""
    if end == "highest":
        return max(each.band[1] for each in book.all(rule))
    if end:
        return book[rule].band[end == "high"]
    value = book[rule].value
    return value - (book[less].value if less else 0.0) + (book[more].value if more else 0.0)
