"""Corrective steps in their order: an edition's own, or the textbook's where it states none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.starting import whose
from workbook.core.language import _
from workbook.rules import RuleBook, editions

QUESTION = "corrective"
# The textbook's order; steps in one group go together, either way round.
STAGES = (("mask", "position"), ("suction", "open"), ("pressure",), ("airway",))
STEPS = tuple(step for stage in STAGES for step in stage)


def lenders(book: RuleBook, *ids: str) -> str:
    """Return whose rules stand in for a book's blanks, by title; nothing where none do."""
    known = editions()
    rules = (book[id] for id in ids)
    return _(" and the ").join(
        dict.fromkeys(known[rule.edition].named for rule in rules if rule.stands_in)
    )


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
    lender = lenders(book, "corrective.order")
    return says.format(lender=lender) if lender else ""


def needs() -> list[tuple[str, str]]:
    """Return (before, after): each step of a stage before each of the next."""
    return [(a, b) for one, two in pairwise(STAGES) for a in one for b in two]


def broken(steps: Sequence[str]) -> list[tuple[str, str]]:
    """Return which of the needs an order breaks."""
    place = {step: n for n, step in enumerate(steps)}
    return [(a, b) for a, b in needs() if place[a] > place[b]]
