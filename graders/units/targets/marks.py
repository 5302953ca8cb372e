"""Marks the pressure target exercise: one function for each kind of question."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.targets import heart_and_chest, raise_pip, raise_plays
from workbook.cases import Case, Question, starting
from workbook.core.language import N_, _
from workbook.core.quantities import convert, plain
from workbook.rules import Rule, RuleBook
from workbook.units.targets.case import oxygen, predictions, starting_sets, two_editions
from workbook.units.targets.case.questions import EXERCISE, GAUGES, NUMBERED, TARGETS, texts

POINTS = {
    **dict.fromkeys(TARGETS, 2.0),
    two_editions.QUESTION: 2.0,
    **dict.fromkeys(GAUGES, 1.0),
    **dict.fromkeys(oxygen.QUESTIONS, 2.0),
    **dict.fromkeys((*predictions.READINGS, *predictions.TURNS, predictions.LEAK), 1.0),
    **heart_and_chest.POINTS,
    raise_pip.QUESTION: raise_pip.points(),
}


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: which choice shows which belief, and what is said of it."""
    path = Path(__file__).with_name("key.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    asked = case[question]
    if value is None:
        critical = _is_critical(asked, book)
        return Verdict(question, checks.unanswered(question, POINTS[question], critical=critical))
    return Verdict(question, _MARKS[question](asked, value, book))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    two = case[two_editions.QUESTION]
    answers: dict[str, Any] = {id: right_set(case[id], book) for id in TARGETS}
    answers[two_editions.QUESTION] = statement(two, "both")
    answers |= {id: in_unit(case[id].facts["value"]) for id in GAUGES}
    answers |= {id: oxygen.found(case[id].facts, book)[0] for id in oxygen.QUESTIONS}
    answers |= {id: predictions.read_right(case[id].facts) for id in predictions.READINGS}
    answers |= {
        id: turned_id(case[id], predictions.turned_right(case[id].facts))
        for id in predictions.TURNS
    }
    answers[predictions.LEAK] = predictions.pair_id(
        offered_pairs(case[predictions.LEAK], book)["right"]
    )
    answers |= heart_and_chest.model_answers(case, book)
    answers[raise_pip.QUESTION] = model_run(case[raise_pip.QUESTION], book)
    return answers


def model_run(asked: Question, book: RuleBook) -> Any:
    """Return the run of an expert who raises PIP."""
    return raise_plays.expert(asked, book)


def in_unit(value: float, unit: str = "cmH2O") -> dict[str, str]:
    """Return a pressure in cmH2O as an answer in a unit."""
    return {"text": f"{convert(value, 'cmH2O', unit):.4g}", "unit": unit}


def _is_critical(asked: Question, book: RuleBook) -> bool:
    if asked.id in heart_and_chest.POINTS:
        return heart_and_chest.is_critical(asked, book)
    return asked.id == raise_pip.QUESTION


def _chosen(asked: Question, value: Any) -> str | None:
    ids = {option.id for option in asked.options}
    return value if isinstance(value, str) and value in ids else None


def _no_such_choice(asked: Question, book: RuleBook) -> tuple[Finding, ...]:
    critical = _is_critical(asked, book)
    return checks.no_such_choice(asked.id, POINTS[asked.id], critical=critical)


def _met(
    asked: Question, why: str, rule: Rule, says: str = N_("Right: {why}")
) -> tuple[Finding, ...]:
    points, says = POINTS[asked.id], _(says).format(why=why)
    return (Finding(asked.id, True, says, points, points, rule=rule.id),)


def _missed(
    asked: Question, says: str, rule: Rule, belief: str = "", *, critical: bool = False
) -> tuple[Finding, ...]:
    source, says = checks.source_of(rule), says[:1].upper() + says[1:]
    return (
        Finding(asked.id, False, says, 0.0, POINTS[asked.id], critical, rule.id, source, belief),
    )


# --- starting sets


def baby_of(asked: Question) -> starting.Baby:
    """Return the baby a question is about."""
    return starting.Baby(asked.facts["weeks"], asked.facts["kg"])


def right_set(asked: Question, book: RuleBook) -> str:
    """Return the choice in which every part fits the rules."""
    sets, met = asked.facts["sets"], baby_of(asked)
    return str(next(id for id, each in sets.items() if not starting_sets.broken(each, book, met)))


def _target(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen, met = _chosen(asked, value), baby_of(asked)
    if chosen is None:
        return _no_such_choice(asked, book)
    rules, picked = starting.wanted(book, met), asked.facts["sets"][chosen]
    slips = starting_sets.slips(picked, book, met)
    if not slips:
        return _met(asked, starting_sets.says(picked), rules["pip"])
    found: list[Finding] = []
    for part, slip in slips.items():
        said = key()["set"].get(slip, {})
        asks = _("Asked for here is {asked}.").format(
            asked=starting_sets.asked_of(part, rules, book, met)
        )
        says = f"{asks} {_(said.get('says', ''))}".strip()
        source, points = checks.source_of(rules[part]), 0.0 if found else POINTS[asked.id]
        found.append(
            Finding(asked.id if not found else f"{asked.id}.{part}", False, says, 0.0, points,
                    False, rules[part].id, source, said.get("belief", ""))
        )  # fmt: skip
    return tuple(found)


def statement(asked: Question, claim: str) -> str:
    """Return the choice that makes a claim about two editions."""
    text = two_editions.statements(asked.facts, texts()["two"])[claim]
    return next(option.id for option in asked.options if option.text == text)


def _two(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen = _chosen(asked, value)
    if chosen is None:
        return _no_such_choice(asked, book)
    said = two_editions.statements(asked.facts, texts()["two"])
    claim = next(claim for claim in said if statement(asked, claim) == chosen)
    one, other = two_editions.rules_of(asked.facts)
    if claim == "both":
        return _met(asked, said["both"], one)
    says = _("Right would be: {right} The other edition's source: {source}")
    says = says.format(right=said["both"], source=other.citation)
    concluded = claim.removeprefix(two_editions.SWAPPED)
    wrong = key()["two"].get(concluded) or key()["two"]["swapped"]
    return _missed(asked, says, one, wrong)


# --- oxygen by the table


def _oxygen(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen = _chosen(asked, value)
    if chosen is None:
        return _no_such_choice(asked, book)
    turn, rule = oxygen.found(asked.facts, book)
    told = {
        "minute": plain(asked.facts["minute"], "min"), "asked": rule.shown,
        "saturation": plain(asked.facts["saturation"], "percent"),
    }  # fmt: skip
    says = _(key()["oxygen"]["explains"][turn]).format_map(told)
    if chosen == turn:
        return _met(asked, says, rule)
    return _missed(asked, says, rule, key()["oxygen"]["beliefs"].get(f"{turn}>{chosen}", ""))


# --- the gauge, now and next


def needle_slips(value: float, book: RuleBook) -> dict[str, float]:
    """Return what a learner reads who misreads the scale."""
    number = value // NUMBERED * NUMBERED
    return {
        "small-mark-is-one": number + (value - number) / book["gauge.mark"].value,
        "nearest-number": number + NUMBERED * (2 * (value - number) >= NUMBERED),
    }


def _gauge(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    stands, accept = asked.facts["value"], book["gauge.accept"]
    says, mark = _(key()["needle"]), plain(book["gauge.mark"].value, "cmH2O")
    return checks.reading(
        asked.id, value, stands, accept.value, POINTS[asked.id], rule=accept,
        slips=needle_slips(stands, book), by_eye=book["tolerance.read"].value,
        rounded=book["tolerance.rounded"].value,
        explains=says.format(stands=plain(stands, "cmH2O"), mark=mark),
    )  # fmt: skip


_RESTS_ON = {
    "held": "reading.occluded",
    "released": "reading.release",
    "off": "reading.open-air",
    "low": "relief.ceiling",
    predictions.LEAK: "reading.pip-not-reached",
    "flow": "flow.first",
    "pip": "reading.occluded",
    "peep": "reading.release",
}


def _reading(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen, state = _chosen(asked, value), asked.facts["state"]
    if chosen is None:
        return _no_such_choice(asked, book)
    right, rule, says = (
        predictions.read_right(asked.facts),
        book[_RESTS_ON[state]],
        key()["reading"],
    )
    shows = plain(round(predictions.settles(asked.facts)), "cmH2O")
    told = _("About {reading}: {why}").format(reading=shows, why=_(says["explains"][state]))
    if chosen == right:
        return _met(asked, told, rule)
    return _missed(asked, told, rule, says["beliefs"].get(f"{state}>{chosen}", ""))


def turned_id(asked: Question, moved: str) -> str:
    """Return the choice in which these pressures have moved."""
    return predictions.pair_id(predictions.turn_pairs(asked.facts)[moved])


def _turned(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen, dial = _chosen(asked, value), asked.facts["turned"]
    if chosen is None:
        return _no_such_choice(asked, book)
    right, says = predictions.turned_right(asked.facts), key()["turned"]
    told = _("{readings} The reason: {why}").format(
        readings=predictions.pair_says(predictions.turn_pairs(asked.facts)[right]),
        why=_(says["explains"][dial]),
    )
    rule = book[_RESTS_ON[dial]]
    moved = next(m for m in predictions.turn_pairs(asked.facts) if turned_id(asked, m) == chosen)
    if moved == right:
        return _met(asked, told, rule)
    told = _("The gauge shows: {readings}").format(readings=told)
    return _missed(asked, told, rule, says["beliefs"].get(f"{dial}>{moved}", ""))


# --- a leak


def offered_pairs(asked: Question, book: RuleBook) -> dict[str, predictions.Pair]:
    """Return belief -> the pair of readings it expects of a leak; ``right`` is the model's."""
    return predictions.offered(predictions.leak_pairs(asked.facts), book)


def _pair(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen = _chosen(asked, value)
    if chosen is None:
        return _no_such_choice(asked, book)
    pairs, rule = offered_pairs(asked, book), book[_RESTS_ON[asked.id]]
    explains = _("{readings} The reason: {why}").format(
        readings=predictions.pair_says(pairs["right"]), why=_(key()["explains"][asked.id])
    )
    belief = next(b for b, pair in pairs.items() if predictions.pair_id(pair) == chosen)
    if belief == "right":
        return _met(asked, explains, rule)
    belief = "" if belief in _NO_BELIEF else belief
    says = _("The gauge shows: {readings}").format(readings=explains)
    return _missed(asked, says, rule, belief)


# A choice that nobody is known to believe; it makes the others less easy to guess.
_NO_BELIEF = ("nothing-left",)


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    **dict.fromkeys(TARGETS, _target),
    two_editions.QUESTION: _two,
    **dict.fromkeys(GAUGES, _gauge),
    **dict.fromkeys(oxygen.QUESTIONS, _oxygen),
    **dict.fromkeys(predictions.READINGS, _reading),
    **dict.fromkeys(predictions.TURNS, _turned),
    predictions.LEAK: _pair,
    **dict.fromkeys(heart_and_chest.POINTS, heart_and_chest.marks),
    raise_pip.QUESTION: raise_pip.marks,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
