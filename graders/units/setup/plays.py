"""How a learner who holds a misconception of the set-up order answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from graders.units.setup.bench_plays import BELIEFS, run_with, shows_at_bench
from graders.units.setup.gauge import STANDS, needle
from graders.units.setup.marks import key
from workbook.cases import Case
from workbook.rules import RuleBook
from workbook.units.setup.case.bench import QUESTION
from workbook.units.setup.case.questions import GAUGES, SETUPS

Answers = dict[str, Any]


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    _overlook(answers, case, misconception)
    _read(answers, case, book, misconception)
    if misconception in _IN_WORDS:
        _IN_WORDS[misconception](answers, case)
    mistake = BELIEFS.get(misconception, "")
    if mistake and shows_at_bench(case[QUESTION], mistake):
        answers[QUESTION] = run_with(case[QUESTION], mistake)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    if misconception != "order-is-habit":
        return True
    return any(option.id == misconception for option in case["reason"].options)


def _overlook(answers: Answers, case: Case, misconception: str) -> None:
    """See nothing wrong in the set-ups whose fault the belief makes invisible."""
    for id in SETUPS:
        fault = key()["fault"][case[id].facts["setup"]]
        if key()["overlooked"].get(fault) == misconception:
            answers[id] = "nothing"


def _moved(*steps: str, before: str | None) -> Callable[[Answers, Case], None]:
    def changed(answers: Answers, case: Case) -> None:
        answers["order"] = _with(answers["order"], steps, before)

    return changed


def _with(order: Sequence[str], steps: Sequence[str], before: str | None) -> list[str]:
    rest = [step for step in order if step not in steps]
    at = len(rest) if before is None else rest.index(before)
    return [*rest[:at], *steps, *rest[at:]]


def _read(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Read the needle as somebody does who holds the belief, wherever it reads otherwise."""
    for id in GAUGES:
        slips = needle(case[id], book).slips
        if misconception in slips:
            answers[id] = {"text": f"{slips[misconception]:g}", "unit": "cmH2O"}


def _waits(answers: Answers, case: Case) -> None:
    answers["meanwhile"] = "finish"


def _early(answers: Answers, case: Case) -> None:
    """Put the mask on first, in the order, and where a T-piece is not ready."""
    _moved("fit-mask", "attach-baby", before="set-relief")(answers, case)
    if answers["meanwhile"] == "bag":
        answers["meanwhile"] = "on-baby"


def _no_bag(answers: Answers, case: Case) -> None:
    _moved("ready-bag", before=None)(answers, case)
    answers["shift-check"] = [item for item in answers["shift-check"] if item != "bag"]


def _habit(answers: Answers, case: Case) -> None:
    answers["reason"] = "order-is-habit"


_IN_WORDS: dict[str, Callable[[Answers, Case], None]] = {
    "peep-before-pip": _moved("set-peep", before="set-pip"),
    "flow-any-time": _moved("set-flow", before="fit-mask"),
    "relief-after-pip": _moved("set-relief", before="recheck"),
    "outlet-open": _moved("close-outlet", before="recheck"),
    "baby-before-pressures": _early,
    "baby-waits": _waits,
    "no-second-look": _moved("recheck", before=None),
    "bag-not-needed": _no_bag,
    "needle-trusted": _moved("read-zero", before="set-oxygen"),
    "order-is-habit": _habit,
}

_READ = dict.fromkeys(belief for stands in STANDS.values() for belief in stands.slips)
PLAYS = tuple(dict.fromkeys([*_IN_WORDS, *_READ, *BELIEFS]))
