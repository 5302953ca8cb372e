"""Marks the sizing exercise: a mask on a face, choices, and depths and diameters as numbers."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders import checks, mask_place
from graders import interface_right as right
from graders.verdict import Finding, Verdict
from workbook.cases import Case, Question
from workbook.cases.interface_sizing import EXERCISE
from workbook.cases.interface_tubes import millimetres, plus_six
from workbook.language import N_, _
from workbook.rules import Rule, RuleBook
from workbook.rules.files import file
from workbook.units import plain

CHOICES = (
    "mask-between", "seal-check", "wrong-trolley", "tube-weight", "tube-rules", "tube-estimated",
    "growth-restricted", "tube-effect", "depth-small", "catheter-fills", "suction", "supraglottic",
)  # fmt: skip
NUMBERS = ("depth-plus", "depth-ntl", "catheter-mm")
DEPTHS = ("depth-plus", "depth-ntl")
CRITICAL = ("mask-place", "seal-check", "wrong-trolley", "growth-restricted", "suction",
            "depth-small", "supraglottic", *DEPTHS)  # fmt: skip
POINTS = {"mask-place": mask_place.points()} | dict.fromkeys((*CHOICES, *NUMBERS), 1.0)


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: right choices, and which choice shows which belief."""
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    asked = case[question]
    if value is None:
        critical = question in CRITICAL
        missed = checks.unanswered(question, POINTS[question], critical=critical)
        return Verdict(question, missed)
    return Verdict(question, _MARKS[question](asked, value, book))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    answers = {id: right.choice(case[id], book, key()) for id in CHOICES}
    numbers = {id: typed(*_right_number(case[id])) for id in NUMBERS}
    return {"mask-place": mask_place.model(case["mask-place"]), **answers, **numbers}


def typed(value: float, unit: str) -> dict[str, str]:
    """Return a number as a learner types it."""
    return {"text": f"{value:.2f}", "unit": unit}


def rule_of(id: str, book: RuleBook, facts: Mapping[str, Any] | None = None) -> Rule:
    """Return a rule by its id: the edition's or the site's, or one of sizes that fits the baby."""
    if id in book:
        return book.all(id)[0]
    given = facts or {}
    whom = given.get("weeks"), given.get("grams")
    found = [r for r in file("sizes").all(id) if r.population.includes(*whom)]
    return found[0] if found else file("sizes").all(id)[0]


# --- choices


def _choice(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    points, best = POINTS[asked.id], right.choice(asked, book, key())
    if value not in [option.id for option in asked.options] or not isinstance(value, str):
        return checks.no_such_choice(asked.id, points, critical=asked.id in CRITICAL)
    why = key()["why"][asked.id]
    named = right.airway(asked, book) if asked.id == "supraglottic" else book
    rule = rule_of(why["rule"], named, asked.facts)
    because = _(why["says"]).format_map(right.said(asked, book))
    if value == best:
        says = _("Right: {why}").format(why=because)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    belief, critical = right.slip(asked, value, book, key())
    says = _("That is not it. {why}").format(why=because)
    return (
        Finding(asked.id, False, says, 0.0, points, critical, rule.id,
                checks.source_of(rule), belief),
    )  # fmt: skip


# --- numbers


def _right_number(asked: Question) -> tuple[float, str]:
    facts, book = asked.facts, file("sizes")
    if asked.id == "depth-plus":
        return plus_six(facts["grams"]), "cm"
    if asked.id == "depth-ntl":
        return facts["ntl"] + book["depth.ntl-plus.add"].value, "cm"
    return millimetres(facts["french"]), "mm"


def _number(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    best, unit = _right_number(asked)
    points, table = POINTS[asked.id], key()["number"][asked.id]
    accept = file("sizes")["depth.accept" if asked.id in DEPTHS else "catheter.accept"].value
    try:
        got = checks.number_in(value, unit)
    except ValueError as error:
        critical = asked.id in DEPTHS
        return checks.unreadable(asked.id, points, str(error), critical=critical)
    rule, shown = rule_of(table["rule"], book, asked.facts), plain(got, unit)
    french = plain(asked.facts.get("french", 0.0), "Fr")
    per = file("sizes")["french.in-millimetre"].text
    filled = {"right": plain(round(best, 2), unit), "french": french, "per": per}
    why = _(table["says"]).format_map(filled)
    if abs(got - best) <= accept + 1e-9:
        says = _("{got} is right: {why}").format(got=shown, why=why)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    says, belief, critical = _wrong(asked, got, best, accept)
    return (
        Finding(asked.id, False, _(says).format(got=shown, says=why), 0.0, points,
                critical, rule.id, checks.source_of(rule), belief),
    )  # fmt: skip


def _wrong(asked: Question, got: float, best: float, accept: float) -> tuple[str, str, bool]:
    """Return (sentence to fill in, belief, critical) for a number that is not right."""
    if asked.id not in DEPTHS:
        is_french = abs(got - asked.facts["french"]) <= accept
        return N_("{got} is not its width: {says}"), "french-is-mm" if is_french else "", False
    if asked.id == "depth-plus" and got > asked.facts["grams"]:
        return str(key()["number"]["depth-plus"]["grams"]), "", False
    if got - best >= file("sizes")["depth.too-deep"].value - 1e-9:
        return N_("{got} is too deep: {says}"), "", True
    return N_("{got} is not this depth: {says}"), "", False


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    "mask-place": mask_place.marks,
    **dict.fromkeys(CHOICES, _choice),
    **dict.fromkeys(NUMBERS, _number),
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
