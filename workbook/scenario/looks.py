"""What heart rates and saturations a team had before it, when, and by which means."""

from __future__ import annotations

from dataclasses import dataclass

from workbook.physics.baby import LEADS, OXIMETER, Monitor, by_leads, by_oximeter, heard
from workbook.rules import RuleBook
from workbook.scenario.acts import seconds
from workbook.scenario.changes import Ordered, ordered
from workbook.scenario.replay import Replay

COUNTED = "listen"
MINUTE = 60


@dataclass(frozen=True, slots=True)
class Look:
    """A heart rate (1/min) that was there to be seen at a time (s), by which means."""

    time: float
    rate: float
    by: str


@dataclass(frozen=True)
class Looks:
    """All heart rates of a case in the order of time, and saturations (percent) by second."""

    rates: tuple[Look, ...]
    saturations: dict[int, int]

    def near(self, time: float, within: float) -> tuple[Look, ...]:
        """Return the heart rates seen no further than ``within`` (s) from a time."""
        return tuple(one for one in self.rates if abs(one.time - time) <= within)


def looks(made: Replay, book: RuleBook) -> Looks:
    """Return what a team had before it; leads are taken before the oximeter where both show."""
    acts, course, hidden = ordered(made.played, seconds(book)), made.course, made.case.hidden
    leads = _on(made, acts, LEADS, hidden.leads)
    oximeter = _on(made, acts, OXIMETER, hidden.oximeter)
    found = [Look(t, float(by_leads(course, t)), LEADS) for t in sorted(leads)]
    found += [Look(t, float(by_oximeter(course, t)[0]), OXIMETER) for t in sorted(oximeter - leads)]
    found += _counts(made, acts, book)
    saturations = {t: by_oximeter(course, t)[1] for t in sorted(oximeter)}
    return Looks(tuple(sorted(found, key=lambda one: one.time)), saturations)


def _on(made: Replay, acts: list[Ordered], kind: str, monitor: Monitor) -> set[int]:
    """Return the whole seconds in which a monitor shows; leads show nothing under compressions."""
    put = next((one.ends for one in acts if one.done.act == kind), None)
    every = {t for t in range(int(made.played.duration) + 1) if monitor.shows(put, t)}
    if kind == LEADS:
        every -= {t for start, end in pressed(made, acts) for t in every if start <= t < end}
    return every


def pressed(made: Replay, acts: list[Ordered]) -> list[tuple[float, float]]:
    """Return from when to when the chest was compressed (s)."""
    found, begun = list[tuple[float, float]](), None
    for one in acts:
        if one.done.act == "compress" and begun is None:
            begun = one.ends
        elif one.done.act == "compress-stop" and begun is not None:
            found.append((begun, one.begins))
            begun = None
    return found if begun is None else [*found, (begun, made.played.duration)]


def _counts(made: Replay, acts: list[Ordered], book: RuleBook) -> list[Look]:
    found, window = list[Look](), book["scenario.time.listen"].value
    for one in acts:
        if one.done.act == COUNTED and one.ends <= made.played.duration:
            beats = heard(made.course, one.begins, window, made.case.hidden.phase)
            found.append(Look(one.ends, len(beats) * MINUTE / window, COUNTED))
    return found
