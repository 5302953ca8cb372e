"""Which beliefs the drawn questions of the set-up show."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken, Typed
from graders.units.setup import bench as setup_bench
from graders.units.setup import bench_plays
from graders.units.setup import gauge as setup_gauge
from graders.units.setup import marks as setup_order
from workbook.cases import Question
from workbook.rules import RuleBook
from workbook.units.setup.case.questions import GAUGES, SETUPS


def _setup(asked: Question, book: RuleBook) -> Beliefs:
    key = setup_order.key()
    belief = key["overlooked"].get(key["fault"][asked.facts["setup"]])
    return [belief] if belief else []


def _meanwhile(asked: Question, book: RuleBook) -> Beliefs:
    key = setup_order.key()
    if key["meanwhile"][asked.facts["stage"]] == "bag":
        return list(key["acts"].values())
    return [key["acts"]["finish"]]


def _reason(asked: Question, book: RuleBook) -> Beliefs:
    reasons = setup_order.key()["reasons"]
    return [reasons[option.id] for option in asked.options if option.id in reasons]


def _check(asked: Question, book: RuleBook) -> Beliefs:
    return ["bag-not-needed"] if "bag" in asked.facts["missing"] else []


def _bench(asked: Question, book: RuleBook) -> Beliefs:
    made = bench_plays.BELIEFS.items()
    return [belief for belief, play in made if bench_plays.shows_at_bench(asked, play)]


def _order(asked: Question, book: RuleBook) -> Beliefs:
    return list(dict.fromkeys(setup_order.key()["breaks"].values()))


def _typed(asked: Question, book: RuleBook) -> Typed:
    needle = setup_gauge.needle(asked, book)
    return Typed(needle.right, needle.rule.value, needle.slips)


def _needle(asked: Question, book: RuleBook) -> Beliefs:
    return _typed(asked, book).shown()


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    return _typed(asked, book).shared(sign) if asked.id in GAUGES else ()


def _needles() -> Iterable[str]:
    return [belief for stands in setup_gauge.STANDS.values() for belief in stands.slips]


SHOWN: Shown = {
    "order": _order,
    **dict.fromkeys(SETUPS, _setup),
    "meanwhile": _meanwhile,
    "reason": _reason,
    "shift-check": _check,
    setup_bench.QUESTION: _bench,
    **dict.fromkeys(GAUGES, _needle),
}
SPOKEN: Spoken = {
    "order": lambda: setup_order.key()["breaks"].values(),
    **dict.fromkeys(SETUPS, lambda: setup_order.key()["overlooked"].values()),
    "meanwhile": lambda: setup_order.key()["acts"].values(),
    "reason": lambda: setup_order.key()["reasons"].values(),
    "shift-check": lambda: ("bag-not-needed",),
    setup_bench.QUESTION: lambda: bench_plays.BELIEFS,
    **dict.fromkeys(GAUGES, _needles),
}
