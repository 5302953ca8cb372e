"""Oxygen by the edition's table, up as well as down; what it does not state is not judged."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from math import inf

from graders.units.scenario.facts import Facts
from graders.units.scenario.limits import above_all, others
from graders.units.scenario.slip import Criterion, Slip
from workbook.physics.baby.constants import k

PURE = 100.0  # percent: all of it


def judged(facts: Facts) -> Iterator[Criterion]:
    """Yield the criteria of oxygen; harm by pure oxygen is found whatever the edition states."""
    bands = [facts.made.demands.target(t) for t in facts.seconds if facts.made.demands.target(t)]
    floors = any(band[0] > 0 for band in bands if band)
    tops = any(band[1] < inf for band in bands if band)
    rule = "spo2.use"
    yield Criterion("up", rule, _up(facts) if floors else None, lasts=True, blank=not floors)
    harm = _pure(facts)
    if harm is not None:
        yield Criterion("down", rule, harm)
    else:
        slip = _down(facts) if tops else None
        share = 1 / 2 if slip is not None and slip.other else 0.0
        yield Criterion("down", rule, slip, lasts=True, blank=not tops, share=share)


def _up(facts: Facts) -> Slip | None:
    if not facts.saturations:
        return Slip("no-saturation")
    wait, at = longest(facts, low(facts), +1)
    if wait > facts.limits.turn:
        return Slip("left-low", wait, facts.limits.turn, at=at)
    asked = facts.limits.pressed
    short = (
        0
        if asked is None
        else sum(facts.pressing(t) and facts.dial(t) < asked for t in facts.seconds)
    )
    if asked is not None and short > facts.limits.turn:
        return Slip("pressed-without", facts.dial(facts.pressed[-1][0]), asked, "percent")
    return None


def _down(facts: Facts) -> Slip | None:
    if not facts.saturations:
        return Slip("no-saturation")
    wait, at = longest(facts, high(facts), -1)
    if wait <= facts.limits.turn:
        return None
    other = _by_another(facts, at + wait)
    return Slip("other-top" if other else "left-up", wait, facts.limits.turn, other=other, at=at)


def _pure(facts: Facts) -> Slip | None:
    """Return the harm of pure oxygen with a saturation above what any edition states."""
    cause = "pure" if facts.saturations else "pure-blind"
    wait, at = longest(facts, far(facts), -1) if facts.saturations else _blind(facts)
    return Slip(cause, wait, facts.limits.pure, at=at) if wait > facts.limits.pure else None


def _blind(facts: Facts) -> tuple[float, float]:
    """Return how long pure oxygen went on with a high saturation that nobody had shown."""

    def is_far(t: int) -> bool:
        shown = 100 * facts.made.course.saturation(t)
        return facts.dial(t) >= PURE and shown > _far_top(facts, t)

    return longest(facts, is_far, -1)


def high(facts: Facts) -> Callable[[int], bool]:
    """Return whether a saturation is shown above the band while more than air is given."""

    def is_high(t: int) -> bool:
        band = facts.made.demands.target(t)
        more = facts.dial(t) > 100 * k("air")
        return band is not None and more and facts.saturations.get(t, 0) > band[1]

    return is_high


def far(facts: Facts) -> Callable[[int], bool]:
    """Return whether it is shown above every edition's while pure oxygen is given."""

    def is_far(t: int) -> bool:
        return facts.dial(t) >= PURE and facts.saturations.get(t, 0) > _far_top(facts, t)

    return is_far


def _far_top(facts: Facts, t: float) -> float:
    return above_all(facts.book, facts.case.weeks, facts.case.kg, int(t) // 60)


def low(facts: Facts) -> Callable[[int], bool]:
    """Return whether a saturation is shown below the band while more oxygen could be given."""

    def is_low(t: int) -> bool:
        band = facts.made.demands.target(t)
        return band is not None and facts.dial(t) < PURE and facts.saturations.get(t, inf) < band[0]

    return is_low


def longest(facts: Facts, bad: Callable[[int], bool], way: int) -> tuple[float, float]:
    """Return the longest time (s) of something bad in which nobody turned the dial, and its start.

    ``way`` is +1 where the dial is to be turned up, -1 down. With the bag, and while the chest is
    compressed, nobody is asked to turn; what the oximeter does not show is no end of it.
    """
    turned = _turned(facts, way)
    found, since = [(0.0, 0.0)], None
    for t in facts.seconds:
        if not _judges(facts, t) or any(t - 1 <= each < t for each in turned):
            since = None
        elif facts.saturations and t not in facts.saturations:
            continue
        elif not bad(t):
            since = None
        elif since is None:
            since = float(t)
        if since is not None:
            found.append((t - since, since))
    return max(found)


def _judges(facts: Facts, t: int) -> bool:
    return facts.on_face(t) != "bag" and not facts.pressing(t)


def _turned(facts: Facts, way: int) -> list[float]:
    """Return when the dial was turned that way (s)."""
    rows = facts.dials
    return [b[0] for a, b in pairwise(rows) if way * (b[1] - a[1]) > 0]


def _by_another(facts: Facts, time: float) -> str:
    """Return another edition whose band holds the saturation of a time; nothing if none does."""
    shown = facts.saturations.get(int(time))
    for demand in others(facts.book, facts.case.weeks, facts.case.kg):
        band = demand.target(time)
        if shown is not None and band is not None and band[0] <= shown <= band[1] < inf:
            return demand.edition
    return ""
