"""Marks the pressure target exercise: one function for each kind of question."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders import checks, heart_and_chest, raise_pip, raise_plays
from graders.verdict import Finding, Verdict
from workbook.cases import Case, Question, predictions, starting, two_editions
from workbook.cases.pressure_targets import EXERCISE, GAUGES, NUMBERED, TARGETS, texts
from workbook.language import N_, _
from workbook.rules import Rule, RuleBook
from workbook.units import convert, plain

POINTS = {
    **dict.fromkeys(TARGETS, 2.0),
    two_editions.QUESTION: 2.0,
    **dict.fromkeys(GAUGES, 1.0),
    **dict.fromkeys((*predictions.NUMBERS[:3], *predictions.CHOICES), 1.0),
    predictions.NUMBERS[3]: 1.0,
    **heart_and_chest.POINTS,
    raise_pip.QUESTION: raise_pip.points(),
}


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: which choice shows which belief, and what is said of it."""
    path = Path(__file__).with_name("pressure_targets.toml")
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
    answers |= {id: in_unit(case[id].facts["value"], case[id].facts["asked"]) for id in GAUGES}
    answers |= {id: in_unit(right_reading(case[id], book)) for id in predictions.NUMBERS}
    for id in predictions.CHOICES:
        answers[id] = predictions.pair_id(offered_pairs(case[id], book)["right"])
    answers |= heart_and_chest.model_answers(case, book)
    answers[raise_pip.QUESTION] = raise_plays.expert(case[raise_pip.QUESTION], book)
    return answers


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
    source = checks.source_of(rule)
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
    return str(next(id for id, each in sets.items() if not starting.broken(each, book, met)))


def _target(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen, met = _chosen(asked, value), baby_of(asked)
    if chosen is None:
        return _no_such_choice(asked, book)
    rules, picked = starting.wanted(book, met), asked.facts["sets"][chosen]
    wrong = starting.broken(picked, book, met)
    if not wrong:
        return _met(asked, starting.says(picked), rules["pip"])
    said = key()["set"].get(starting.slip_of(picked, book, met), {})
    asks = "; ".join(f"{_(starting.NAMES[part])}: {rules[part].shown}" for part in wrong)
    says = _("Asked for here is {asked}.").format(asked=asks)
    says = f"{says} {_(said.get('says', ''))}".strip()
    return _missed(asked, says, rules[wrong[0]], said.get("belief", ""))


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
    return _missed(asked, says, one, key()["two"].get(claim, ""))


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
    return checks.measured(
        asked.id, value, stands, accept.value, POINTS[asked.id],
        asked=asked.facts["asked"], rule=accept, slips=needle_slips(stands, book),
        told=_of_the_scale(book),
    )  # fmt: skip


def _of_the_scale(book: RuleBook) -> dict[str, str]:
    """Return what is said of each way to misread the scale."""
    mark = plain(book["gauge.mark"].value, "cmH2O")
    return {slip: _(says).format(mark=mark) for slip, says in key()["needle"].items()}


def right_reading(asked: Question, book: RuleBook) -> float:
    """Return what the gauge shows in a prediction (cmH2O), by the model."""
    held, released = predictions.shown(asked.facts)
    if asked.id == "predict-mask-off":
        return book["reading.open-air"].value
    return round(released if asked.id == "predict-released" else held, 1)


def reading_slips(asked: Question) -> dict[str, float]:
    """Return belief -> what a learner who holds it expects of the gauge (cmH2O)."""
    facts = asked.facts
    return {
        "predict-held": {
            "pip-plus-peep": facts["pip"] + facts["peep"],
            "gauge-shows-relief": facts["relief"],
        },
        "predict-released": {"falls-to-zero": 0.0},
        "predict-mask-off": {"occluding-makes-pip": facts["pip"], "open-shows-peep": facts["peep"]},
        "predict-relief": {"relief-is-no-ceiling": facts["pip"]},
    }[asked.id]


_RESTS_ON = {
    "predict-held": "reading.occluded",
    "predict-released": "reading.release",
    "predict-mask-off": "reading.open-air",
    "predict-relief": "relief.ceiling",
    "predict-leak": "reading.pip-not-reached",
    "predict-flow": "flow.first",
}
_ACCEPTED = {
    "predict-held": "pip.accept",
    "predict-released": "peep.accept",
    "predict-mask-off": "reading.open-air.accept",
    "predict-relief": "relief.accept",
}


def _predicted(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    return checks.reading(
        asked.id, value, right_reading(asked, book), book[_ACCEPTED[asked.id]].value,
        POINTS[asked.id], explains=_(key()["explains"][asked.id]), rule=book[_RESTS_ON[asked.id]],
        slips=reading_slips(asked),
    )  # fmt: skip


def offered_pairs(asked: Question, book: RuleBook) -> dict[str, predictions.Pair]:
    """Return belief -> the pair of readings it expects; ``right`` is the model's."""
    made = predictions.leak_pairs if "leak" in asked.facts else predictions.flow_pairs
    return predictions.offered(made(asked.facts), book)


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


# Choices that nobody is known to believe; they make the others less easy to guess.
_NO_BELIEF = ("nothing-left", "flow-spares-peep", "more-flow-less-pressure")


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    **dict.fromkeys(TARGETS, _target),
    two_editions.QUESTION: _two,
    **dict.fromkeys(GAUGES, _gauge),
    **dict.fromkeys(predictions.NUMBERS, _predicted),
    **dict.fromkeys(predictions.CHOICES, _pair),
    **dict.fromkeys(heart_and_chest.POINTS, heart_and_chest.marks),
    raise_pip.QUESTION: raise_pip.marks,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
