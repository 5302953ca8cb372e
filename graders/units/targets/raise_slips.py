"""Where raising PIP went wrong: the run read as inflations and steps, each slip found once.

A slip costs where it was made. What follows from it elsewhere is judged as if it had not been
made, or said to follow from it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from statistics import mean

from graders.marks.bench_slips import Slip, limit
from workbook.bench import DIALS, Bench, Hands
from workbook.bench.story import Stretch, held_at, story
from workbook.taps.rhythm import DOUBLE

PARTS = ("hold", "length", "count", "steps", "limit", "rest", "stop")
AT_LIMIT = 0.5  # of a cmH2O below the relief's limit: the needle no longer follows the control
SPARE = 0.5  # s beyond an edition's longest first inflation
TWICE = 2.0


@dataclass(frozen=True, slots=True)
class Bounds:
    """What the rules ask of a run: times in s, pressures in cmH2O, a rate in 1/min."""

    shortest: float
    longest: float
    long: float
    share: float
    rate: tuple[float, float]
    gap: float
    step: tuple[float, float]
    first: tuple[int, float]
    inflations: int
    ceiling: float
    top: float
    accept: float
    moves: int
    against: float = 0.0


@dataclass(frozen=True, slots=True)
class Inflation:
    """One occlusion: when it began, how long it lasted (s), whether PIP was turned meanwhile."""

    start: float
    length: float
    turned: bool

    @property
    def end(self) -> float:
        """Return when it was released (s)."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Level:
    """A PIP left alone for some inflations: since when (s), its position, how many came."""

    start: float
    position: int
    inflations: int


@dataclass(frozen=True)
class Run:
    """One learner's run beside what the rules ask."""

    bench: Bench
    hands: Hands
    bounds: Bounds

    @cached_property
    def stretches(self) -> list[Stretch]:
        """Return the run as stretches between two touches."""
        return story(self.bench, self.hands)

    @cached_property
    def inflations(self) -> list[Inflation]:
        """Return every occlusion that was released again, or that the run ends in."""
        made: list[Inflation] = []
        since, turned = None, False
        for stretch in self.stretches:
            if stretch.held and since is None:
                since, turned = stretch.start, False
            if since is not None and stretch.held and stretch.touched == "pip":
                turned = True
            if not stretch.held and since is not None:
                made.append(Inflation(since, stretch.start - since, turned))
                since = None
        if since is not None:
            made.append(Inflation(since, self.hands.duration - since, turned))
        return _whole(made)

    @cached_property
    def levels(self) -> list[Level]:
        """Return each PIP at which enough inflations came to look at the chest, and the last."""
        turns = [s for s in self.stretches if s.touched == "pip"]
        starts = [(0.0, self.bench.positions["pip"]), *((s.start, s.at("pip")) for s in turns)]
        ends = [*(start for start, _ in starts[1:]), self.hands.duration]
        every = [
            Level(start, position, self._between(start, end))
            for (start, position), end in zip(starts, ends, strict=True)
        ]
        kept = [level for level in every[1:-1] if level.inflations >= self.bounds.inflations]
        return [every[0], *kept, *every[1:][-1:]]

    def _between(self, start: float, end: float) -> int:
        return sum(start <= each.start and each.end <= end for each in self.inflations)

    def shows(self, position: int) -> float:
        """Return what PIP reads at a position, the other controls as they stood at the start."""
        return held_at(self.bench, pip=position)

    def reaches(self, stretch: Stretch) -> float:
        """Return what PIP reads as its control and the relief stand, the others as at the start."""
        return held_at(self.bench, pip=stretch.at("pip"), relief=stretch.at("relief"))

    @property
    def raised(self) -> list[tuple[Level, Level]]:
        """Return the steps up, from one level to the next."""
        return [(a, b) for a, b in pairwise(self.levels) if b.position > a.position]

    def size(self, step: tuple[Level, Level]) -> float:
        """Return how far a step raised PIP (cmH2O)."""
        return self.shows(step[1].position) - self.shows(step[0].position)

    @cached_property
    def gaps(self) -> list[tuple[Inflation, float]]:
        """Return the time from each inflation to the next, without those after a long one."""
        pairs = pairwise(self.inflations)
        return [(a, b.start - a.start) for a, b in pairs if a.length <= self.bounds.long]


def _whole(inflations: list[Inflation]) -> list[Inflation]:
    """Return inflations with each bounce of a finger taken into the one before it."""
    kept: list[Inflation] = []
    for each in inflations:
        if kept and each.start - kept[-1].start < DOUBLE:
            last = kept[-1]
            kept[-1] = Inflation(last.start, each.end - last.start, last.turned or each.turned)
        else:
            kept.append(each)
    return kept


def slips(run: Run) -> dict[str, Slip | None]:
    """Return what went wrong in each part of a run; None where it is right."""
    return {part: _PARTS[part](run) for part in PARTS}


def _hold(run: Run) -> Slip | None:
    long = [i for i in run.inflations if i.turned and i.length > run.bounds.long]
    if long:
        return Slip("held-turning", long[0].start, now=long[0].length)
    return None if run.inflations else Slip("")


def _length(run: Run) -> Slip | None:
    bounds = run.bounds
    long = [i for i in run.inflations if i.length > bounds.long and not i.turned]
    if long and not _are_first(long, bounds):
        return Slip("held-long", long[0].start, now=long[0].length)
    counted = [i for i in run.inflations if i.length <= bounds.long]
    if not counted:
        return Slip("")
    spare = (1 - bounds.share) * len(counted) + 1e-9
    over = [i for i in counted if i.length > bounds.longest + 1e-9]
    under = [i for i in counted if i.length < bounds.shortest - 1e-9]
    for cause, found in (("times-long", over), ("times-short", under)):
        if len(found) > spare:
            return Slip(cause, found[0].start, now=mean(i.length for i in found))
    return None


def _are_first(long: list[Inflation], bounds: Bounds) -> bool:
    """Say whether long inflations are those that the edition itself begins with."""
    count, longest = bounds.first
    return len(long) <= count and all(i.length <= longest + SPARE for i in long)


def _count(run: Run) -> Slip | None:
    bounds, (low, high) = run.bounds, run.bounds.rate
    if len(run.inflations) < bounds.inflations:
        return Slip("not-ventilated", run.hands.duration)
    allowed = max(bounds.gap, TWICE * 60 / low)
    stopped = [(i, gap) for i, gap in run.gaps if gap > allowed]
    if stopped:
        last, gap = stopped[0]
        return Slip("count-stopped", last.end, now=gap - last.length)
    if not run.gaps:
        return Slip("")
    every = 60 / mean(gap for _, gap in run.gaps)
    if every < low:
        return Slip("count-slow", run.inflations[0].start, now=every)
    return Slip("count-fast", run.inflations[0].start, now=every) if every > high else None


def _steps(run: Run) -> Slip | None:
    most, accept = run.bounds.step[1], run.bounds.accept
    if not run.raised:
        return Slip("never-raised", run.hands.duration, now=run.shows(run.levels[-1].position))
    if not run.inflations:
        return Slip("")
    for step in run.raised:
        if run.size(step) > most + accept:
            return _leap(run, step)
    return None  # a cautious smaller step is no error


def _leap(run: Run, step: tuple[Level, Level]) -> Slip:
    """Return the slip of a step too far: with inflations on its way it was made in a hurry."""
    begun = [s.start for s in run.stretches if s.touched == "pip" and s.start > step[0].start]
    inside = run._between(begun[0], step[1].start) if begun else 0
    cause = "steps-hurried" if inside else "step-jumped"
    return Slip(cause, step[1].start, run.shows(step[0].position), run.size(step))


def _limit(run: Run) -> Slip | None:
    bounds = run.bounds
    over = [s for s in run.stretches if run.reaches(s) > bounds.ceiling + bounds.accept]
    if over:
        return Slip("past-ceiling", over[0].start, now=run.reaches(over[0]))
    stands = _at_limit(run)
    if stands is not None:
        return Slip("against-relief", stands.start, now=run.shows(stands.at("pip")))
    return None if run.raised else Slip("")


def _at_limit(run: Run) -> Stretch | None:
    """Return the first stretch in which the relief, not the PIP control, holds the needle.

    PIP brought up to the relief, as nearly as an eye tells, is not yet turned on against it.
    """
    highest, spare = limit(run.stretches[0]) - AT_LIMIT, run.bounds.against
    clicks = round(spare / DIALS["pip"].step)
    turned = (s for s in run.stretches if s.touched == "pip")
    return next((s for s in turned if run.shows(max(s.at("pip") - clicks, 0)) > highest), None)


def _rest(run: Run) -> Slip | None:
    moved = [s for s in run.stretches if s.touched in ("flow", "peep", "relief", "leak")]
    off = [s for s in run.stretches if s.touched in ("cap", "open")]
    if off:
        return Slip("taken-off", off[0].start)
    for stretch in moved:
        was = DIALS[stretch.touched].value(run.bench.positions[stretch.touched]) or 0.0
        if stretch.at(stretch.touched) != run.bench.positions[stretch.touched]:
            now = stretch.value(stretch.touched) or 0.0
            return Slip(f"{stretch.touched}-turned", stretch.start, was, now)
    return None if run.inflations else Slip("")


def _stop(run: Run) -> Slip | None:
    bounds, last = run.bounds, run.levels[-1]
    if not run.raised or not run.inflations or _limit(run) is not None:
        return Slip("")
    for before, after in run.raised:
        gone_on = before.inflations and before.position >= bounds.moves
        if gone_on and run.size((before, after)) > bounds.accept:
            return Slip(
                "went-on", after.start, run.shows(before.position), run.shows(after.position)
            )
    if last.position < bounds.moves:
        return Slip("stopped-short", last.start, now=run.shows(last.position))
    if last.inflations < bounds.inflations:
        return Slip("not-looked", last.start, now=float(last.inflations))
    return None


_PARTS: Mapping[str, Callable[[Run], Slip | None]] = {
    "hold": _hold,
    "length": _length,
    "count": _count,
    "steps": _steps,
    "limit": _limit,
    "rest": _rest,
    "stop": _stop,
}
