"""Marks the rate and counting exercise: one function for each kind of question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from graders import checks, tap_marks
from graders.tap_marks import key
from graders.verdict import Finding, Verdict
from workbook.cases import Case, Question, rhythms
from workbook.cases.rate_counting import EXERCISE, TAPPED, rate_with_ends, texts, usual_ratio
from workbook.language import _, number
from workbook.rules import Rule, RuleBook
from workbook.rules.timing import Count
from workbook.taps import Timing, read_taps, timing
from workbook.units import plain

POINTS = {
    "count-edition": 2.0,
    "count-beat": 1.0,
    "count-inflation": 1.0,
    "count-ie": 1.0,
    "count-cpr": 1.0,
    **{id: tap_marks.points(id) for id in TAPPED},
    "strip-rate": 1.0,
    "strip-inflation": 1.0,
    "strip-ie": 1.0,
    "hear": 2.0,
    "trapped": 2.0,
}
Slips = Mapping[str, tuple[float, float]]  # belief -> the band of numbers that shows it


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    asked = case[question]
    if value is None:
        critical = question in TAPPED
        return Verdict(question, checks.unanswered(question, POINTS[question], critical=critical))
    return Verdict(question, _MARKS[question](asked, value, book))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    drawn, shown = _count_of(case["count-beat"], book), case["strip-rate"].facts
    answers: dict[str, Any] = {
        "count-edition": rhythms.rate_id(rhythms.rate_rule(book)),
        "count-beat": typed(drawn.beat, "s"),
        "count-inflation": typed(drawn.inflation, "s"),
        "count-ie": usual_ratio(book),
        "count-cpr": _figures(case["count-cpr"], book)["shared"][0],
        "strip-rate": typed(shown["rate"], rhythms.PER_MINUTE),
        "strip-inflation": typed(shown["inflation"], "s"),
        "strip-ie": shown_ratio(shown),
        "hear": heard_as(case["hear"]),
        "trapped": traps_most(case["trapped"], book),
    }
    return answers | {id: tap_marks.model_taps(case[id], book) for id in TAPPED}


def typed(value: float, unit: str) -> dict[str, str]:
    """Return a number as a learner types it."""
    return {"text": f"{value:.2f}", "unit": unit}


# --- the right answers


def _count_of(asked: Question, book: RuleBook) -> Count:
    return rhythms.count_at(asked.facts["rate"], book)


def _figures(asked: Question, book: RuleBook) -> dict[str, tuple[str, str]]:
    return rhythms.cpr_choices(asked.facts["facet"], asked.facts["rate"], book)


def shown_ratio(facts: Mapping[str, Any]) -> str:
    """Return inflation to release of a strip, as the nearest of the choices."""

    def share(ratio: str) -> float:
        inflation, release = map(float, ratio.split(":"))
        return inflation / (inflation + release)

    cycle = facts["inflation"] + facts["release"]
    ratios: list[str] = texts()["ratios"]
    return min(ratios, key=lambda ratio: abs(share(ratio) - facts["inflation"] / cycle))


def heard_timing(asked: Question) -> Timing:
    """Return what the rhythm that was played comes to."""
    pairs = asked.facts["rhythm"]
    events = [e for press, release in pairs for e in ([press, "press"], [release, "release"])]
    record = {"format": "tpiece-taps", "version": 1, "events": events}
    return timing(read_taps({**record, "duration": pairs[-1][1]}))


def heard_as(asked: Question) -> str:
    """Return what is to be said of the rhythm that was played."""
    made = heard_timing(asked)
    if (made.rate or 0.0) < asked.facts["low"]:
        return "slow"
    if (made.rate or 0.0) > asked.facts["high"]:
        return "fast"
    return "long" if (made.held_share or 0.0) > rhythms.LONG_SHARE else "good"


def traps_most(asked: Question, book: RuleBook) -> str:
    """Return the choice that names the rate at which the model leaves most gas, and why."""
    facts = asked.facts
    left = rhythms.trapped(facts["pip"], facts["peep"], facts["rates"], book)
    place = facts["rates"].index(max(left, key=lambda rate: left[rate]))
    named = {0: "slow", len(left) - 1: "fast"}.get(place, "")
    reason: str = key()["trapped"]["reason"]
    if key()["trapped"]["names"][reason] != named:
        raise ValueError("The model traps most gas at a rate that no choice explains.")
    return reason


# --- numbers


def _number(
    asked: Question, value: Any, right: float, accept: Rule, slips: Slips, explains: str, rule: Rule
) -> tuple[Finding, ...]:
    """Return the finding on a typed number: right, or which slip it shows."""
    unit, points = asked.units[0], POINTS[asked.id]
    try:
        got = checks.number_in(value, unit)
    except ValueError as error:
        return checks.unreadable(asked.id, points, str(error))
    shown = plain(got, unit)
    if abs(got - right) <= accept.value + 1e-9:
        says = _("{got} is right: {why}").format(got=shown, why=explains)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    belief = next((name for name, (low, high) in slips.items() if low <= got <= high), "")
    says = _("{got} is not right. It is {right}: {why}")
    says = says.format(got=shown, right=plain(round(right, 3), unit), why=explains)
    source = checks.source_of(rule)
    return (Finding(asked.id, False, says, 0.0, points, False, rule.id, source, belief),)


def _near(accept: Rule, **slips: float) -> dict[str, tuple[float, float]]:
    reach = accept.value + 1e-9
    return {name.replace("_", "-"): (at - reach, at + reach) for name, at in slips.items()}


def _beat(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, accept = _count_of(asked, book), book["count.accept"]
    cycle = made.inflation + made.release
    slips = _near(accept, two_beats=cycle / 2, beat_is_cycle=cycle)
    beats = book["count.beats"]
    explains = _("a minute holds {count} beats for each inflation, all of one length.")
    explains = explains.format(count=beats.text)
    return _number(asked, value, made.beat, accept, slips, explains, beats)


def _inflation(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, accept = _count_of(asked, book), book["count.accept"]
    cycle = made.inflation + made.release
    slips: Slips = {
        **_near(
            accept, equal_times=cycle / 2, ratio_turned_round=made.release, beat_is_cycle=cycle
        ),
        "long-first-for-all": rhythms.first_time(book).band,
    }
    explains = _("the aperture is occluded on the first beat and released on the others.")
    rule = book["count.occlude-beats"]
    return _number(asked, value, made.inflation, accept, slips, explains, rule)


def _strip_rate(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    accept, facts = book["strip.rate.accept"], asked.facts
    slips = _near(accept, counts_the_ends=rate_with_ends(facts))
    explains = _("measure from the start of one inflation to the start of the next, and divide.")
    return _number(asked, value, facts["rate"], accept, slips, explains, book["count.beats"])


def _strip_inflation(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    accept, facts = book["strip.time.accept"], asked.facts
    slips = _near(accept, ratio_turned_round=facts["release"])
    explains = _("it lasts from the rise to the fall of the pressure.")
    rule = book["count.occlude-beats"]
    return _number(asked, value, facts["inflation"], accept, slips, explains, rule)


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
    says = _('You chose "{chosen}" Here, {why}').format(chosen=words[value], why=why)
    source = checks.source_of(rule)
    belief = beliefs.get(value, "")
    return (Finding(asked.id, False, says, 0.0, points, False, rule.id, source, belief),)


def edition_beliefs(book: RuleBook) -> dict[str, str]:
    """Return the rate as a choice -> the belief of one who holds it everywhere."""
    usual = book["count.rate"]
    singles = [rule for rule in rhythms.other_rates(book) if rule.low == rule.high]
    slow = [rule for rule in singles if not usual.holds(rule.value)]
    return {
        rhythms.rate_id(usual): "one-rate-everywhere",
        **{rhythms.rate_id(rule): "slow-rate-everywhere" for rule in slow},
    }


def _edition(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    rule = rhythms.rate_rule(book)
    who = book.edition.title if rule.id == "rate" else _("common practice")
    why = _("{who} says {rule}.").format(who=who, rule=rule.text)
    why = why if rule.replaces is None else f"{rule.shown}."
    return _choice(asked, value, rhythms.rate_id(rule), why, rule, edition_beliefs(book))


def _ratio(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    right, rule = usual_ratio(book), book["count.ratio"]
    why = _("inflation to release is {ratio}: held on the first beat, released on the others.")
    why = why.format(ratio=right)
    return _choice(asked, value, right, why, rule, ratio_beliefs(right))


def ratio_beliefs(right: str) -> dict[str, str]:
    """Return a ratio as a choice -> the belief that it shows."""
    turned = ":".join(reversed(right.split(":")))
    beliefs = {"1:1": "equal-times", turned: "ratio-turned-round"}
    return {ratio: belief for ratio, belief in beliefs.items() if ratio != right}


def _strip_ratio(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    right = shown_ratio(asked.facts)
    why = _("inflation to release is {ratio}: compare the time up with the time down.")
    why = why.format(ratio=right)
    return _choice(asked, value, right, why, book["count.ratio"], ratio_beliefs(right))


def _cpr(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    figures = _figures(asked, book)
    beliefs = {figures[how][0]: belief for how, belief in key()["cpr"].items() if how in figures}
    made, stated = rhythms.with_compressions(book)
    rule = book["compressions.events" if stated else "fact.compressions.events"]
    return _choice(asked, value, figures["shared"][0], made.text, rule, beliefs)


def _hear(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    made, right = heard_timing(asked), heard_as(asked)
    pace = plain(round(made.rate or 0.0), rhythms.PER_MINUTE)
    why = _("{fault} The rhythm: {rate}, each inflation {time} s.").format(
        fault=_(key()["heard"][right]), rate=pace, time=number(made.inflation_time or 0.0, ".2f")
    )
    rule = book["count.ratio"] if right == "long" else rhythms.rate_rule(book)
    beliefs = {"good": heard_belief(asked, book)}
    return _choice(asked, value, right, why, rule, beliefs)


def heard_belief(asked: Question, book: RuleBook) -> str:
    """Return the belief of one who takes the rhythm that was played for a good one."""
    right, rate = heard_as(asked), heard_timing(asked).rate or 0.0
    usual, about = book["count.rate"], book["rate.about"].value
    if right == "long":
        return "ratio-turned-round"
    if right == "fast":
        return "one-rate-everywhere" if usual.holds(rate) else "faster-ventilates-better"
    slow = [rule for rule in rhythms.other_rates(book) if rule.low == rule.high]
    near = any(abs(rate - rule.value) <= about for rule in slow if not usual.holds(rule.value))
    return "slow-rate-everywhere" if right == "slow" and near else ""


def _trapped(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    right, facts = traps_most(asked, book), asked.facts
    left = rhythms.trapped(facts["pip"], facts["peep"], facts["rates"], book)
    said = ", ".join(f"{number(rate)}: {plain(round(left[rate], 1), 'cmH2O')}" for rate in left)
    why = _(
        "the release is too short for a soft lung to empty at the fastest rate. Left above PEEP "
        "in the model, by rate: {by_rate}."
    ).format(by_rate=said)
    beliefs = key()["trapped"]["beliefs"]
    return _choice(asked, value, right, why, book["fact.soft-lung-peep-after"], beliefs)


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    "count-edition": _edition,
    "count-beat": _beat,
    "count-inflation": _inflation,
    "count-ie": _ratio,
    "count-cpr": _cpr,
    **dict.fromkeys(TAPPED, tap_marks.marks),
    "strip-rate": _strip_rate,
    "strip-inflation": _strip_inflation,
    "strip-ie": _strip_ratio,
    "hear": _hear,
    "trapped": _trapped,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
