"""How a learner who holds a misconception of rate and counting answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from graders.rate_counting import (
    edition_beliefs,
    heard_as,
    heard_belief,
    ratio_beliefs,
    shown_ratio,
    typed,
)
from graders.tap_marks import key, tapped
from workbook.cases import Case, Question, rhythms
from workbook.cases.rate_counting import TAPPED, rate_with_ends, usual_ratio
from workbook.rules import RuleBook, rulebook
from workbook.rules.timing import Count

Answers = dict[str, Any]
Play = Callable[[Case, RuleBook], Answers]
FAST = 1.25  # times the top of the band: surely above it


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    answers.update(PLAYS[misconception](case, book))


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    return bool(PLAYS[misconception](case, rulebook(case.edition)))


def _made(case: Case, book: RuleBook) -> Count:
    return rhythms.count_at(case["count-beat"].facts["rate"], book)


def _cycle(case: Case, book: RuleBook) -> float:
    made = _made(case, book)
    return made.inflation + made.release


def _two_beats(case: Case, book: RuleBook) -> Answers:
    return {"count-beat": typed(_cycle(case, book) / 2, "s")}


def _beat_is_cycle(case: Case, book: RuleBook) -> Answers:
    cycle = typed(_cycle(case, book), "s")
    return {"count-beat": cycle, "count-inflation": cycle}


def _equal_times(case: Case, book: RuleBook) -> Answers:
    return {
        "count-inflation": typed(_cycle(case, book) / 2, "s"),
        "count-ie": _ratio_showing("equal-times", usual_ratio(book)),
        **{id: tapped(case[id], _halves(case[id], book)) for id in TAPPED},
    }


def _halves(asked: Question, book: RuleBook) -> float:
    made = rhythms.count_at(asked.facts["rate"], book)
    return (made.inflation + made.release) / 2


def _turned_round(case: Case, book: RuleBook) -> Answers:
    made, facts = _made(case, book), case["strip-ie"].facts
    held = {id: rhythms.count_at(case[id].facts["rate"], book).release for id in TAPPED}
    answers = {
        "count-inflation": typed(made.release, "s"),
        "count-ie": _ratio_showing("ratio-turned-round", usual_ratio(book)),
        **{id: tapped(case[id], time) for id, time in held.items()},
    }
    shown = shown_ratio(facts)
    if turned := _ratio_showing("ratio-turned-round", shown):
        answers |= {"strip-ie": turned, "strip-inflation": typed(facts["release"], "s")}
    if heard_as(case["hear"]) == "long":
        answers["hear"] = "good"
    return answers


def _ratio_showing(belief: str, right: str) -> str:
    return next((r for r, shown in ratio_beliefs(right).items() if shown == belief), "")


def _counts_the_ends(case: Case, book: RuleBook) -> Answers:
    return {"strip-rate": typed(rate_with_ends(case["strip-rate"].facts), rhythms.PER_MINUTE)}


def _long_first(case: Case, book: RuleBook) -> Answers:
    low, high = rhythms.first_time(book).band
    return {"count-inflation": typed((low + high) / 2, "s")}


def _one_rate(belief: str) -> Play:
    def answers(case: Case, book: RuleBook) -> Answers:
        right = rhythms.rate_id(rhythms.rate_rule(book))
        held = [id for id, shown in edition_beliefs(book).items() if shown == belief]
        made = {"count-edition": held[0]} if held and held[0] != right else {}
        return made | _takes_for_good(belief, case, book)

    return answers


def _faster(case: Case, book: RuleBook) -> Answers:
    wrong = {"trapped": _choice_showing("faster-ventilates-better")}
    return wrong | _takes_for_good("faster-ventilates-better", case, book)


def _takes_for_good(belief: str, case: Case, book: RuleBook) -> Answers:
    asked = case["hear"]
    seen = heard_as(asked) != "good" and heard_belief(asked, book) == belief
    return {"hear": "good"} if seen else {}


def _choice_showing(belief: str) -> str:
    beliefs: dict[str, str] = key()["trapped"]["beliefs"]
    return next(id for id, shown in beliefs.items() if shown == belief)


def _gas(belief: str) -> Play:
    return lambda case, book: {"trapped": _choice_showing(belief)}


def _cpr(belief: str) -> Play:
    def answers(case: Case, book: RuleBook) -> Answers:
        facts = case["count-cpr"].facts
        figures = rhythms.cpr_choices(facts["facet"], facts["rate"], book)
        held = [how for how, shown in key()["cpr"].items() if shown == belief and how in figures]
        return {"count-cpr": figures[held[0]][0]} if held else {}

    return answers


def _rushes(case: Case, book: RuleBook) -> Answers:
    asked = case["tap-distracted"]
    faster = FAST * asked.facts["high"] / asked.facts["rate"]
    rate = faster * asked.facts["rate"]
    held = rhythms.count_at(rate, book).inflation
    return {asked.id: tapped(asked, held, faster)}


PLAYS: dict[str, Play] = {
    "two-beats": _two_beats,
    "beat-is-cycle": _beat_is_cycle,
    "equal-times": _equal_times,
    "ratio-turned-round": _turned_round,
    "counts-the-ends": _counts_the_ends,
    "long-first-for-all": _long_first,
    "one-rate-everywhere": _one_rate("one-rate-everywhere"),
    "slow-rate-everywhere": _one_rate("slow-rate-everywhere"),
    "faster-ventilates-better": _faster,
    "same-pip-same-gas": _gas("same-pip-same-gas"),
    "long-inflation-traps": _gas("long-inflation-traps"),
    "ordinary-rate-at-compressions": _cpr("ordinary-rate-at-compressions"),
    "every-event-a-compression": _cpr("every-event-a-compression"),
    "rushes-when-distracted": _rushes,
}
