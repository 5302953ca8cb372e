"""Marks the sizing exercise: masks on faces, choices, and a depth as a number."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.sizing import mask_place, right
from workbook.cases import Case, Question
from workbook.core.language import N_, _, number
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook
from workbook.rules.files import file
from workbook.units.sizing.case.questions import EXERCISE
from workbook.units.sizing.case.tubes import by_plus, depths

CHOICES = (
    "seal-check", "mask-hold", "interface-next", "tube-weight", "depth-small", "confirm", "suction",
)  # fmt: skip
FACES = ("mask-place", "mask-between")
CRITICAL = ("mask-place", "seal-check", "mask-hold", "interface-next", "depth", "depth-small",
            "confirm", "suction")  # fmt: skip
POINTS = {
    "mask-place": 5.0, "mask-between": 2.0, "seal-check": 2.0, "mask-hold": 2.0,
    "interface-next": 2.0, "tube-weight": 1.0, "depth": 1.0, "depth-small": 1.0,
    "confirm": 2.0, "suction": 2.0,
}  # fmt: skip


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: right choices, and which choice shows which belief."""
    return tomllib.loads(Path(__file__).with_name("key.toml").read_text(encoding="utf-8"))


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
    laid = {id: mask_place.model(case[id]) for id in FACES}
    chosen = {id: right.choices(case[id], key())[0] for id in CHOICES}
    return {**laid, **chosen, "depth": typed(_right_depth(case["depth"]), "cm")}


def typed(value: float, unit: str) -> dict[str, str]:
    """Return a number as a learner types it."""
    return {"text": f"{value:.2f}", "unit": unit}


def rule_of(id: str, book: RuleBook, facts: Mapping[str, Any]) -> Rule:
    """Return a rule by its id: the edition's or the site's, or one of sizes that fits the baby."""
    if id == "supraglottic.from" and not (id in book and book.all(id)[0].stated):
        return file("sizes")["laryngeal-mask.gestation"]
    if id in book:
        return book.all(id)[0]
    whom = facts.get("weeks"), facts.get("grams")
    found = [r for r in file("sizes").all(id) if r.population.includes(*whom)]
    return found[0] if found else file("sizes").all(id)[0]


# --- choices


def _choice(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    points, accepted = POINTS[asked.id], right.choices(asked, key())
    if value not in [option.id for option in asked.options] or not isinstance(value, str):
        return checks.no_such_choice(asked.id, points, critical=asked.id in CRITICAL)
    why = _why(asked, accepted[0])
    rule = rule_of(why["rule"], book, asked.facts)
    because = _(why["says"]).format_map(right.said(asked, book))
    if value in accepted:
        says = _("Right: {why}").format(why=because)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    belief, critical = right.slip(asked, value, key())
    half = right.half(asked, value, key())
    says = (_(half) if half else _("That is not it.")) + " " + because
    return (
        Finding(asked.id, False, says, points / 2 if half else 0.0, points, critical, rule.id,
                checks.source_of(rule), belief),
    )  # fmt: skip


def _why(asked: Question, best: str) -> Mapping[str, str]:
    """Return the rule and the sentence that say why a choice is the best one."""
    table: Mapping[str, Mapping[str, str]] = key()["why"][asked.id]
    if asked.id == "tube-weight":
        return table["any"]
    return table[best if asked.id == "depth-small" else right.situation(asked)]


# --- the depth


def _by(asked: Question) -> str:
    return "ntl" if "ntl" in asked.facts else "plus"


def _right_depth(asked: Question) -> float:
    if _by(asked) == "ntl":
        return float(asked.facts["ntl"]) + file("sizes")["depth.ntl-plus.add"].value
    return by_plus(asked.facts["grams"])


def _depth(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    best, points, table = _right_depth(asked), POINTS[asked.id], key()["number"][_by(asked)]
    try:
        got = checks.number_in(value, "cm")
    except ValueError as error:
        return checks.unreadable(asked.id, points, str(error), critical=True)
    rule, shown = rule_of(table["rule"], book, asked.facts), plain(got, "cm")
    add = number(file("sizes")[f"{table['rule']}.add"].value)
    why = _(table["says"]).format(right=plain(round(best, 2), "cm"), add=add)
    if abs(got - best) <= file("sizes")["depth.accept"].value + 1e-9:
        says = _("{got} is right: {why}").format(got=shown, why=why)
        return (Finding(asked.id, True, says, points, points, rule=rule.id),)
    says, critical = _wrong(asked, got)
    return (
        Finding(asked.id, False, _(says).format(got=shown, says=why), 0.0, points,
                critical, rule.id, checks.source_of(rule)),
    )  # fmt: skip


def _wrong(asked: Question, got: float) -> tuple[str, bool]:
    """Return (sentence to fill in, whether it could do harm) for a depth that is not right."""
    if got > asked.facts.get("grams", float("inf")):
        return str(key()["number"]["plus"]["grams"]), False
    if got - _deepest(asked) >= file("sizes")["depth.too-deep"].value - 1e-9:
        return N_("{got} is too deep: {says}"), True
    return N_("{got} is not this depth: {says}"), False


def _deepest(asked: Question) -> float:
    """Return the greatest depth (cm) that any rule gives for what was drawn."""
    if _by(asked) == "ntl":
        return _right_depth(asked)
    return max(depths(asked.facts["grams"]).values())


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    "mask-place": mask_place.marks,
    "mask-between": mask_place.marks_between,
    **dict.fromkeys(CHOICES, _choice),
    "depth": _depth,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
