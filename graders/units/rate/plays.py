"""How a learner who holds a misconception of rate and counting answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from graders.units.rate.marks import (
    heard_as,
    heard_belief,
    pair_beliefs,
    rate_beliefs,
    trapped_beliefs,
    typed,
)
from graders.units.rate.tap_marks import APART, begun, tapped, tapped_then
from workbook.cases import Case, Question, pace
from workbook.rules import RuleBook, rulebook
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import HEARD, TAPPED

Answers = dict[str, Any]
Play = Callable[[Case, RuleBook], Answers]
FAST = 1.25  # times the top of the band: surely above it


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    answers.update(PLAYS[misconception](case, book))


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    return bool(PLAYS[misconception](case, rulebook(case.edition)))


def _equal_times(case: Case, book: RuleBook) -> Answers:
    made = {}
    for id in TAPPED:
        count = rhythms.count_at(case[id].facts["rate"], book)
        held = (count.inflation + count.release) / 2
        made[id] = tapped(case[id], held, long=begun(case[id], book))
    return made


def _turned_round(case: Case, book: RuleBook) -> Answers:
    made = {}
    for id in TAPPED:
        held = rhythms.count_at(case[id].facts["rate"], book).release
        made[id] = tapped(case[id], held, long=begun(case[id], book))
    return made | _takes_for_good("ratio-turned-round", case, book)


def _stretch(case: Case, book: RuleBook) -> Answers:
    asked = case["strip-rate"]
    return {asked.id: typed(asked.facts["inflations"], pace.PER_MINUTE)}


def _long_first(case: Case, book: RuleBook) -> Answers:
    low, high = rhythms.first_time(book).band
    held = (low + high) / 2
    return {id: _slowly(case[id], held) for id in TAPPED}


def _slowly(asked: Question, held: float) -> dict[str, Any]:
    """Return a count in which every inflation is a long one."""
    return tapped(asked, held, 60 / (held + APART) / asked.facts["rate"])


def _at_once(case: Case, book: RuleBook) -> Answers:
    made = {}
    for id in TAPPED:
        if case[id].facts["begins"]:
            made[id] = tapped(case[id], rhythms.count_at(case[id].facts["rate"], book).inflation)
    return made


def _one_rate(belief: str) -> Play:
    def answers(case: Case, book: RuleBook) -> Answers:
        asked = case["count-paces"]
        held = [paces for paces, shown in rate_beliefs(asked, book).items() if shown == belief]
        made = {asked.id: list(held[0])} if held else {}
        return made | _takes_for_good(belief, case, book)

    return answers


def _faster(case: Case, book: RuleBook) -> Answers:
    return _takes_for_good("faster-ventilates-better", case, book)


def _takes_for_good(belief: str, case: Case, book: RuleBook) -> Answers:
    heard = [case[id] for id in HEARD if heard_as(case[id], book) != "good"]
    return {asked.id: "good" for asked in heard if heard_belief(asked, book) == belief}


def _gas(belief: str) -> Play:
    def answers(case: Case, book: RuleBook) -> Answers:
        shown = trapped_beliefs(case["trapped"], book)
        held = [id for id, each in shown.items() if each == belief]
        return {"trapped": held[0]} if held else {}

    return answers


def _pair(belief: str) -> Play:
    def answers(case: Case, book: RuleBook) -> Answers:
        shown = pair_beliefs(case["count-cpr"], book)
        held = [say for say, each in shown.items() if each == belief]
        return {"count-cpr": held[0]} if held else {}

    return answers


def _rushes(case: Case, book: RuleBook) -> Answers:
    asked = case["tap-distracted"]
    faster = FAST * asked.facts["high"] / asked.facts["rate"]
    return {asked.id: tapped_then(asked, faster, asked.shows["distraction"]["at"])}


PLAYS: dict[str, Play] = {
    "equal-times": _equal_times,
    "ratio-turned-round": _turned_round,
    "stretch-is-a-minute": _stretch,
    "long-first-for-all": _long_first,
    "begins-at-once": _at_once,
    "one-rate-everywhere": _one_rate("one-rate-everywhere"),
    "slow-rate-everywhere": _one_rate("slow-rate-everywhere"),
    "faster-ventilates-better": _faster,
    "same-pip-same-gas": _gas("same-pip-same-gas"),
    "only-rate-traps": _gas("only-rate-traps"),
    "slow-rate-traps": _gas("slow-rate-traps"),
    "stiff-lung-traps": _gas("stiff-lung-traps"),
    "ordinary-rate-at-compressions": _pair("ordinary-rate-at-compressions"),
    "every-event-a-compression": _pair("every-event-a-compression"),
    "rushes-when-distracted": _rushes,
}
