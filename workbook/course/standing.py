"""What a learner is told of the edition a course asks about: whether it is in force, what it lacks.

Numbers themselves say where they come from; these sentences stand at the head of each page.
"""

from __future__ import annotations

from workbook.core.language import N_, _
from workbook.rules import RuleBook, superseded
from workbook.rules.edition import PRACTICE

# What the pages ask of an edition, in the order they meet it.
NEEDED = {
    "pip.start": N_("starting PIP"),
    "peep.start": N_("starting PEEP"),
    "pip.ceiling": N_("highest PIP"),
    "oxygen.start": N_("starting oxygen"),
    "rate": N_("rate"),
    "inflation-time": N_("inflation time"),
    "hr.ventilate": N_("heart rate limits"),
    "corrective.order": N_("corrective steps"),
}
TEXTBOOK = "textbook-2021"


def of_edition(book: RuleBook) -> str:
    """Return the sentences for a learner's page; empty where there is nothing to say."""
    return " ".join(part for part in (superseded(book.edition), lacking(book)) if part)


def lacking(book: RuleBook) -> str:
    """Return what the edition gives no number for, and what stands in."""
    lacks = [_(name) for id, name in NEEDED.items() if _lacks(book, id)]
    if not lacks or book.edition.id == PRACTICE:
        return ""
    says = _(
        "We have not read in this edition, for some or all babies: {what}. Common practice or "
        "another edition stands in; each number names its source."
    )
    if book.edition.id == TEXTBOOK:
        says = _(
            "We have not read in this edition, for some or all babies: {what}. Common practice "
            "stands in; each number names its source."
        )
    return says.format(what=", ".join(lacks))


def _lacks(book: RuleBook, id: str) -> bool:
    rules = book.all(id) if id in book else ()
    return not rules or any(rule.stands_in or not rule.stated for rule in rules)
