"""Marks the rate and counting exercise: one function for each kind of question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.rate import tap_marks
from graders.units.rate.tap_counted import key, points
from workbook.cases import Case, Question
from workbook.cases.pace import PER_MINUTE, rate_band, rate_rule
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook
from workbook.taps import Timing, read_taps, timing
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import EXERCISE, HEARD, TAPPED

POINTS = {
    "count-paces": 2.0,
    "count-cpr": 2.0,
    **{id: points(id) for id in TAPPED},
    "strip-rate": 2.0,
    **dict.fromkeys(HEARD, 2.0),
    "stop": 1.0,
    "trapped": 2.0,
}
HALF = 1 / 2  # of the points where one colleague of four is judged wrongly


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    asked = case[question]
    if value is None:
        critical = question in TAPPED
        return Verdict(question, checks.unanswered(question, POINTS[question], critical=critical))
    return Verdict(question, _MARKS[question](asked, value, book))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    answers: dict[str, Any] = {
        "count-paces": paces_within(case["count-paces"], rate_band(book)),
        "count-cpr": said_of_pair(case["count-cpr"], book),
        "strip-rate": typed(case["strip-rate"].facts["rate"], PER_MINUTE),
        **{id: heard_as(case[id], book) for id in HEARD},
        "stop": str(rhythms.missing(case["stop"].facts["rhythm"])),
        "trapped": traps_most(case["trapped"], book),
    }
    return answers | {id: tap_marks.model_taps(case[id], book) for id in TAPPED}


def typed(value: float, unit: str) -> dict[str, str]:
    """Return a number as a learner types it."""
    return {"text": f"{value:.1f}", "unit": unit}


# --- which rate


def paces_within(asked: Question, band: tuple[float, float]) -> list[str]:
    """Return the options whose pace lies in a band."""
    return [f"{pace:g}" for pace in asked.facts["paces"] if band[0] <= pace <= band[1]]


def rate_beliefs(asked: Question, book: RuleBook) -> dict[tuple[str, ...], str]:
    """Return the paces chosen by one who holds a rate to be right everywhere -> that belief."""
    right = paces_within(asked, rate_band(book))
    usual = rhythms.usual_band(book)
    held = [("one-rate-everywhere", usual)]
    held += [("slow-rate-everywhere", band) for band in rhythms.slow_bands(book)]
    chosen = {tuple(paces_within(asked, band)): belief for belief, band in reversed(held)}
    return {paces: belief for paces, belief in chosen.items() if paces and list(paces) != right}


def _paces(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    points, rule = POINTS[asked.id], rate_rule(book)
    known = {option.id for option in asked.options}
    if not isinstance(value, list) or not all(isinstance(v, str) and v in known for v in value):
        return checks.no_such_choice(asked.id, points)
    right = paces_within(asked, rate_band(book))
    wrong = len(set(value) ^ set(right))
    who = book.edition.title if rule.id == "rate" else _("common practice")
    why = _("{who} says {rule}.").format(who=who, rule=rule.text)
    if rule.low == rule.high:
        about = checks.span(*rate_band(book), PER_MINUTE)
        why = _("{who} says {rule}; {about} counts as that.").format(
            who=who, rule=rule.text, about=about
        )
    why = why if rule.replaces is None else f"{rule.shown}."
    if not wrong:
        says = _("Right: {why}").format(why=why)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    share = HALF if wrong == 1 and value else 0.0
    says = _("Right is: {paces}. {why}").format(
        paces=", ".join(plain(float(pace), PER_MINUTE) for pace in right),
        why=why[:1].upper() + why[1:],
    )
    belief = rate_beliefs(asked, book).get(tuple(v for v in _ordered(asked) if v in value), "")
    source = checks.source_of(rule)
    return (Finding(asked.id, False, says, points * share, points, False, rule.id, source, belief),)


def _ordered(asked: Question) -> list[str]:
    return [option.id for option in asked.options]


# --- choices


def _choice(
    asked: Question, value: Any, right: str, why: str, rule: Rule, beliefs: Mapping[str, str]
) -> tuple[Finding, ...]:
    """Return the finding on a choice: right, or which belief it shows."""
    words, points = {option.id: option.text for option in asked.options}, POINTS[asked.id]
    if not isinstance(value, str) or value not in words:
        return checks.no_such_choice(asked.id, points)
    if value == right:
        says = _("Right: {why}").format(why=why)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    said = words[value] if words[value].startswith("“") else f"“{words[value]}”"
    says = _("You chose {chosen} Here, {why}").format(chosen=said, why=why)
    source = checks.source_of(rule)
    belief = beliefs.get(value, "")
    return (Finding(asked.id, False, says, 0.0, points, False, rule.id, source, belief),)


def said_of_pair(asked: Question, book: RuleBook) -> str:
    """Return what is to be said to the two who give compressions and inflations."""
    facts = asked.facts
    given = facts["compressions"], facts["inflations"]
    return next(how for how, pair in rhythms.pairs(facts["rate"], book).items() if pair == given)


def pair_beliefs(asked: Question, book: RuleBook) -> dict[str, str]:
    """Return what is said to the two -> the belief of one who says it."""
    how, facts = said_of_pair(asked, book), asked.facts
    beliefs: dict[str, str] = key()["pair"].get(how, {})
    told = {
        "many": facts["inflations"] == facts["rate"],
        "good": facts["inflations"] < facts["rate"],
    }
    if told.get(how, True):
        return beliefs
    # Nobody's ordinary rate is given too few times here, or is the one that goes on.
    return {said: b for said, b in beliefs.items() if b != "ordinary-rate-at-compressions"}


def _pair(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, stated = rhythms.with_compressions(book)
    rule = book["compressions.events" if stated else "fact.compressions.events"]
    room = _(
        "{fault} In a minute there is room for {compressions} compressions and "
        "{inflations} inflations."
    )
    why = room.format(
        fault=_(key()["paired"][said_of_pair(asked, book)]),
        compressions=number(made.compressions), inflations=number(made.inflations),
    )  # fmt: skip
    beliefs = pair_beliefs(asked, book)
    return _choice(asked, value, said_of_pair(asked, book), why, rule, beliefs)


# --- a strip and a rhythm


def strip_reach(asked: Question) -> float:
    """Return how far (1/min) one inflation more or less on the strip moves the rate."""
    return 60 / float(asked.facts["duration"])


def _strip(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    points, rule, facts = POINTS[asked.id], book["strip.seconds"], asked.facts
    try:
        got = checks.number_in(value, PER_MINUTE)
    except ValueError as error:
        return checks.unreadable(asked.id, points, str(error))
    counted = facts["inflations"] * strip_reach(asked)
    why = _("{count} inflations in {seconds} s are about {counted}.").format(
        count=number(facts["inflations"]), seconds=number(facts["duration"]),
        counted=plain(round(counted), PER_MINUTE),
    )  # fmt: skip
    shown = plain(got, PER_MINUTE)
    reach = strip_reach(asked) + book["tolerance.counted"].value + 1e-9
    if min(abs(got - each) for each in (facts["rate"], counted)) <= reach:
        says = _("{got} is right: {why}").format(got=shown, why=why)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    says = _("{got} is not right: {why}").format(got=shown, why=why)
    belief = "stretch-is-a-minute" if got == facts["inflations"] else ""
    source = checks.source_of(rule)
    return (Finding(asked.id, False, says, 0.0, points, False, rule.id, source, belief),)


def heard_timing(asked: Question) -> Timing:
    """Return what the rhythm that was played comes to."""
    return _timed(tuple(map(tuple, asked.facts["rhythm"])))


@lru_cache(maxsize=64)  # one rhythm is asked about several times while its answer is marked
def _timed(pairs: tuple[tuple[float, float], ...]) -> Timing:
    events = [e for press, release in pairs for e in ([press, "press"], [release, "release"])]
    record = {"format": "tpiece-taps", "version": 1, "events": events}
    return timing(read_taps({**record, "duration": pairs[-1][1]}))


def heard_as(asked: Question, book: RuleBook) -> str:
    """Return what is to be said of the rhythm that was played."""
    made, (low, high) = heard_timing(asked), rate_band(book)
    if made.pauses:
        return "stops"
    if not book["tap.variation"].holds(100 * (made.variation or 0.0)):
        return "uneven"
    if not low <= (made.rate or 0.0) <= high:
        return "slow" if (made.rate or 0.0) < low else "fast"
    return "long" if (made.held_share or 0.0) > rhythms.LONG_SHARE else "good"


def _hear(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, right = heard_timing(asked), heard_as(asked, book)
    pace = plain(round(made.rate or 0.0), PER_MINUTE)
    why = _("{fault} The rhythm: {rate}, each inflation {time} s.").format(
        fault=_(key()["heard"][right]), rate=pace, time=number(made.inflation_time or 0.0, ".1f")
    )
    ids = {"long": "count.ratio", "uneven": "tap.variation", "stops": "rhythm.stop"}
    rule = book[ids[right]] if right in ids else rate_rule(book)
    beliefs = {"good": heard_belief(asked, book)}
    return _choice(asked, value, right, why, rule, beliefs)


def heard_belief(asked: Question, book: RuleBook) -> str:
    """Return the belief of one who takes the rhythm that was played for a good one."""
    right, rate = heard_as(asked, book), heard_timing(asked).rate or 0.0
    low, high = rhythms.usual_band(book)
    if right == "long":
        return "ratio-turned-round"
    if right == "fast":
        return "one-rate-everywhere" if low <= rate <= high else "faster-ventilates-better"
    near = any(low <= rate <= high for low, high in rhythms.slow_bands(book))
    return "slow-rate-everywhere" if right == "slow" and near else ""


def _stop(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    right, pace = rhythms.missing(asked.facts["rhythm"]), heard_timing(asked).rate or 0.0
    why = _("at {pace} the gap has room for about {count} inflations.").format(
        pace=plain(round(pace), PER_MINUTE), count=number(right)
    )
    return _choice(asked, value, str(right), why, book["rhythm.stop"], {})


# --- gas that stays


def hands(asked: Question) -> dict[str, rhythms.Hand]:
    """Return the three hands by the choice that names each."""
    return {f"hand-{n}": rhythms.Hand(*parts) for n, parts in enumerate(asked.facts["hands"], 1)}


def traps_most(asked: Question, book: RuleBook) -> str:
    """Return the choice that names the hand behind which the model leaves most gas."""
    made = hands(asked)
    return max(made, key=lambda id: made[id].left(book))


def trapped_beliefs(asked: Question, book: RuleBook) -> dict[str, str]:
    """Return each wrong choice -> the belief that it shows."""
    made = hands(asked)
    most = made.pop(traps_most(asked, book))
    beliefs = {"same": "same-pip-same-gas"}
    for id, hand in made.items():
        if hand.lung == "stiff":
            beliefs[id] = "stiff-lung-traps"
        elif hand.rate > most.rate and hand.share < most.share:
            beliefs[id] = "only-rate-traps"
        else:
            beliefs[id] = "slow-rate-traps"
    return beliefs


def _trapped(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, right = hands(asked), traps_most(asked, book)
    left = ", ".join(
        _("{left} at {pace}").format(
            left=plain(round(hand.left(book), 1), "cmH2O"),
            pace=plain(hand.rate, PER_MINUTE),
        )
        for hand in made.values()
    )
    why = _(
        "that lung has the least time to empty for how soft it is. Left above PEEP in the "
        "model: {left}."
    ).format(left=left)
    rule = book["fact.soft-lung-peep-after"]
    return _choice(asked, value, right, why, rule, trapped_beliefs(asked, book))


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    "count-paces": _paces,
    "count-cpr": _pair,
    **dict.fromkeys(TAPPED, tap_marks.marks),
    "strip-rate": _strip,
    **dict.fromkeys(HEARD, _hear),
    "stop": _stop,
    "trapped": _trapped,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
