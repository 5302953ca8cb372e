"""Heart rate first, then the chest: what is done next in two drawn situations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.question import Given, Kind, Option, Question
from workbook.cases.starting import baby
from workbook.core.language import number
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook
from workbook.units.targets.case.corrective import lenders

QUESTIONS = ("heart-1", "heart-2")
# What was told, and what is done first.
SITUATIONS: Mapping[str, str] = {"rising": "on", "moving": "compress", "still": "mask"}
NUMBERS: Mapping[str, tuple[str, ...]] = {
    "rising": ("hr.first-check", "hr.ventilate"),
    "moving": ("hr.reassess", "hr.compress"),
    "still": ("hr.reassess", "hr.compress"),
}
STEP = 2  # beats a minute between two drawn heart rates
RISES = (8, 20)  # a minute, by which a rising heart rate has risen
BELOW = (4, 20)  # a minute, by which a slow heart rate lies below its limit


def questions(given: Given) -> list[Question]:
    """Return two situations of the three, in a drawn order."""
    kinds = given.draw.some(SITUATIONS, len(QUESTIONS))
    return given.each(QUESTIONS, kinds, _question)


def _question(id: str, kind: str, given: Given) -> Question:
    draw, book, texts = given.draw, given.book, given.texts
    met = baby(draw, draw.pick(given.groups), book)
    slow, ventilate = (book[f"hr.{name}"].value for name in ("compress", "ventilate"))
    before = slow + STEP * draw.whole(0, (ventilate - slow) // STEP - RISES[1] // STEP - 1)
    facts: dict[str, Any] = {
        "kind": kind, "weeks": met.weeks, "kg": met.kg, "before": before,
        "now": before + STEP * draw.whole(*(end // STEP for end in RISES)),
        "low": slow - STEP * draw.whole(*(end // STEP for end in BELOW)),
    }  # fmt: skip
    said = {
        "baby": met.says,
        **{name: number(facts[name]) for name in ("before", "now", "low")},
        "first": book["hr.first-check"].text,
        "reassess": _span(book["hr.reassess"]),
    }
    stands = texts["stands"][kind].format_map(said)
    return Question(
        id,
        Kind.CHOICE,
        texts["asks"],
        context=" ".join([stands, *_lent(kind, book, texts["lent"])]),
        options=tuple(draw.shuffled(Option(act, says) for act, says in texts["option"].items())),
        facts=facts,
    )


def _span(rule: Rule) -> str:
    """Return a time as it was spent: its lower end, where the rule says "or more"."""
    return plain(rule.low if rule.low is not None else rule.value, rule.unit or "")


def _lent(kind: str, book: RuleBook, says: str) -> list[str]:
    """Return a sentence where a number of the situation is another edition's."""
    lender = lenders(book, *NUMBERS[kind])
    return [says.format(edition=book.edition.named, lender=lender)] if lender else []


def first(facts: Mapping[str, Any]) -> str:
    """Return what is done first in a situation."""
    return SITUATIONS[facts["kind"]]
