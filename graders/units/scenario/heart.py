"""The heart rate: looked at in time, read right, and what follows from it."""

from __future__ import annotations

from collections.abc import Iterator

from graders.units.scenario.facts import Facts, longest
from graders.units.scenario.slip import Criterion, Slip
from workbook.scenario.acts import NEW_AIRWAYS


def judged(facts: Facts) -> Iterator[Criterion]:
    """Yield the criteria of the heart rate."""
    yield Criterion("looked", "hr.reassess", _looked(facts), lasts=True)
    if facts.born_breathing and not facts.did("compress"):
        return
    yield Criterion("decided", "hr.compress", _decided(facts), lasts=True)


# --- looked at


def _looked(facts: Facts) -> Slip | None:
    begun = facts.begun
    start = min(facts.limits.within, facts.limits.within if begun is None else begun)
    until = until_well(facts)
    times = [time for time, _value in facts.looks if time <= until]
    again = facts.limits.again
    if not facts.looks:
        return Slip("unlooked")
    late = longest([min(start, times[0]) if times else start, *times, until])
    if late > again:
        return Slip("looked-late", late, again)
    return _misread(facts)


def until_well(facts: Facts) -> float:
    """Return until when the heart rate is to be looked at: until the baby was well, and seen so."""
    well = [
        time for time, value in facts.looks
        if value >= facts.limits.ventilate and facts.breathes(time)
    ]  # fmt: skip
    return well[0] if well else facts.end


def _misread(facts: Facts) -> Slip | None:
    """Return the slip of a rate that was said and is far from what could be seen."""
    for one in facts.did("heart-rate"):
        said, since = float(one.done.what), one.begins - facts.limits.again
        seen = [value for time, value in facts.looks if since <= time <= one.begins]
        off = min(abs(said - value) for value in [facts.heart(one.begins), *seen])
        if off > 2 * facts.limits.near:
            right = round(seen[-1] if seen else facts.heart(one.begins))
            return Slip("misread", said, right, "1/min", at=one.begins)
    return None


# --- decided by


def _decided(facts: Facts) -> Slip | None:
    if facts.begun is None and not facts.did("compress"):
        return Slip("never-begun")
    for one in facts.did("compress"):
        slip = _compressed(facts, one.done.time)
        if slip is not None:
            return slip
    slow, at = longest_slow(facts)
    if slow > facts.limits.escalate + facts.limits.look:
        return Slip("not-escalated", slow + facts.limits.reassess, facts.limits.compress, at=at)
    return _pressed_on(facts)


def _compressed(facts: Facts, time: float) -> Slip | None:
    """Return what was wrong with compressions that began at a time."""
    moved, limits = facts.moved(time), facts.limits
    if moved <= 0:
        return Slip("compress-first", limit=limits.reassess, at=time)
    look = facts.known(time)
    if look is None:
        return Slip("compress-unlooked", limit=limits.compress, unit="1/min", at=time)
    if look[1] >= limits.compress + limits.near:
        return Slip("compress-fast", look[1], limits.compress, "1/min", at=time)
    if moved < limits.reassess - limits.early:
        return Slip("compress-early", moved, limits.reassess, at=time)
    return None


def longest_slow(facts: Facts) -> tuple[float, float]:
    """Return how long (s) nobody went further though it was due, and from when.

    Due is when the chest has moved for the edition's time and the heart is still below its number,
    by more than half a beat of a count; compressions or a new airway are the next step. A count
    that comes out one beat higher, as it may, is no reason to go further; nor is an oximeter.
    """
    slow = facts.limits.compress - facts.limits.near / 2
    began = [one.begins for one in facts.did("compress", *NEW_AIRWAYS)]
    found, since = [(0.0, 0.0)], None
    for t in facts.seconds:
        due = _moving_for(facts, t) >= facts.limits.reassess and facts.heart(t) < slow
        due = due and not _shown_fast(facts, t)
        if not due or facts.pressing(t) or any(t - 1 <= each < t for each in began):
            since = None
        elif since is None:
            since = float(t)
        if since is not None:
            found.append((t - since, since))
    return max(found)


def _shown_fast(facts: Facts, time: float) -> bool:
    """Say whether what was last seen of the heart, not long ago, was no reason to go further."""
    look, since = facts.known(time), time - facts.limits.again
    counted = [one for one in facts.counts if since <= one[0] <= time]
    last = [*counted[-1:], *([look] if look is not None and look[0] >= since else [])]
    return any(value >= facts.limits.compress for _time, value in last)


def _moving_for(facts: Facts, time: float) -> float:
    """Return for how long the chest has gone on moving up to a time (s)."""
    pause = facts.limits.pause
    return max(
        (time - start for start, end in facts.runs if start <= time <= end + pause), default=0
    )


def _pressed_on(facts: Facts) -> Slip | None:
    """Return the slip of compressions that went on long after the heart was fast enough."""
    fast = facts.limits.compress + facts.limits.near
    for start, end in facts.pressed:
        over = [t for t in facts.seconds if start <= t < end and facts.heart(t) >= fast]
        if len(over) > 2 * facts.limits.again:
            return Slip("pressed-on", len(over), facts.limits.again, at=over[0])
    return None
