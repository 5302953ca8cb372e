"""Rates, rhythms and pressure strips that the rate and counting exercise draws from."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from workbook.language import _, number
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
from workbook.physics.coefficients import Coefficient
from workbook.rules import Basis, Rule, RuleBook, RuleError, editions, rulebook
from workbook.rules.timing import Compressions, Count, compressions, count
from workbook.units import plain

PER_MINUTE = "1/min"
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
AIRWAY = Coefficient(
    40.0, "cmH2O/(L/s)", "airway resistance of both lungs", "an assumption", Basis.ASSUMPTION
)


# --- which rate


def rate_rule(book: RuleBook) -> Rule:
    """Return the rate asked for: the edition's, or common practice where it states none."""
    stated = [rule for rule in book.all("rate") if rule.stated] if "rate" in book else []
    return stated[0] if stated else book["count.rate"]


def rate_band(book: RuleBook) -> tuple[float, float]:
    """Return (low, high) of what counts as the rate asked for, in inflations a minute."""
    low, high = rate_rule(book).band
    usual, about = book["count.rate"].band, book["rate.about"].value
    low = low if math.isfinite(low) else min(usual[0], high)
    high = high if math.isfinite(high) else max(usual[1], low)
    return (low - about, high + about) if low == high else (low, high)


def rates(book: RuleBook) -> list[int]:
    """Return the whole rates a case may ask for: well inside the band, or its middle."""
    (low, high), inset = rate_band(book), book["rate.inset"].value
    inside = range(math.ceil(low + inset), math.floor(high - inset) + 1)
    return list(inside) or [round((low + high) / 2)]


def rate_text(rule: Rule) -> str:
    """Return a rate as a choice says it."""
    return _("About {rate}.").format(rate=rule.text) if rule.low == rule.high else f"{rule.text}."


def other_rates(book: RuleBook) -> list[Rule]:
    """Return what other editions ask for, each different rate once."""
    own = rate_rule(book)
    found = {own.band: own}
    for edition in editions():
        rule = rate_rule(rulebook(edition))
        found.setdefault(rule.band, rule)
    return [rule for rule in found.values() if rule is not own]


def rate_id(rule: Rule) -> str:
    """Return the id of a rate as a choice."""
    low, high = rule.band
    return f"{low:g}-{high:g}"


def first_time(book: RuleBook) -> Rule:
    """Return how long a long first inflation lasts, from whichever edition has them."""
    books = (book, *map(rulebook, editions()))
    rules = (rule for each in books for rule in _all(each, "inflations.first-time"))
    return next(rule for rule in rules if rule.stated)


def longest(book: RuleBook) -> Rule:
    """Return the longest ordinary inflation: the edition's, or the workbook's own."""
    stated = [r for r in _all(book, "inflation-time") if r.stated and r.high is not None]
    return stated[0] if stated else book["inflation-time.usual"]


def _all(book: RuleBook, id: str) -> tuple[Rule, ...]:
    return book.all(id) if id in book else ()


def with_compressions(book: RuleBook) -> tuple[Compressions, bool]:
    """Return the timing at three to one, and whether the edition itself states it."""
    try:
        return compressions(book), True
    except RuleError:
        return compressions(), False


def cpr_choices(facet: str, rate: float, book: RuleBook) -> dict[str, tuple[str, str]]:
    """Return how each figure is got -> (id, text), each different figure once.

    ``shared`` shares the events between compressions and inflations; ``all-compressions`` takes
    every event for a compression; ``ordinary`` goes on with the ordinary rate of inflations;
    ``added`` adds the inflations to all the events; ``one-event`` takes each for both.
    """
    made = with_compressions(book)[0]
    ratio = made.compressions / made.inflations
    figures = {
        "shared": (made.compressions, made.inflations),
        "all-compressions": (made.events, made.events / ratio),
        "ordinary": (made.compressions, float(rate)),
        "added": (made.events, made.inflations),
        "one-event": (made.events, made.events),
    }
    say = _say_share if facet == "share" else _say_cycle
    choices: dict[str, tuple[str, str]] = {}
    for how, pair in figures.items():
        choice = say(*pair)
        if choice not in choices.values():
            choices[how] = choice
    return choices


def _say_share(given: float, inflations: float) -> tuple[str, str]:
    id = f"{given:.4g}-{inflations:.4g}"
    says = _("{compressions} compressions and {inflations} inflations.")
    return id, says.format(compressions=number(given, ".4g"), inflations=number(inflations, ".4g"))


def _say_cycle(_given: float, inflations: float) -> tuple[str, str]:
    seconds = Count(inflations, 1, 0).inflation
    return f"{seconds:.2f}", f"{plain(round(seconds, 2), 's')}."


# --- rhythms


def count_at(rate: float, book: RuleBook) -> Count:
    """Return the usual count at a rate in inflations a minute."""
    return count(f"{rate!r} 1/min", book)


def rhythm(rate: float, held: float, inflations: int, start: float = 0.5) -> list[list[float]]:
    """Return [press, release] of each inflation of a steady rhythm, in seconds."""
    period = 60 / rate
    presses = [start + n * period for n in range(inflations)]
    return [[round(time, 3), round(time + held, 3)] for time in presses]


def heard(kind: str, rate: float, book: RuleBook, inflations: int) -> list[list[float]]:
    """Return a rhythm that is good, too slow, too fast, or has too long inflations."""
    (low, high), off = rate_band(book), book["rhythm.off"].value
    at = {"slow": low / off, "fast": high * off}.get(kind, rate)
    made = count_at(at, book)
    held = max(made.release, made.inflation) if kind == "long" else made.inflation
    return rhythm(at, held, inflations)


# --- strips


def strip_facts(rate: float, parts: tuple[float, float], inflations: int) -> dict[str, float]:
    """Return the times of a strip; ``parts`` are inflation to release, such as (1, 2)."""
    period = 60 / rate
    held = period * parts[0] / sum(parts)
    end = EDGE * period + (inflations - 1) * period + held + EDGE * (period - held)
    return {
        "rate": rate, "inflation": held, "release": period - held, "inflations": inflations,
        "duration": round(end, 2),
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
    relief = max(rule.value for rule in book.all("relief.limit"))
    bare = Circuit(book["flow.start"].value)
    return set_peep(set_pip(set_relief(bare, relief), pip), peep)


# --- gas that stays


def trapped(pip: float, peep: float, rates: Sequence[float], book: RuleBook) -> dict[float, float]:
    """Return rate -> pressure (cmH2O) that stays in a soft lung above PEEP, in the usual count."""
    return {
        rate: left_in_lung(pip, peep, rate, count_at(rate, book).inflation, book) for rate in rates
    }


def left_in_lung(pip: float, peep: float, rate: float, held: float, book: RuleBook) -> float:
    """Return the pressure (cmH2O) that stays in a soft lung above PEEP at a steady rhythm."""
    return _left(_circuit(pip, peep, book), rate, held)


@cache
def _left(circuit: Circuit, rate: float, held: float) -> float:
    lung = Lung(SOFT_LUNG.value, AIRWAY.value)
    return settled_auto_peep(circuit, lung, rate, held)
