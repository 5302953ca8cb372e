"""A case replayed: what reached the baby, what the baby did, and when what happened.

A teaching model, no forecast: marks are of hands and decisions, never of the baby's numbers.
Pure and deterministic in the drawn case and the record; plain Python.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace
from functools import lru_cache

from workbook.bench import DIALS, circuit_at
from workbook.physics import Circuit
from workbook.physics import coefficients as c
from workbook.physics.baby import (
    Course,
    Drive,
    State,
    Ways,
    advance,
    airway,
    born,
    inflated,
    inflations,
    k,
    moves_until,
    ways_of,
)
from workbook.physics.parts.circuit import leak_of
from workbook.rules import RuleBook
from workbook.scenario.acts import seconds
from workbook.scenario.case import Case
from workbook.scenario.changes import DIALLED, Change, changes
from workbook.scenario.demands import Demands, demands
from workbook.scenario.record import Played

INSTANT = 1e-6  # s
PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Inflation:
    """One inflation: from when to when (s), what it came to at the T and in the lung (cmH2O).

    ``volume`` is for each kg (mL); ``chest`` still, little or moves.
    """

    start: float
    end: float
    top: float
    pip: float
    volume: float
    chest: str

    @property
    def length(self) -> float:
        """Return how long the hole was covered (s)."""
        return self.end - self.start


@dataclass(frozen=True)
class Replay:
    """How a case went: the baby's course, each inflation, and when the bag was in use (s)."""

    case: Case
    played: Played
    demands: Demands
    course: Course
    inflations: tuple[Inflation, ...]
    bagged: tuple[tuple[float, float], ...]
    airway_open: float | None
    sealed: float | None

    @property
    def rest(self) -> float:
        """Return the PEEP (cmH2O) that the T-piece was set to, behind a mask that seals."""
        return rest_of(self.case.positions)


def rest_of(positions: Mapping[str, int]) -> float:
    """Return the PEEP (cmH2O) of a T-piece with its controls so, behind a mask that seals."""
    return _ways(tuple(positions[name] for name in DIALS), None, True).rest


@lru_cache(maxsize=2048)
def _ways(positions: tuple[int, ...], leak: float | None, gas: bool) -> Ways:
    circuit: Circuit = circuit_at(dict(zip(DIALS, positions, strict=True)))
    if leak is not None:
        circuit = replace(circuit, leak=leak_of(leak))
    return ways_of(circuit if gas else circuit.at(0.0))


class Run:
    """A case on its way: how things stand now, and all that was met so far."""

    def __init__(self, case: Case, asked: Demands, book: RuleBook) -> None:
        self.case, self.nature, self.kind = case, case.hidden.nature, case.hidden.kind
        self.state = born(self.nature)
        self.states = [self.state]
        self.at = dict(case.positions)
        self.leak, self.shut = case.hidden.leak, bool(self.kind.clears)
        self.airway_open: float | None = None if self.shut else 0.0
        self.sealed: float | None = 0.0 if self.leak is None else None
        self.joined, self.held, self.bag, self.gas = False, False, False, True
        self.pressed, self.oxygen = False, case.oxygen / PERCENT
        self.pressure, self.moves = 0.0, -1.0
        self.since: tuple[float, float, float] | None = None  # a pass on its way: how it began
        self.inflation: tuple[float, float] | None = None  # when it began, pressure in the lung
        self.found: list[Inflation] = []
        self.bagged: list[tuple[float, float]] = []
        self.resists = airway(c.AIRWAY.value)
        self.still, self.well = book["chest.still"].value, book["volume.window"].band[0]
        self.bag_drive = self._by_bag(asked, book)
        self._ready()

    def _by_bag(self, asked: Demands, book: RuleBook) -> Drive:
        """Return what a bag with air gives: the edition's pressure, rate and time, no PEEP."""
        pip = asked.number("pip") or book["pip.example"].value
        rate, time = asked.band("rate"), asked.number("inflation-time")
        slow = rate[0] if rate else book["count.rate"].band[0]
        return inflations(pip, 0.0, slow, time or book["inflation-time.usual"].value, k("air"))

    def _ready(self) -> None:
        self.ways = _ways(tuple(self.at[name] for name in DIALS), self.leak, self.gas)

    @property
    def reaches(self) -> bool:
        """Say whether gas of the T-piece reaches the lung."""
        return self.joined and not self.shut and not self.bag

    @property
    def breathed(self) -> float:
        """Return the share of oxygen at the baby: air where no T-piece is on the face."""
        return self.oxygen if self.joined and self.gas and not self.bag else k("air")

    def go(self, until: float) -> None:
        """Let time pass until then (s), nothing being done meanwhile."""
        while until - self.state.time > INSTANT:
            end = until
            if self.state.time < self.moves < until - INSTANT:
                end = self.moves
            self._pass(end)
            self.since = None

    def settle(self, until: float) -> None:
        """Let as much of the time until then (s) pass as goes the same way whatever comes next."""
        while not self.held and until - self.state.time > INSTANT:
            ends = self.state.time < self.moves <= until
            self._pass(self.moves if ends else until, whole=not ends)
            if not ends:
                break
            self.since = None

    def _pass(self, end: float, *, whole: bool = False) -> None:
        before = self.state
        patent = 0.0 if self.shut else 1.0
        lung = self.case.kg * self.nature.taken(before.aerated)
        if self.since is None:
            self.since = before.time, self.pressure, lung
        began, pressure, lung = self.since
        moving = (self.held and self.reaches) or began < self.moves - INSTANT
        if self.bag and self.joined and self.leak is None and not self.shut:
            drive = replace(self.bag_drive, compressions=self.pressed)
            self.pressure = 0.0
        elif self.reaches:
            passes = self.ways.filled if self.held else self.ways.emptied
            self.pressure = passes(pressure, lung, self.resists, end - began)
            drive = Drive(
                self.pressure if self.held else 0.0, self.ways.rest, float(self.held),
                oxygen=self.breathed, compressions=self.pressed, moving=moving,
            )  # fmt: skip
        else:
            self.pressure = 0.0
            drive = Drive(
                oxygen=self.breathed, patent=patent, compressions=self.pressed, moving=moving
            )
        keep = self.states.append
        self.state = advance(self.nature, before, drive, end, keep, whole=whole)
        if drive.rate and self.state.time > before.time:
            self.bagged.append((before.time, self.state.time))

    def do(self, change: Change) -> None:
        """Let one change happen now."""
        kind, self.since = change.kind, None
        if kind == "occlude":
            self.held = True
            self.inflation = (self.state.time, self.pressure) if self.joined else None
        elif kind == "release":
            self._let_go()
            self.held = False
        elif kind in DIALLED:
            self.at[kind] = change.what
        elif kind == "oxygen-there":
            self.oxygen = change.what / PERCENT
        elif kind == "gas-fails":
            self.gas = False
        elif kind in ("compress", "compress-stop"):
            self.pressed = kind == "compress"
        else:
            self._at_the_face(kind, change)
        self._ready()

    def _at_the_face(self, kind: str, change: Change) -> None:
        if kind in ("away", "open", "bag"):
            self._let_go()
        if kind in ("away", "open"):
            self.joined = False
        elif kind in ("connect", "bag", "t-piece", "airway"):
            self.joined = True
            self.bag = kind == "bag" or (self.bag and kind == "airway")
        act = change.what if kind == "airway" else kind
        # A head that was straight lies wrong again once a mask presses on it.
        if act in self.kind.clears and self.shut and self.joined:
            self.shut, self.airway_open = False, self.state.time
        if (act in self.kind.seals or kind == "airway") and self.leak is not None:
            self.leak, self.sealed = None, self.state.time

    def apart(self) -> Run:
        """Return a run that stands as this one does, and may go on without it."""
        other = copy(self)
        other.states, other.at = list(self.states), dict(self.at)
        other.found, other.bagged = list(self.found), list(self.bagged)
        return other

    def replayed(self, played: Played, asked: Demands) -> Replay:
        """Return how it went up to now, by what was done."""
        return Replay(
            self.case, played, asked, Course(tuple(self.states)), tuple(self.found),
            tuple(_joined(self.bagged)), self.airway_open, self.sealed,
        )  # fmt: skip

    def _let_go(self) -> None:
        """End an inflation that is under way, and count what it brought."""
        if self.inflation is None:
            return
        start, first = self.inflation
        self.inflation = None
        lung = self.case.kg * self.nature.taken(self.state.aerated)
        brought = max(0.0, lung * (self.pressure - first) / self.case.kg) if self.reaches else 0.0
        brought = round(brought, 3)
        chest = "moves" if brought >= self.well else "little"
        chest = "still" if brought < self.still else chest
        if self.reaches and self.pressure > self.nature.opens:
            self.moves = moves_until(self.state.time)
        self.state = inflated(self.nature, self.state, brought, self.breathed)
        top = self.ways.top if self.joined and not self.bag else 0.0
        self.found.append(
            Inflation(
                start, self.state.time, round(top, 3), round(self.pressure, 3), brought, chest
            )
        )


def replay(case: Case, played: Played, book: RuleBook) -> Replay:
    """Return how a case went by what was done; as far as it went, where it broke off."""
    asked = demands(book, case.weeks, case.kg)
    run = Run(case, asked, book)
    for change in changes(played, seconds(book), case.hidden.fails):
        if change.time > played.duration:
            break
        run.go(change.time)
        run.do(change)
    run.go(played.duration)
    return run.replayed(played, asked)


def _joined(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    found = list[tuple[float, float]]()
    for start, end in spans:
        if found and start - found[-1][1] < INSTANT:
            found[-1] = (found[-1][0], end)
        else:
            found.append((start, end))
    return found


def timed(made: Replay, book: RuleBook) -> Mapping[str, float]:
    """Return when what first happened (s); what never did is not there."""
    found = dict[str, float]()
    for act in ("connect", "call", "bag", "compress", "confirm", "cpap", "oximeter", "leads"):
        times = [one.time for one in made.played.done if one.act == act]
        if times:
            found[act] = times[0]
    fast = made.demands.number("ventilate")
    marks = {
        "inflation": [each.start for each in made.inflations],
        "effective": [e.start for e in made.inflations if e.chest == "moves"]
        + [start for start, _ in made.bagged],
        "gas-fails": [made.case.hidden.fails or 0.0] if made.case.hidden.fails else [],
        "breathes": [s.time for s in made.course.states if s.effort > 0],
        "stabilised": _stable(made, book, fast),
    }
    found.update({name: min(times) for name, times in marks.items() if times})
    return {name: time for name, time in found.items() if time <= made.played.duration}


def _stable(made: Replay, book: RuleBook, fast: float | None) -> list[float]:
    """Return when the baby began to be stable, which has to last for the time of the rule."""
    if fast is None:
        return []
    lasts, since = book["scenario.stable"].value, None
    for state in made.course.states:
        if not _good(made, state, fast):
            since = None
        elif since is None:
            since = state.time
        if since is not None and state.time - since >= lasts:
            return [since]
    return []


def _good(made: Replay, state: State, fast: float) -> bool:
    target = made.demands.target(state.time)
    saturated = target is None or round(PERCENT * state.saturation, 2) >= target[0]
    supported = state.effort > 0 or state.stretch > k("breath.strong")
    return round(state.heart, 2) >= fast and saturated and supported
