"""Marks gauge, chest and heart rate together, corrective steps, CPAP and hidden leaks."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding
from workbook.cases import Case, Question, steps
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook
from workbook.units.targets.case import corrective, cpap, heart_first, leaks, seal

POINTS: Mapping[str, float] = {
    leaks.QUESTION: 1.0,
    **dict.fromkeys(seal.QUESTIONS, 2.0),
    **dict.fromkeys(heart_first.QUESTIONS, 2.0),
    corrective.QUESTION: 2.0,
    cpap.QUESTION: 1.0,
}
PRESSURE_TOO_EARLY = ("pressure", ("mask", "position"))  # a step, and those it must not precede
Part = Mapping[str, Any]


@cache
def key() -> Mapping[str, Any]:
    """Return what is said of each situation, and which choice shows which belief."""
    path = Path(__file__).with_name("heart_and_chest.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def part_of(asked: Question) -> str:
    """Return which part of the key a question is marked by."""
    parts = {
        leaks.QUESTION: "leaks", corrective.QUESTION: "corrective", cpap.QUESTION: "cpap",
        **dict.fromkeys(seal.QUESTIONS, "seal"), **dict.fromkeys(heart_first.QUESTIONS, "heart"),
    }  # fmt: skip
    return parts[asked.id]


def kind_of(asked: Question, book: RuleBook) -> str:
    """Return what a question's situation is."""
    facts = asked.facts
    kinds: Mapping[str, Callable[[], str]] = {
        "seal": lambda: seal.found(facts, book),
        "heart": lambda: str(facts["kind"]),
        "cpap": lambda: str(facts["mask"]),
    }
    return kinds.get(part_of(asked), str)()


def right(asked: Question, book: RuleBook) -> str:
    """Return the choice that is right."""
    rights: Mapping[str, Callable[[], str]] = {
        "leaks": lambda: "much",
        "seal": lambda: seal.first(asked.facts, book),
        "heart": lambda: heart_first.first(asked.facts),
        "cpap": lambda: cpap.RIGHT[asked.facts["mask"]],
    }
    return rights[part_of(asked)]()


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers that earn every point."""
    chosen = (id for id in POINTS if id != corrective.QUESTION)
    made: dict[str, Any] = {id: right(case[id], book) for id in chosen}
    return {**made, corrective.QUESTION: list(steps.STEPS)}


def is_critical(asked: Question, book: RuleBook) -> bool:
    """Say whether some choice of a question could harm a baby."""
    return bool(_of(asked, "critical").get(kind_of(asked, book)))


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return the findings on one question."""
    if asked.id == corrective.QUESTION:
        return _ordered(asked, value, book)
    if value not in [option.id for option in asked.options]:
        critical = is_critical(asked, book)
        return checks.no_such_choice(asked.id, POINTS[asked.id], critical=critical)
    return (_chosen(asked, str(value), book),)


def belief_of(asked: Question, chosen: str, book: RuleBook) -> str:
    """Return the misconception that a choice shows; nothing where it shows none."""
    kind, beliefs = kind_of(asked, book), _of(asked, "beliefs")
    return str(beliefs.get(f"{kind}>{chosen}" if kind else chosen, ""))


def _of(asked: Question, what: str) -> Part:
    part: Part = key()[part_of(asked)].get(what, {})
    return part


def _chosen(asked: Question, chosen: str, book: RuleBook) -> Finding:
    kind, points, rule = kind_of(asked, book), POINTS[asked.id], rule_of(asked, book)
    says = explained(asked, book)
    if chosen == right(asked, book):
        says = _("Right. {why}").format(why=says)
        return Finding(asked.id, True, says, points, points, rule=rule.id)
    half = chosen in _of(asked, "half").get(kind, ())
    more = _(_of(asked, "choices").get(chosen, ""))
    critical = chosen in _of(asked, "critical").get(kind, ())
    return Finding(
        asked.id, False, f"{more} {says}".strip(), points / 2 if half else 0.0, points, critical,
        rule.id, checks.source_of(rule), belief_of(asked, chosen, book),
    )  # fmt: skip


def explained(asked: Question, book: RuleBook) -> str:
    """Return why the right choice is right."""
    if asked.id == leaks.QUESTION:
        share = plain(leaks.share(asked.facts, book), "percent")
        return _(key()["leaks"]["says"]).format(share=share)
    slow = book["hr.compress"].text
    return _(_of(asked, "explains")[kind_of(asked, book)]).format(compress=slow)


def rule_of(asked: Question, book: RuleBook) -> Rule:
    """Return the rule that a question rests on."""
    rules = {
        "leaks": "reading.full-needle", "sealed": "cpap.open", "near": "free-flow.open",
        "leak": "reading.pip-not-reached",
        "blocked": "reading.not-volume", "over": "volume.window", "moving": "hr.compress",
        "fine": "ventilation.sign", "rising": "ventilation.sign",
    }  # fmt: skip
    id = rules.get(kind_of(asked, book)) or rules.get(part_of(asked), "corrective.order")
    return book[id]


def _ordered(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    points, rule = POINTS[asked.id], book["corrective.order"]
    if not checks.is_order_of(value, steps.STEPS):
        says = _("it is not an order of the steps that were given. Arrange them and hand in again.")
        return checks.unreadable(asked.id, points, says)
    every, broken = steps.needs(), steps.broken(value)
    if not broken:
        return (
            Finding(asked.id, True, _(key()["corrective"]["right"]), points, points, rule=rule.id),
        )
    # About half of the needs are kept by chance, so credit starts there.
    share = max(0.0, 1 - 2 * len(broken) / len(every))
    if airway_first(value):
        share = 0.0  # the mask was never given its chance
    says = _(key()["corrective"]["wrong"]).format(pairs=len(broken))
    return (
        Finding(
            asked.id, False, says, round(points * share, 2), points, False, rule.id,
            checks.source_of(rule), "pressure-first" if pressure_first(value) else "",
        ),
    )  # fmt: skip


def airway_first(order: list[str]) -> bool:
    """Say whether another airway was put before one of the steps that every baby gets."""
    return any(order.index("airway") < order.index(step) for step in PRESSURE_TOO_EARLY[1])


def pressure_first(order: list[str]) -> bool:
    """Say whether pressure was put before mask and position both."""
    late, early = PRESSURE_TOO_EARLY
    return all(order.index(late) < order.index(step) for step in early)
