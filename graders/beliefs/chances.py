"""Which beliefs a drawn question can show, and in how many of its answers."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from graders.beliefs import typed
from graders.marks.shown import Shown, Spoken
from graders.units.faults import beliefs as of_trials
from graders.units.rate import beliefs as of_rate
from graders.units.setup import beliefs as of_setup
from graders.units.sizing import beliefs as of_sizing
from graders.units.targets import beliefs as of_targets
from workbook.cases import Question
from workbook.cases.pressure_targets import TARGETS
from workbook.cases.rate_counting import HEARD
from workbook.rules import RuleBook

_UNITS = (of_setup, of_targets, of_rate, of_sizing, of_trials)
_SHOWN: Shown = {
    question: shows for part in (*_UNITS, typed) for question, shows in part.SHOWN.items()
}
_SPOKEN: Spoken = {
    question: beliefs for unit in _UNITS for question, beliefs in unit.SPOKEN.items()
}


def chances(asked: Question, book: RuleBook, of: Iterable[str]) -> dict[str, int]:
    """Return which of some beliefs a question can show, each with how many answers show it."""
    wanted = set(of) & speaks(asked.id)
    if not wanted:
        return {}
    found: dict[str, int] = {}
    for belief in _SHOWN[asked.id](asked, book):
        if belief in wanted:
            found[belief] = found.get(belief, 0) + 1
    return found


@cache
def speaks(question: str) -> frozenset[str]:
    """Return every belief that a question can show, whatever is drawn."""
    return frozenset(_SPOKEN[question]()) if question in _SPOKEN else frozenset()


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    if asked.id in TARGETS:
        return of_targets.also_set(asked, value, sign, book)
    if asked.id in typed.TYPED:
        numbers = typed.TYPED[asked.id](asked, book)
        at, near = numbers.get(sign), typed.near(asked, book)
        others = () if at is None else (b for b, n in numbers.items() if abs(n - at) <= near)
        return tuple(b for b in others if b != sign)
    if asked.id == "count-paces":
        return tuple(b for b, paces in of_rate.paces(asked, book) if b != sign and paces == value)
    return of_rate.also_heard(sign) if asked.id in HEARD else ()
