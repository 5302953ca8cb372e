"""The rhythm of tapped inflations: rate, its 95 % interval, inflation time, I:E, regularity."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import fmean, median
from typing import Literal

from workbook.core.language import _, number
from workbook.taps.reading import Inflation, Taps
from workbook.taps.student import quantile

# Constants of the method, not of care. DOUBLE: two beats of a hand closer than this are one
# bounce, since it is a rate no hand counts. PAUSE: after this long a hand has stopped and begins
# anew. MISSED: a gap nearer to two intervals than to one is a beat left out, not a slow beat.
DOUBLE = 0.20  # s
PAUSE = 4.0  # s
MISSED = 1.6  # times the median interval
SURE = 0.95
MAD = 1.4826  # makes the median absolute deviation of a normal spread its standard deviation
MINUTE = 60.0  # s

Judged = Literal["inside", "outside", "not yet sure"]


@dataclass(frozen=True, slots=True)
class Timing:
    """A rhythm in seconds.

    ``intervals`` are the clean ones, from press to press, and ``at`` the times at which they
    ended. ``held`` are the inflation times, ``released`` the times between inflations. Only what
    came after the last pause is in them. ``missed`` are beats left out, ``doubles`` bounces.
    """

    counted: int
    intervals: tuple[float, ...]
    at: tuple[float, ...]
    held: tuple[float, ...]
    released: tuple[float, ...]
    missed: int = 0
    doubles: int = 0
    pauses: int = 0
    blurs: int = 0
    repeats: int = 0
    notes: tuple[str, ...] = field(default=())

    @property
    def rate(self) -> float | None:
        """Return inflations a minute from the mean interval: the one for marking."""
        return MINUTE / fmean(self.intervals) if self.intervals else None

    @property
    def shown_rate(self) -> float | None:
        """Return inflations a minute from the median interval: steady enough to show live."""
        return MINUTE / median(self.intervals) if self.intervals else None

    @property
    def rate_interval(self) -> tuple[float, float] | None:
        """Return the 95 % interval of the rate; None with fewer than two intervals."""
        n = len(self.intervals)
        if n < 2:
            return None
        mean = fmean(self.intervals)
        half = quantile(SURE, n - 1) * _deviation(self.intervals) / math.sqrt(n)
        slowest = MINUTE / (mean + half)
        return slowest, MINUTE / (mean - half) if half < mean else math.inf

    @property
    def inflation_time(self) -> float | None:
        """Return the median inflation time."""
        return median(self.held) if self.held else None

    @property
    def ratio(self) -> float | None:
        """Return x of I:E = 1:x, from the means of both times."""
        return fmean(self.released) / fmean(self.held) if self.released and self.held else None

    @property
    def held_share(self) -> float | None:
        """Return the share of a cycle that the inflation lasts."""
        return None if self.ratio is None else 1 / (1 + self.ratio)

    @property
    def variation(self) -> float | None:
        """Return the coefficient of variation of the intervals; None with fewer than two."""
        if len(self.intervals) < 2:
            return None
        return _deviation(self.intervals) / fmean(self.intervals)

    @property
    def robust_variation(self) -> float | None:
        """Return the same from the median absolute deviation: one odd beat hardly moves it."""
        if len(self.intervals) < 2:
            return None
        middle = median(self.intervals)
        return MAD * median(abs(each - middle) for each in self.intervals) / middle

    def share_inside(self, low: float, high: float) -> float | None:
        """Return the share of intervals whose own rate lies in a band, both ends included."""
        if not self.intervals:
            return None
        inside = [low <= MINUTE / each <= high for each in self.intervals]
        return sum(inside) / len(inside)

    @property
    def drift(self) -> tuple[float, float] | None:
        """Return how the interval changes (s each second) and its standard error.

        None with fewer than three intervals: a line through two points has no error.
        """
        n = len(self.intervals)
        if n < 3:
            return None
        mean_at, mean = fmean(self.at), fmean(self.intervals)
        spread = sum((time - mean_at) ** 2 for time in self.at)
        together = zip(self.at, self.intervals, strict=True)
        slope = sum((time - mean_at) * (each - mean) for time, each in together) / spread
        line = zip(self.at, self.intervals, strict=True)
        left = sum((each - mean - slope * (time - mean_at)) ** 2 for time, each in line)
        return slope, math.sqrt(left / (n - 2) / spread)

    @property
    def drift_says(self) -> str:
        """Return whether the count slows or quickens, when it surely does."""
        if self.drift is None:
            return "not yet sure"
        slope, error = self.drift
        if abs(slope) <= quantile(SURE, len(self.intervals) - 2) * error + 1e-6:
            return "steady"
        return "slowing" if slope > 0 else "quickening"

    def verdict(self, low: float, high: float) -> Judged:
        """Say whether the rate surely lies in a band, surely outside, or neither."""
        found = self.rate_interval
        if found is None:
            return "not yet sure"
        if low <= found[0] and found[1] <= high:
            return "inside"
        return "outside" if found[1] < low or found[0] > high else "not yet sure"


def _deviation(values: Sequence[float]) -> float:
    """Return the standard deviation of a sample; the library's own is exact and slow."""
    mean = fmean(values)
    return math.sqrt(sum((each - mean) ** 2 for each in values) / (len(values) - 1))


def timing(taps: Taps) -> Timing:
    """Return the rhythm of a record of taps; every flaw of it has its note."""
    struck, doubles = without_doubles(taps.inflations)
    run, pauses = _last_run(struck)
    gaps = [(one, two) for one, two in pairwise(run) if not _between(taps.blurs, one, two)]
    middle = median(two.press - one.press for one, two in gaps) if gaps else 0.0
    clean = [(one, two) for one, two in gaps if two.press - one.press <= MISSED * middle]
    missed = sum(
        round((two.press - one.press) / middle) - 1
        for one, two in gaps
        if two.press - one.press > MISSED * middle
    )
    return Timing(
        counted=len(run),
        intervals=tuple(two.press - one.press for one, two in clean),
        at=tuple(two.press for _, two in clean),
        held=tuple(each.release - each.press for each in run if each.release is not None),
        released=tuple(two.press - one.release for one, two in clean if one.release is not None),
        missed=missed,
        doubles=doubles,
        pauses=pauses,
        blurs=len(taps.blurs),
        repeats=taps.repeats,
        notes=tuple(_notes(taps, len(clean), missed, doubles, pauses)),
    )


def without_doubles(inflations: Sequence[Inflation]) -> tuple[list[Inflation], int]:
    """Take a bounce and the press before it as one: it ends with the bounce's release."""
    made: list[Inflation] = []
    doubles = 0
    for each in inflations:
        if made and each.press - made[-1].press < DOUBLE:
            made[-1] = Inflation(made[-1].press, each.release)
            doubles += 1
        else:
            made.append(each)
    return made, doubles


def _last_run(inflations: Sequence[Inflation]) -> tuple[Sequence[Inflation], int]:
    stops = [
        n for n in range(1, len(inflations))
        if inflations[n].press - inflations[n - 1].press > PAUSE
    ]  # fmt: skip
    return inflations[stops[-1] if stops else 0 :], len(stops)


def _between(blurs: Sequence[float], one: Inflation, two: Inflation) -> bool:
    after = bisect_right(blurs, one.press)
    return after < len(blurs) and blurs[after] <= two.press


def _notes(taps: Taps, clean: int, missed: int, doubles: int, pauses: int) -> Iterable[str]:
    if not taps.inflations:
        yield _("Nothing was tapped: press for each inflation and let go for each release.")
    elif not clean:
        yield _("There are too few taps in a row for a rate.")
    if pauses:
        says = _("After a pause of more than {seconds} seconds only the taps that follow count.")
        yield says.format(seconds=number(PAUSE))
    if missed:
        says = _("Beats left out: {count}. The long gaps do not count in the rate.")
        yield says.format(count=missed)
    if doubles:
        yield _("Double strikes: {count}. Each pair counts once.").format(count=doubles)
    if taps.blurs:
        says = _("The page lost the focus {times}; the gap there does not count.")
        yield says.format(times=_times(len(taps.blurs)))
    if taps.repeats:
        says = _("Presses without a release between them: {count}. They do not count.")
        yield says.format(count=taps.repeats)


def _times(count: int) -> str:
    return _("once") if count == 1 else _("{count} times").format(count=count)
