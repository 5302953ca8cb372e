"""What a replayed case shows to who judges it: when the chest moved, what was looked at, and when.

Everything is told by hands and by what a team could see. Times in s after birth, rates in 1/min.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from graders.units.scenario.limits import Limits, limits
from workbook.physics.baby import LEADS, OXIMETER, breathing, by_leads, by_oximeter, heard
from workbook.physics.baby.monitors import Monitor
from workbook.rules import RuleBook
from workbook.scenario import Case, Replay, seconds, timed
from workbook.scenario.acts import CORRECTIVE, NEW_AIRWAYS
from workbook.scenario.changes import Ordered, ordered

MOVES, STILL = "moves", "still"
EXCUSED = (*CORRECTIVE, "confirm", "bag", "t-piece", "connect")  # no stop: the hands are at work
GOOD = ("breathes", "draws-in")
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Given:
    """One inflation, or a spell with the bag, as a team saw its chest."""

    start: float
    end: float
    chest: str
    bag: bool = False


@dataclass(frozen=True, eq=False)
class Facts:
    """A replayed case as it is judged, by ``book``."""

    made: Replay
    book: RuleBook

    @property
    def case(self) -> Case:
        """Return the case."""
        return self.made.case

    @cached_property
    def limits(self) -> Limits:
        """Return what it is judged by."""
        case = self.case
        return limits(self.made.demands, self.book, case.weeks, case.kg)

    @property
    def end(self) -> float:
        """Return how far the record goes (s)."""
        return self.made.played.duration

    @property
    def born_breathing(self) -> bool:
        """Say whether the baby breathes by itself from birth on."""
        return self.case.hidden.nature.breath is not None

    @cached_property
    def whole(self) -> bool:
        """Say whether the case was played to its time, or until the baby was stable."""
        most = self.book["scenario.limit"].value
        return self.end >= most - self.limits.pause or "stabilised" in timed(self.made, self.book)

    # --- what was done

    @cached_property
    def acts(self) -> list[Ordered]:
        """Return the acts with when their work began and ended."""
        return ordered(self.made.played, seconds(self.book))

    def did(self, *acts: str) -> list[Ordered]:
        """Return the acts of some kinds, in order."""
        return [one for one in self.acts if one.done.act in acts]

    def first(self, *acts: str) -> float | None:
        """Return when one of some acts was first begun (s), or None."""
        found = self.did(*acts)
        return found[0].begins if found else None

    def on_face(self, time: float) -> str:
        """Return what is on the face at a time: the T-piece, the bag, or nothing."""
        now = ""
        for one in self._faces:
            if one.ends > time:
                break
            now = {"connect": "t-piece", "t-piece": "t-piece", "bag": "bag"}.get(one.done.act, "")
        return now

    @cached_property
    def _faces(self) -> list[Ordered]:
        return self.did("connect", "t-piece", "bag", "open")

    # --- ventilation

    @cached_property
    def given(self) -> list[Given]:
        """Return all that was given, in order; a bag that moves no chest is still."""
        found = [Given(one.start, one.end, one.chest) for one in self.made.inflations]
        found += [Given(start, end, MOVES, True) for start, end in self.made.bagged]
        for n, one in enumerate(self._faces):
            if one.done.act != "bag":
                continue
            until = next((each.begins for each in self._faces[n + 1 :]), self.end)
            found += self._no_use(one.ends, until)
        return sorted(found, key=lambda each: (each.start, each.end))

    def _no_use(self, start: float, end: float) -> Iterator[Given]:
        """Yield when a bag was in use and moved no chest."""
        for begin, stop in self.made.bagged:
            if begin > start and begin < end:
                yield Given(start, begin, STILL, True)
            if stop > start and begin < end:
                start = max(start, stop)
        if end - start > self.limits.late:
            yield Given(start, end, STILL, True)

    @cached_property
    def begun(self) -> float | None:
        """Return when ventilation was begun (s), or None."""
        return self.given[0].start if self.given else None

    @cached_property
    def runs(self) -> list[Span]:
        """Return from when to when the chest went on moving (s)."""
        found = list[Span]()
        for one in self.given:
            if one.chest != MOVES:
                continue
            if found and one.start - found[-1][1] <= self.limits.pause:
                found[-1] = (found[-1][0], max(found[-1][1], one.end))
            else:
                found.append((one.start, one.end))
        return found

    def moved(self, time: float) -> float:
        """Return for how long in all the chest had moved before a time (s)."""
        return sum(min(end, time) - start for start, end in self.runs if start < time)

    # --- the baby

    @cached_property
    def seconds(self) -> range:
        """Return the whole seconds of the record."""
        return range(int(self.end) + 1)

    def heart(self, time: float) -> float:
        """Return the true heart rate at a time."""
        return self.made.course.heart(time)

    def breathes(self, time: float) -> bool:
        """Say whether the baby is seen to breathe by itself."""
        state = self.made.course.at(time)
        return breathing(self.case.hidden.nature, state, 0.0) in GOOD

    @cached_property
    def needing(self) -> list[bool]:
        """Say of each second whether the baby needs inflations: no breath, or a slow heart."""
        slow = self.limits.ventilate
        return [not self.breathes(t) or self.heart(t) < slow for t in self.seconds]

    def needs(self, time: float) -> bool:
        """Say whether the baby needs inflations at a time."""
        return self.needing[min(int(time), len(self.needing) - 1)]

    @cached_property
    def recovered(self) -> float:
        """Return when the baby first needed no more inflations after it had needed some (s)."""
        begun = int(self.begun or 0)
        return next((float(t) for t in self.seconds[begun:] if not self.needing[t]), self.end)

    # --- what was looked at

    @cached_property
    def looks(self) -> list[tuple[float, float]]:
        """Return when a heart rate was there to be seen, and which, in order."""
        return sorted([*self.counts, *self.monitored])

    @cached_property
    def counts(self) -> list[tuple[float, float]]:
        """Return when beats had been counted, and the rate they gave."""
        found, window = [], self.book["scenario.time.listen"].value
        for one in self.did("listen"):
            if one.ends <= self.end:
                beats = heard(self.made.course, one.begins, window, self.case.hidden.phase)
                found.append((one.ends, len(beats) * 60 / window))
        return found

    @cached_property
    def monitored(self) -> list[tuple[float, float]]:
        """Return which heart rate leads or oximeter showed, second by second."""
        course, found = self.made.course, list[tuple[float, float]]()
        leads = self._on("leads", self.case.hidden.leads)
        for t in self.seconds:
            if leads[t] and not self.pressing(t):
                found.append((float(t), float(by_leads(course, t))))
            elif self.oximeter[t]:
                found.append((float(t), float(by_oximeter(course, t)[0])))
        return found

    @cached_property
    def oximeter(self) -> list[bool]:
        """Say of each second whether the oximeter shows."""
        return self._on("oximeter", self.case.hidden.oximeter)

    def _on(self, kind: str, monitor: Monitor) -> list[bool]:
        put = self.did({"oximeter": OXIMETER, "leads": LEADS}[kind])
        on = put[0].ends if put else None
        return [monitor.shows(on, t) for t in self.seconds]

    def known(self, time: float) -> tuple[float, float] | None:
        """Return the last look at the heart rate up to a time: when it was, and what it gave."""
        past = bisect_right(self._looked, time)
        return self.looks[past - 1] if past else None

    @cached_property
    def _looked(self) -> list[float]:
        return [time for time, _value in self.looks]

    @cached_property
    def saturations(self) -> dict[int, int]:
        """Return what the oximeter showed (percent), by second."""
        course = self.made.course
        return {t: by_oximeter(course, t)[1] for t in self.seconds if self.oximeter[t]}

    # --- compressions, oxygen, airway

    @cached_property
    def pressed(self) -> list[Span]:
        """Return from when to when the chest was compressed (s)."""
        found, begun = list[Span](), None
        for one in self.did("compress", "compress-stop"):
            if one.done.act == "compress":
                begun = one.ends if begun is None else begun
            elif begun is not None:
                found.append((begun, one.begins))
                begun = None
        return found if begun is None else [*found, (begun, self.end)]

    def pressing(self, time: float) -> bool:
        """Say whether the chest is compressed at a time."""
        return any(start <= time < end for start, end in self.pressed)

    @cached_property
    def dials(self) -> list[tuple[float, float]]:
        """Return when the oxygen dial was turned, and to what (percent); first where it stood."""
        turns = [(one.ends, float(one.done.what)) for one in self.did("oxygen")]
        return [(0.0, self.case.oxygen), *turns]

    def dial(self, time: float) -> float:
        """Return where the oxygen dial stands at a time (percent)."""
        return [what for since, what in self.dials if since <= time][-1]

    @cached_property
    def airways(self) -> list[Ordered]:
        """Return the new airways that were placed."""
        return [one for one in self.did(*NEW_AIRWAYS) if one.ends <= self.end]

    def worked(self, start: float, end: float) -> float:
        """Return for how long between two times the hands were at work on mask or airway (s)."""
        return sum(
            max(0.0, min(one.ends, end) - max(one.begins, start)) for one in self.did(*EXCUSED)
        )


def facts(made: Replay, book: RuleBook) -> Facts:
    """Return what a replayed case shows."""
    return Facts(made, book)


def longest(times: Sequence[float]) -> float:
    """Return the longest time between two of these, one after another."""
    return max((b - a for a, b in pairwise(times)), default=0.0)


__all__ = ["MOVES", "STILL", "Facts", "Given", "facts", "longest"]
