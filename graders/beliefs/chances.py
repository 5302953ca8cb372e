"""Which beliefs a drawn question can show, and in how many of its answers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from graders.marks.unit import Signs
from graders.units import units
from workbook.cases import Question
from workbook.rules import RuleBook


@cache
def _signs() -> Mapping[str, Signs]:
    """Return, by question, what knows which beliefs it shows."""
    signs = [unit.beliefs for unit in units().values()]
    return {question: each for each in signs for question in (*each.SHOWN, *each.SPOKEN)}


def chances(asked: Question, book: RuleBook, of: Iterable[str]) -> dict[str, int]:
    """Return which of some beliefs a question can show, each with how many answers show it."""
    wanted = set(of) & speaks(asked.id)
    if not wanted:
        return {}
    found: dict[str, int] = {}
    for belief in _signs()[asked.id].SHOWN[asked.id](asked, book):
        if belief in wanted:
            found[belief] = found.get(belief, 0) + 1
    return found


@cache
def speaks(question: str) -> frozenset[str]:
    """Return every belief that a question can show, whatever is drawn."""
    signs = _signs().get(question)
    return frozenset(signs.SPOKEN[question]() if signs and question in signs.SPOKEN else ())


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    signs = _signs().get(asked.id)
    return signs.shared(asked, value, sign, book) if signs else ()
