"""Corrective steps in their order: an edition's own, or the textbook's where it states none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.starting import whose
from workbook.cases.steps import STEPS, broken
from workbook.core.language import _
from workbook.rules import RuleBook, editions

QUESTION = "corrective"


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
