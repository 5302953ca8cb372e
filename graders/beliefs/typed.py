"""Which beliefs a number that is typed shows: a needle that is read, a rate from a strip."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from graders.marks.shown import Beliefs, Numbers, Shown
from graders.units.setup import gauge as setup_gauge
from graders.units.targets import marks as pressure_targets
from workbook.cases import Question
from workbook.cases.pressure_targets import GAUGES
from workbook.cases.setup_order import GAUGES as NEEDLES
from workbook.rules import RuleBook


def _needle(asked: Question, book: RuleBook) -> Numbers:
    return setup_gauge.needle(asked, book).slips


def _read(asked: Question, book: RuleBook) -> Numbers:
    return pressure_targets.needle_slips(asked.facts["value"], book)


def _strip(asked: Question, book: RuleBook) -> Numbers:
    return {"stretch-is-a-minute": float(asked.facts["inflations"])}


TYPED: Mapping[str, Callable[[Question, RuleBook], Numbers]] = {
    **dict.fromkeys(NEEDLES, _needle),
    **dict.fromkeys(GAUGES, _read),
    "strip-rate": _strip,
}


def near(asked: Question, book: RuleBook) -> float:
    """Return how near to a belief's number a typed one shows it."""
    if asked.id in NEEDLES:
        return setup_gauge.needle(asked, book).rule.value
    return book["gauge.accept"].value if asked.id in GAUGES else 0.0


def _right(asked: Question, book: RuleBook) -> float:
    if asked.id in NEEDLES:
        return setup_gauge.needle(asked, book).right
    return float(asked.facts["value"] if asked.id in GAUGES else asked.facts["rate"])


def _numbers(asked: Question, book: RuleBook) -> Beliefs:
    """Return the beliefs whose number does not count as right."""
    right, apart = _right(asked, book), near(asked, book) + 1e-9
    return [b for b, at in TYPED[asked.id](asked, book).items() if abs(at - right) > apart]


SHOWN: Shown = dict.fromkeys(TYPED, _numbers)
