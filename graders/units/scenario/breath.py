"""Ventilation, or CPAP for a baby who breathes: in time, kept up, as the edition says, no more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median

from graders.units.scenario.facts import MOVES, Facts, Given
from graders.units.scenario.limits import first, others, widened
from graders.units.scenario.slip import Criterion, Slip


def judged(facts: Facts) -> Iterator[Criterion]:
    """Yield the criteria of ventilation that this case asks."""
    if facts.born_breathing:
        yield Criterion("support", "ppv.within", _support(facts))
        yield Criterion("spared", "scenario.spared", _spared(facts), lasts=True)
    else:
        yield Criterion("begin", "ppv.within", _begin(facts))
        yield Criterion("kept", "scenario.pause", _kept(facts), lasts=True)
        yield _way(facts)
    if facts.given or not facts.born_breathing:
        yield Criterion("pressure", "pip.ceiling", _pressure(facts), lasts=True)
    if _gas_needed(facts):
        yield Criterion("bag", "scenario.gas", _bag(facts))


# --- begun in time


def _begin(facts: Facts) -> Slip | None:
    within, late = facts.limits.within, facts.limits.late
    begun = facts.begun
    if begun is None or begun > within + late:
        if begun is None and not _over(facts, within + late):
            return Slip("not-reached")
        if begun is None:
            return Slip("begin-never", limit=within, at=within)
        return Slip("begin-too-late", begun, within, at=within)
    return Slip("begin-late", begun, within, at=within) if begun > within else None


def _over(facts: Facts, time: float) -> bool:
    """Say whether a time was reached, or the case was ended before it by the hand itself."""
    return facts.end >= time or not facts.made.played.midway


def _support(facts: Facts) -> Slip | None:
    within, late = facts.limits.within, facts.limits.late
    times = [t for t in (facts.first("connect"), facts.begun) if t is not None]
    if not times:
        reached = _over(facts, within + late)
        return Slip("support-never", limit=within, at=within) if reached else Slip("not-reached")
    if min(times) > within:
        return Slip("support-late", min(times), within, at=within)
    off = sum(facts.on_face(t) != "t-piece" for t in facts.seconds if t > min(times) + late)
    if off > facts.limits.spared and not _gas_failed(facts):
        return Slip("support-lost", off, facts.limits.spared)
    return None


def _gas_failed(facts: Facts) -> bool:
    return facts.case.hidden.fails is not None


# --- a baby who breathes is not inflated


def unasked(facts: Facts) -> list[Given]:
    """Return the inflations of a baby who breathed, with no slow heart rate known."""
    return [one for one in facts.given if facts.breathes(one.start) and not _known_slow(facts, one)]


def _known_slow(facts: Facts, one: Given) -> bool:
    since, slow = one.start - facts.limits.again, facts.limits.ventilate
    return any(since <= time <= one.start and value < slow for time, value in facts.looks)


def _spared(facts: Facts) -> Slip | None:
    found = unasked(facts)
    lasted = _lasted(found, facts.limits.pause)
    if lasted > facts.limits.spared:
        return Slip("breather-inflated", lasted, facts.limits.spared, at=found[0].start)
    if len(found) > facts.limits.tries:
        return Slip("breather-some", len(found), facts.limits.tries, "", at=found[0].start)
    if facts.first("connect") is None and not facts.given:
        return Slip("never-touched")
    return None


def _lasted(given: Sequence[Given], pause: float) -> float:
    """Return how long (s) inflations went on, the stops between spells left out."""
    total = 0.0
    for one, two in pairwise(given):
        if two.start - one.end <= pause:
            total += two.end - one.start if two is given[-1] else two.start - one.start
    return total


# --- kept up, and moving the chest


def _kept(facts: Facts) -> Slip | None:
    if facts.begun is None:
        return Slip("never-begun")
    if not facts.runs:
        return Slip("never-moved")
    stop, at = longest_stop(facts)
    if stop > facts.limits.pause:
        return Slip("stopped", stop, facts.limits.pause, at=at)
    since = facts.runs[0][0]
    after = [one for one in facts.given if one.start >= since and facts.needs(one.start)]
    after = [one for one in after if not _failed(facts, one.start) and not one.bag]
    moving = 100 * sum(one.chest == MOVES for one in after) / max(1, len(after))
    if after and moving < facts.limits.moves:
        return Slip("little-moves", moving, facts.limits.moves, "percent", at=since)
    return None


def _failed(facts: Facts, time: float) -> bool:
    fails = facts.case.hidden.fails
    return fails is not None and time >= fails


def longest_stop(facts: Facts) -> tuple[float, float]:
    """Return the longest stop of a baby who needed inflations (s), and when it began.

    Time in which the hands were at work on mask or airway is left out.
    """
    marks = [(one.start, one.end) for one in facts.given] + [(facts.end, facts.end)]
    found = [(0.0, 0.0)]
    reached = marks[0][1]
    for start, end in marks[1:]:
        if start > reached:
            needed = sum(facts.needing[t] for t in range(int(reached) + 1, int(start) + 1))
            worked = facts.worked(reached, start)
            found.append((min(needed, start - reached) - worked, reached))
        reached = max(reached, end)
    return max(found)


# --- in the edition's way


def _way(facts: Facts) -> Criterion:
    asked, rule = facts.limits, "rate"
    if asked.rate is None and asked.longest is None and asked.first is None:
        return Criterion("way", rule, blank=True)
    if not facts.given:
        return Criterion("way", rule, Slip("never-begun"))
    slip = _first(facts)
    if slip is not None:
        return Criterion("way", "inflations.first", slip, share=1 / 2)
    rate = _rate(facts)
    if rate is not None and asked.rate is not None and not _inside(rate, asked.rate):
        fast = "too-fast" if rate > asked.rate[1] else "too-slow"
        limit = asked.rate[1] if fast == "too-fast" else asked.rate[0]
        other = _by_another(facts, rate)
        return Criterion(
            "way", rule, Slip("other-rate" if other else fast, rate, limit, "1/min", other),
            share=1 / 2 if other else 0.0,
        )  # fmt: skip
    slip = _long(facts)
    return Criterion("way", "inflation-time" if slip else rule, slip, lasts=True)


def _inside(rate: float, band: tuple[float, float]) -> bool:
    return band[0] <= round(rate, 1) <= band[1]


def _lengths(facts: Facts) -> list[float]:
    return [one.end - one.start for one in facts.given if not one.bag]


def opening(lengths: Sequence[float], asked: tuple[int, float, float]) -> int:
    """Return how many of the first inflations were as long as an edition's first ones."""
    count, low, high = asked
    return sum(low <= each <= high for each in lengths[:count])


def _first(facts: Facts) -> Slip | None:
    """Return the slip of long first inflations: not given where asked, or given by another's."""
    lengths, asked = _lengths(facts), facts.limits.first
    if asked is not None:
        missing = min(asked[0], len(lengths)) - opening(lengths, asked)
        enough = opening(lengths, asked) + 1 >= min(asked[0], len(lengths))
        return None if enough else Slip("first-missing", missing, asked[0], "")
    for demand in others(facts.book, facts.case.weeks, facts.case.kg):
        theirs = first(demand, facts.book)
        if theirs is not None and opening(lengths, theirs) >= theirs[0] - 1:
            return Slip("first-other", other=demand.edition)
    return None


def _rate(facts: Facts) -> float | None:
    """Return the rate of inflations: the middle one, first long ones and compressions left out."""
    own = [one for one in facts.given if not one.bag and not facts.pressing(one.start)]
    own = [one for one in own if one.end - one.start <= facts.book["inflation.long"].value]
    gaps = [b.start - a.start for a, b in pairwise(own) if b.start - a.end <= facts.limits.pause]
    return 60 / median(gaps) if len(gaps) >= facts.limits.tries else None


def _by_another(facts: Facts, rate: float) -> str:
    """Return another edition that has inflations at this rate; nothing where none has."""
    for demand in others(facts.book, facts.case.weeks, facts.case.kg):
        band = demand.band("rate")
        if band is not None and _inside(rate, widened(band, facts.book)):
            return demand.edition
    return ""


def _long(facts: Facts) -> Slip | None:
    most = facts.limits.longest
    if most is None:
        return None
    left = facts.limits.first[0] if facts.limits.first else 0
    long = [each for each in _lengths(facts)[left:] if each > most]
    if len(long) <= facts.limits.fewer:
        return None
    return Slip("too-long", max(long), most)


def _pressure(facts: Facts) -> Slip | None:
    if not facts.given:
        return Slip("never-begun")
    tops = [(one.top, one.start) for one in facts.made.inflations if facts.on_face(one.start)]
    worst, at = max(tops, default=(0.0, 0.0))
    if worst > facts.limits.top:
        return Slip("too-high", worst, facts.limits.top, "cmH2O", at=at)
    return None


# --- the gas fails


def _gas_needed(facts: Facts) -> bool:
    fails = facts.case.hidden.fails
    if fails is None or fails > facts.end:
        return False
    until = fails + facts.limits.gas
    return any(facts.needs(t) for t in facts.seconds if fails <= t <= until)


def _bag(facts: Facts) -> Slip | None:
    fails, limit = facts.case.hidden.fails or 0.0, facts.limits.gas
    bags = [one.begins for one in facts.did("bag")]
    taken = next((t for t in bags if t >= fails or facts.on_face(fails) == "bag"), None)
    if taken is None:
        return (
            Slip("no-bag", limit=limit, at=fails)
            if _over(facts, fails + limit)
            else Slip("not-reached")
        )
    waited = taken - fails
    return Slip("bag-late", waited, limit, at=fails) if waited > limit else None
