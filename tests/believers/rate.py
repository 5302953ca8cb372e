"""Who holds a belief of unit 4: rates, rhythms and the hand that taps."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from random import Random
from typing import Any

from tests.believers.base import Answers, Play, both, number
from workbook.cases import Case, Question
from workbook.rules import RuleBook
from workbook.units.rate.case import rhythms


def _tap(
    asked: Question, chance: Random, paces: Sequence[tuple[float, float, float]],
    first: Sequence[float] = (),
) -> dict[str, Any]:  # fmt: skip
    """Return taps: (until s, rate, share held), after long first ones; the answer is right."""
    from graders.units.rate.tap_marks import tapped

    lasts, time, events = float(asked.facts["duration"]), 0.7, list[list[Any]]()
    spread = chance.uniform(0.01, 0.03)
    for long in first:
        events += [[time, "press"], [time + long * chance.uniform(0.95, 1.05), "release"]]
        time += long + 1.0
    for until, rate, share in paces:
        while time < min(until, lasts) - 60 / rate:
            press = time + chance.gauss(0, spread)
            events += [[press, "press"], [press + share * 60 / rate + chance.gauss(0, spread),
                                          "release"]]  # fmt: skip
            time += 60 / rate
    last, rows = 0.0, []
    for at, what in events:
        last = max(at, last + 0.03)
        rows.append([round(last, 4), what])
    made = tapped(asked, 0.4)
    return {**made, "events": [row for row in rows if row[0] < lasts]}


def _begun(asked: Question, book: RuleBook) -> list[float]:
    found = rhythms.firsts(book) if asked.facts["begins"] else None
    return [found.held] * found.count if found else []


TAPPED = ("tap-alone", "tap-distracted")


def _held(share: float) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: {
        id: _tap(case[id], chance, [(99, case[id].facts["rate"], share)], _begun(case[id], book))
        for id in TAPPED
    }


def _all_long(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Hold every inflation as long as the first ones of some editions."""
    low, high = rhythms.first_time(book).band
    held = (low + min(high, 3.0)) / 2
    rate = 60 / (held + 1.0)
    return {id: _tap(case[id], chance, [(99, rate, held * rate / 60)]) for id in TAPPED}


def _straight_on(case: Case, book: RuleBook, chance: Random) -> Answers:
    return {
        id: _tap(case[id], chance, [(99, case[id].facts["rate"], 1 / 3)])
        for id in TAPPED if case[id].facts["begins"]
    }  # fmt: skip


def _hurries(case: Case, book: RuleBook, chance: Random) -> Answers:
    asked = case["tap-distracted"]
    at, rate = asked.shows["distraction"]["at"], asked.facts["rate"]
    fast = max(1.3 * asked.facts["high"], 1.3 * rate)
    return {asked.id: _tap(asked, chance, [(at, rate, 1 / 3), (99, fast, 1 / 3)],
                           _begun(asked, book))}  # fmt: skip


def _heard(case: Case, book: RuleBook, good: Callable[[float, str], bool]) -> Answers:
    """Call good what the belief finds good, by the rate that was played and what is wrong."""
    from graders.units.rate.marks import heard_as, heard_timing

    made: Answers = {}
    for id in ("hear-first", "hear-second"):
        right, rate = heard_as(case[id], book), heard_timing(case[id]).rate or 0.0
        if right != "good" and good(rate, right):
            made[id] = "good"
    return made


def _within(band: tuple[float, float], wrong: str) -> Callable[[float, str], bool]:
    return lambda rate, is_so: band[0] <= rate <= band[1] and is_so == wrong


def _rate(bands: Callable[[RuleBook], list[tuple[float, float]]], wrong: str) -> Play:
    """Hold a rate to be right everywhere."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        asked, made = case["count-paces"], Answers()
        for low, high in bands(book)[:1]:
            paces = [f"{p:g}" for p in asked.facts["paces"] if low <= p <= high]
            if paces:
                made["count-paces"] = paces
            made |= _heard(case, book, _within((low, high), wrong))
        return made

    return played


def _lung(pick: Callable[[Sequence[Any], Sequence[Sequence[Any]], str], bool]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.rate.marks import traps_most

        asked = case["trapped"]
        right = traps_most(asked, book)
        hands = {f"hand-{n}": each for n, each in enumerate(asked.facts["hands"], 1)}
        found = [id for id, each in hands.items() if id != right
                 and pick(each, list(hands.values()), hands[right])]  # fmt: skip
        return {"trapped": found[0]} if len(found) == 1 else {}

    return played


def _says_pair(**says: str) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.rate.marks import said_of_pair

        said = says.get(said_of_pair(case["count-cpr"], book))
        return {"count-cpr": said} if said else {}

    return played


def _goes_on(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Ask for the ordinary rate: good where it is given, too few where there are fewer."""
    from graders.units.rate.marks import said_of_pair

    facts = case["count-cpr"].facts
    is_so = said_of_pair(case["count-cpr"], book)
    if is_so == "many" and facts["inflations"] == facts["rate"]:
        return {"count-cpr": "good"}
    return {"count-cpr": "few"} if is_so == "good" and facts["inflations"] < facts["rate"] else {}


RATE: Mapping[str, Play] = {
    "equal-times": _held(0.5),
    "ratio-turned-round": both(_held(2 / 3),
                                lambda c, b, r: _heard(c, b, lambda rate, w: w == "long")),
    "stretch-is-a-minute": lambda c, b, r: {
        "strip-rate": number(c["strip-rate"].facts["inflations"], "1/min")},
    "long-first-for-all": _all_long,
    "begins-at-once": _straight_on,
    "one-rate-everywhere": _rate(lambda b: [rhythms.usual_band(b)], "fast"),
    "slow-rate-everywhere": _rate(rhythms.slow_bands, "slow"),
    "faster-ventilates-better": lambda c, b, r: _heard(c, b, lambda rate, w: w == "fast"),
    "same-pip-same-gas": lambda c, b, r: {"trapped": "same"},
    "only-rate-traps": _lung(lambda h, all, right: h[1] > right[1] and h[2] < right[2]
                             and h[0] == right[0]),
    "slow-rate-traps": _lung(lambda h, all, right: h[1] < right[1] and h[0] == right[0]),
    "stiff-lung-traps": _lung(lambda h, all, right: h[0] == "stiff"),
    "ordinary-rate-at-compressions": _goes_on,
    "every-event-a-compression": _says_pair(fast="good", good="slow"),
    "rushes-when-distracted": _hurries,
}  # fmt: skip
