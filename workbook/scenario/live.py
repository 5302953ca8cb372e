"""A case on its way, a step at a time: from what was done so far to what a team sees now.

It goes the way a replay goes, change by change, so that what was seen is what is marked: at any
time it equals, to the last digit, the replay of what was done up to then (`tests/test_live.py`).
Nothing is done again from birth: what lies behind the last change is over.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from operator import attrgetter
from typing import Any

from workbook.bench import DIALS, circuit_at, laws
from workbook.bench.laws import HIGH, LOW
from workbook.core.language import _
from workbook.physics import Circuit, Lung
from workbook.physics import coefficients as c
from workbook.physics.parts.circuit import leak_of
from workbook.rules import RuleBook
from workbook.scenario.acts import seconds
from workbook.scenario.case import Case
from workbook.scenario.changes import Change, Orders, effects
from workbook.scenario.demands import demands
from workbook.scenario.record import Before, Done, Played, ScenarioError, read_next
from workbook.scenario.replay import Replay, Run
from workbook.scenario.seen import seen

SHUT = ([LOW, HIGH], [0.0, 0.0])  # no gas passes, whatever the pressure
SOFTER = 1.02  # a lung whose compliance grew by less is told as it was


class Live:
    """A case while it is played. ``time`` (s) is how far it went; what was done is kept."""

    def __init__(self, case: Case, book: RuleBook) -> None:
        self.case, self.book, self.time = case, book, 0.0
        self.asked, self.limit = demands(book, case.weeks, case.kg), book["scenario.limit"].value
        self.done: list[Done] = []
        self._run = Run(case, self.asked, book)
        takes = seconds(book)
        self._before, self._orders = Before(takes), Orders(takes)
        self._waiting: list[Change] = []
        fails = case.hidden.fails
        self._fails = None if fails is None else Change(fails, "gas-fails")

    def do(self, rows: Iterable[object]) -> None:
        """Take in acts as a page sends them (`Played.to_data`), none from before ``time``.

        ScenarioError with one sentence for what cannot have happened.
        """
        for row in rows:
            one = read_next(row, self._before, self.limit)
            if one.time < self.time:
                says = _("act {n} comes too late: the case has gone on since.")
                raise ScenarioError(says.format(n=len(self.done) + 1))
            self.done.append(one)
            for change in effects(self._orders.of(one)):
                insort(self._waiting, change, key=attrgetter("time"))

    def go(self, time: float) -> None:
        """Let the case go on to a time (s), by all that was taken in."""
        self.time = min(max(time, self.time), self.limit)
        # What changes at this very moment waits: another act of the same moment may still come.
        self._follow(self._run, self.time, strictly=True)
        if not (self._waiting and self._waiting[0].time <= self.time):
            self._run.settle(self.time)

    def _follow(self, run: Run, until: float, *, strictly: bool) -> None:
        waiting, fails = self._waiting, self._fails
        if not strictly:
            waiting = list(waiting)
        while True:
            change = waiting[0] if waiting else None
            if fails is not None and (change is None or fails.time < change.time):
                change = fails
            if change is None or change.time > until or (strictly and change.time == until):
                break
            run.go(change.time)
            run.do(change)
            if change is fails:
                fails = None
            else:
                waiting.pop(0)
        if strictly:
            self._fails = fails

    def played(self, *, midway: bool = True) -> Played:
        """Return the record of what was done up to now."""
        return Played(self.case.id, self.time, tuple(self.done), midway)

    def now(self) -> Now:
        """Return how things stand now."""
        run = self._run.apart()
        self._follow(run, self.time, strictly=False)
        run.go(self.time)
        return Now(run, run.replayed(self.played(), self.asked), self.book)


class Now:
    """How a case stands at a moment: its replay up to then, what is seen, what a bench plays."""

    def __init__(self, run: Run, made: Replay, book: RuleBook) -> None:
        self.run, self.made, self._book = run, made, book

    def seen(self) -> dict[str, Any]:
        """Return what a team sees and hears (`workbook.scenario.seen`)."""
        return seen(self.made, self.made.played.duration, self._book)

    def stand(self, last: float = 0.0) -> dict[str, Any]:
        """Return what a page needs to play the bench: what is on the face, and the laws there.

        ``last`` is the compliance (mL/cmH2O) it was told before: a lung is told anew when it has
        become another one. Off the face nothing of the baby is told.
        """
        run = self.run
        joined = run.joined and not run.bag
        told: dict[str, Any] = {"outlet": "lung" if joined else "open", "gas": run.gas}
        told |= {"bag": run.bag and run.joined, "pressed": run.pressed}
        if not joined:
            return told
        soft = run.case.kg * run.nature.taken(run.state.aerated)
        soft = last if last and last <= soft < last * SOFTER else soft
        key = f"{soft:.4g} {run.leak} {run.shut}"
        return {**told, "soft": soft, "key": key, "tables": _behind(soft, run.leak, run.shut)}


@lru_cache(maxsize=256)
def _behind(soft: float, leak: float | None, shut: bool) -> Mapping[str, Any]:
    """Return the tables of what lies behind the T: a leak, the airway, the lung."""
    circuit: Circuit = circuit_at(dict.fromkeys(DIALS, 0))
    if leak is not None:
        circuit = replace(circuit, leak=leak_of(leak))
    made = laws(circuit, "lung", Lung(soft, c.AIRWAY.value))
    found = {name: made[name] for name in ("outlet", "patient", "recoil")}
    return {**found, "patient": SHUT} if shut else found
