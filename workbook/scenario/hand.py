"""Hands at a case, who know no more than a team: how the chest moves, what the needle shows.

Beats are counted by a helper, an oximeter shows once it is on, and how a baby breathes is seen.
"""

from __future__ import annotations

from typing import Any

from workbook.core.timed_hand import TimedHand
from workbook.physics.baby import Course, breathing, by_oximeter, heard
from workbook.rules import RuleBook
from workbook.scenario.acts import ACTS, HELPER, seconds
from workbook.scenario.case import Case
from workbook.scenario.changes import Change, Ordered, effects
from workbook.scenario.demands import demands
from workbook.scenario.record import Done, Played
from workbook.scenario.replay import Inflation, Run

BEGIN = 1.0  # s until the first act


class Hand(TimedHand[Done]):
    """Hands at a case: each act takes its time, and the baby goes on meanwhile."""

    def __init__(self, case: Case, book: RuleBook) -> None:
        super().__init__(Done, seconds(book), BEGIN)
        self.case, self.book = case, book
        self.asked = demands(book, case.weeks, case.kg)
        self.run = Run(case, self.asked, book)
        self.limit = book["scenario.limit"].value
        self.free = 0.0  # when the helper is free again
        self.on: float | None = None  # when the oximeter was on
        fails = case.hidden.fails
        self.waiting = [] if fails is None else [Change(fails, "gas-fails")]

    def do(self, act: str, what: Any = None) -> None:
        """Do an act, and wait until it is over if it needs the hands."""
        if self.time >= self.limit:
            return
        made, begins, takes = self.begin(act, what), self.time, self.takes[act]
        if ACTS[act].by == HELPER:
            begins = max(begins, self.free)
            self.free = begins + takes
        if act == "oximeter":
            self.on = begins + takes
        self.waiting += effects(Ordered(made, round(begins, 3), round(begins + takes, 3)))
        self.waiting.sort(key=lambda change: change.time)
        self.wait(0.0 if ACTS[act].by == HELPER else takes)

    def wait(self, seconds: float) -> None:
        """Let time pass (s)."""
        until = round(min(self.time + seconds, self.limit), 3)
        while self.waiting and self.waiting[0].time <= until:
            change = self.waiting.pop(0)
            self.run.go(change.time)
            self.run.do(change)
        self.run.go(until)
        self.time = until

    def inflate(self, held: float, period: float) -> Inflation | None:
        """Give one inflation, and return it; None without a mask on."""
        self.do("occlude")
        self.wait(held)
        self.do("release")
        self.wait(max(period - held, 0.2))
        return self.run.found[-1] if self.run.found else None

    @property
    def breathes(self) -> bool:
        """Say whether the baby is seen to breathe well."""
        peep = self.run.ways.rest if self.run.joined else 0.0
        return breathing(self.case.hidden.nature, self.run.state, peep) in ("breathes", "draws-in")

    def counted(self, end: float) -> float:
        """Return the heart rate by the beats that the helper counted until ``end`` (s)."""
        window = self.book["scenario.time.listen"].value
        since = max(0.0, end - window)
        beats = heard(Course(tuple(self.run.states)), since, window, self.case.hidden.phase)
        return len(beats) * 60 / window

    def saturation(self) -> float | None:
        """Return the saturation that the oximeter shows (percent); None where it shows none."""
        if not self.case.hidden.oximeter.shows(self.on, self.time):
            return None
        return float(by_oximeter(Course(tuple(self.run.states)), self.time)[1])

    @property
    def played(self) -> Played:
        """Return what was done."""
        return Played(self.case.id, round(self.time, 3), tuple(self.done))
