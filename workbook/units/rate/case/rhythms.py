"""Rates, rhythms and pressure strips that the rate and counting exercise draws from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, pairwise
from statistics import median
from typing import Any

from workbook.cases.pace import longest, rate_band, rate_rule, rates
from workbook.core.language import _
from workbook.physics import (
    Action,
    Circuit,
    Lung,
    set_peep,
    set_pip,
    set_relief,
    settled_auto_peep,
    simulate,
)
from workbook.physics.coefficients import AIRWAY, LUNG_STIFF, Coefficient
from workbook.rules import Basis, Rule, RuleBook, RuleError, editions, rulebook
from workbook.rules.signed import kept
from workbook.rules.timing import Compressions, Count, compressions, count

MOST_POINTS = 600  # of a strip: more than a screen has to show
SHORTEST_STEP = 0.02  # s between two points of a strip
PICTURE_STEP = 0.01  # s; the model's step for a picture that nobody marks from
EDGE = 0.05  # of a cycle, before the first inflation of a strip and after the last release
LONG_SHARE = 0.5  # of a cycle: an inflation that lasts longer than its release

SOFT_LUNG = Coefficient(
    3.0, "mL/cmH2O", "compliance of a soft lung", "Hinder 2017, abstract", Basis.PRIMARY
)
STRIP_LUNG = Coefficient(
    1.0, "mL/cmH2O", "compliance of the lung behind a strip", "an assumption", Basis.ASSUMPTION
)


# --- which rate


def other_rates(book: RuleBook) -> list[Rule]:
    """Return what other editions ask for, each different rate once."""
    own = rate_rule(book)
    found = {own.band: own}
    for edition in editions():
        rule = rate_rule(rulebook(edition))
        found.setdefault(rule.band, rule)
    return [rule for rule in found.values() if rule is not own]


def other_bands(book: RuleBook) -> list[tuple[float, float]]:
    """Return what counts as the rate of other editions, each different band once."""
    found = dict.fromkeys(rate_band(rulebook(edition)) for edition in editions())
    return [band for band in found if band != rate_band(book)]


def usual_band(book: RuleBook) -> tuple[float, float]:
    """Return the rate of the usual count of three beats."""
    return book["count.rate"].band


def slow_bands(book: RuleBook) -> list[tuple[float, float]]:
    """Return what counts as the rate of other editions that ask for a slower one alone."""
    usual = usual_band(book)
    slow = [rule for rule in other_rates(book) if rule.low == rule.high and rule.value < usual[0]]
    about = book["rate.about"].value
    return [(rule.value - about, rule.value + about) for rule in slow]


def first_time(book: RuleBook) -> Rule:
    """Return how long a long first inflation lasts, from whichever edition has them."""
    books = (book, *map(rulebook, editions()))
    rules = (rule for each in books for rule in _all(each, "inflations.first-time"))
    return next(rule for rule in rules if rule.stated)


def _all(book: RuleBook, id: str) -> tuple[Rule, ...]:
    return book.all(id) if id in book else ()


def with_compressions(book: RuleBook) -> tuple[Compressions, bool]:
    """Return the timing at three to one, and whether the edition itself states it."""
    try:
        return compressions(book), True
    except RuleError:
        return compressions(), False


def pairs(rate: float, book: RuleBook) -> dict[str, tuple[int, int]]:
    """Return what a pair may give in a minute: how it is wrong -> (compressions, inflations).

    ``good`` shares the minute as stated; ``fast`` gives as many compressions as there are events
    and the inflations on top; ``slow`` leaves out a third of both, ``few`` a third of the
    inflations; ``many`` goes on with the ordinary rate of inflations.
    """
    made = with_compressions(book)[0]
    fast, slow = made.events / made.compressions, 2 / 3
    ordinary = max(float(rate), made.inflations * fast)
    figures = {
        "good": (made.compressions, made.inflations),
        "fast": (made.events, made.inflations * fast),
        "slow": (made.compressions * slow, made.inflations * slow),
        "many": (made.compressions, ordinary),
        "few": (made.events - made.inflations * slow, made.inflations * slow),
    }
    return {how: (round(given), round(taken)) for how, (given, taken) in figures.items()}


@kept
def pair_rates(how: str, book: RuleBook) -> tuple[int, ...]:
    """Return the ordinary rates (1/min) at which a pair may be asked about.

    Of ``many`` only those that the pair goes on with: where an edition's ordinary rate is no more
    than compressions leave room for, there is nothing to go on with.
    """
    every = tuple(rates(book))
    if how != "many":
        return every
    return tuple(rate for rate in every if pairs(rate, book)[how][1] == rate)


# --- how an edition begins


@dataclass(frozen=True, slots=True)
class Firsts:
    """The long inflations an edition begins with: how many, and their time in seconds.

    An inflation of ``least`` or longer is meant to be long: halfway between the longest ordinary
    one and the shortest long one.
    """

    count: int
    low: float
    high: float
    least: float

    @property
    def held(self) -> float:
        """Return the time (s) to aim at."""
        return (self.low + self.high) / 2


def firsts(book: RuleBook) -> Firsts | None:
    """Return the long first inflations an edition asks for; None where it states none."""
    many, time = (_stated(book, f"inflations.{part}") for part in ("first", "first-time"))
    if many is None or time is None or not many.value:
        return None
    low, high = time.band
    return Firsts(round(many.value), low, high, (longest(book).band[1] + low) / 2)


def begins_at_once(book: RuleBook) -> bool:
    """Say whether an edition states that it has no long first inflations."""
    many = _stated(book, "inflations.first")
    return many is not None and not many.value


def _stated(book: RuleBook, id: str) -> Rule | None:
    return next((rule for rule in _all(book, id) if rule.stated), None)


# --- rhythms


def count_at(rate: float, book: RuleBook) -> Count:
    """Return the usual count at a rate in inflations a minute."""
    return count(f"{rate!r} 1/min", book)


def rhythm(rate: float, held: float, inflations: int, start: float = 0.5) -> list[list[float]]:
    """Return [press, release] of each inflation of a steady rhythm, in seconds."""
    period = 60 / rate
    presses = [start + n * period for n in range(inflations)]
    return [[round(time, 3), round(time + held, 3)] for time in presses]


def heard(
    kind: str, rate: float, book: RuleBook, steps: Sequence[float], stop: float = 0.0
) -> list[list[float]]:
    """Return a rhythm that is good, or wrong in one way.

    ``steps`` are its intervals where it is uneven, in parts of the even one; ``stop`` (s) is about
    how long it stands still where it stops.
    """
    (low, high), off = rate_band(book), book["rhythm.off"].value
    at = {"slow": low / off, "fast": high * off}.get(kind, rate)
    made = count_at(at, book)
    held = max(made.release, made.inflation) if kind == "long" else made.inflation
    cycle = made.inflation + made.release
    gaps = [cycle * (each if kind == "uneven" else 1.0) for each in steps]
    if kind == "stops":
        gaps[len(gaps) // 2] = cycle * round(stop / cycle)  # so that whole inflations are missing
    return spaced(gaps, held)


def spaced(gaps: Iterable[float], held: float, start: float = 0.5) -> list[list[float]]:
    """Return [press, release] of inflations that begin these gaps (s) apart."""
    presses = list(accumulate(gaps, initial=start))
    return [[round(time, 3), round(time + held, 3)] for time in presses]


def missing(pairs: Sequence[Sequence[float]]) -> int:
    """Return how many inflations a rhythm leaves out where it stops."""
    presses = [press for press, _release in pairs]
    gaps = sorted(two - one for one, two in pairwise(presses))
    return round(gaps[-1] / median(gaps)) - 1


# --- strips


def strip_facts(rate: float, parts: tuple[float, float], seconds: float) -> dict[str, float]:
    """Return the times of a strip of some seconds; ``parts`` are inflation to release."""
    period = 60 / rate
    held = period * parts[0] / sum(parts)
    return {
        "rate": rate, "inflation": held, "release": period - held, "duration": seconds,
        "inflations": math.ceil((seconds - EDGE * period) / period - 1e-9),
    }  # fmt: skip


def strip(facts: Mapping[str, Any], book: RuleBook) -> dict[str, Any]:
    """Return the picture's data: pressure at the gauge (cmH2O) over time (s).

    ``low`` and ``high`` are the ends of the pressure axis.
    """
    circuit = _circuit(facts["pip"], facts["peep"], book)
    first = EDGE * (facts["inflation"] + facts["release"])
    made = rhythm(facts["rate"], facts["inflation"], facts["inflations"], first)
    actions = [
        each
        for press, release in made
        for each in (Action(press, "occlude"), Action(release, "release"))
        if each.time < facts["duration"]
    ]
    lung = Lung(STRIP_LUNG.value, AIRWAY.value)
    trace = simulate(circuit, lung, actions, facts["duration"], PICTURE_STEP)
    every = max(SHORTEST_STEP, facts["duration"] / (MOST_POINTS - 1))
    times = [n * every for n in range(int(facts["duration"] / every) + 1)]
    pressure = trace.at(times)
    return {
        "title": _("Pressure at the gauge"),
        "time": [round(each, 3) for each in times],
        "pressure": [round(each, 2) for each in pressure],
        "low": 0.0,
        "high": 10.0 * math.ceil(max(pressure) / 10 + 0.1),
    }


def _circuit(pip: float, peep: float, book: RuleBook) -> Circuit:
    relief = max(rule.band[1] for rule in book.all("relief.limit"))
    bare = Circuit(book["flow.start"].value)
    return set_peep(set_pip(set_relief(bare, relief), pip), peep)


# --- gas that stays

LUNGS = {"soft": SOFT_LUNG, "stiff": LUNG_STIFF}


@dataclass(frozen=True, slots=True)
class Hand:
    """A steady hand and the lung behind it: rate (1/min), share of a cycle held, which lung."""

    lung: str
    rate: float
    share: float

    def left(self, book: RuleBook) -> float:
        """Return the pressure (cmH2O) that stays in the lung above PEEP."""
        pip, peep = (book[id].value for id in ("pip.example", "peep.example"))
        held = self.share * 60 / self.rate
        return _left(_circuit(pip, peep, book), LUNGS[self.lung].value, self.rate, held)


def left_in_lung(pip: float, peep: float, rate: float, held: float, book: RuleBook) -> float:
    """Return the pressure (cmH2O) that stays in a soft lung above PEEP at a steady rhythm."""
    return _left(_circuit(pip, peep, book), SOFT_LUNG.value, rate, held)


@cache
def _left(circuit: Circuit, compliance: float, rate: float, held: float) -> float:
    return settled_auto_peep(circuit, Lung(compliance, AIRWAY.value), rate, held)
