"""What every play is made of: a number as it is typed, a choice that is offered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from workbook.cases import Case, Question
from workbook.rules import RuleBook

Answers = dict[str, Any]
Play = Callable[[Case, RuleBook, Random], Answers]
EYE = 0.25  # cmH2O (SD): how nearly a needle is read
Said = Mapping[str, Callable[[Question], str | None]]


def number(value: float, unit: str = "cmH2O") -> dict[str, str]:
    """Return a number as it is typed."""
    return {"text": f"{value:g}", "unit": unit}


def has(asked: Question, id: str) -> str | None:
    """Return a choice where it is offered."""
    return id if any(option.id == id for option in asked.options) else None


def both(*plays: Callable[[Case, RuleBook, Random], Answers]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made: Answers = {}
        for play in plays:
            made |= play(case, book, chance)
        return made

    return played
