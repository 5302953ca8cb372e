"""Corrective steps in their order: an edition's own, or the textbook's where it states none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.starting import TEXTBOOK, whose
from workbook.rules import Rule, RuleBook, rulebook

QUESTION = "corrective"
# The textbook's order; steps in one group go together, either way round.
STAGES = (("mask", "position"), ("suction", "open"), ("pressure",), ("airway",))
STEPS = tuple(step for stage in STAGES for step in stage)


def rule_or_textbook(book: RuleBook, id: str) -> Rule:
    """Return an edition's rule; the textbook's where the edition states nothing."""
    own = [rule for rule in book.all(id) if rule.stated] if id in book else []
    return own[0] if own else rulebook(TEXTBOOK)[id]


def is_lent(rule: Rule, book: RuleBook) -> bool:
    """Say whether a rule is not what a book itself says."""
    return rule.id not in book or rule not in book.all(rule.id)


def order(book: RuleBook) -> Rule:
    """Return the rule that states the order."""
    return rule_or_textbook(book, "corrective.order")


def tries(book: RuleBook) -> Rule:
    """Return how many inflations are given after a step: the edition's, else an assumption."""
    own = [r for r in book.all("corrective.try") if r.stated] if "corrective.try" in book else []
    return own[0] if own else book["raise.inflations"]


def question(draw: Draw, book: RuleBook, texts: Mapping[str, Any]) -> Question:
    """Return the question that has the steps put in order."""
    begun = draw.shuffled(STEPS)
    while not broken(begun):  # a start that is already right asks nothing
        begun = draw.shuffled(begun)
    return Question(
        QUESTION,
        Kind.SEQUENCE,
        texts["asks"],
        context=texts["stands"].format(whose=whose(book), lent=lent(book, texts["lent"])),
        options=tuple(Option(step, texts["step"][step]) for step in begun),
    )


def lent(book: RuleBook, says: str) -> str:
    """Return a sentence on whose order stands in; nothing where the edition states one."""
    if not is_lent(order(book), book):
        return ""
    return says.format(textbook=rulebook(TEXTBOOK).edition.title)


def needs() -> list[tuple[str, str]]:
    """Return (before, after): each step of a stage before each of the next."""
    return [(a, b) for one, two in pairwise(STAGES) for a in one for b in two]


def broken(steps: Sequence[str]) -> list[tuple[str, str]]:
    """Return which of the needs an order breaks."""
    place = {step: n for n, step in enumerate(steps)}
    return [(a, b) for a, b in needs() if place[a] > place[b]]
