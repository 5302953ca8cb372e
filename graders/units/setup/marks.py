"""Marks the set-up order exercise: one function for each kind of question."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.setup import bench as setup_bench
from graders.units.setup import gauge as setup_gauge
from workbook.cases import Case, Question
from workbook.core.language import N_, _
from workbook.rules import RuleBook
from workbook.units.setup.case.questions import EXERCISE, GAUGES, SETUPS, texts

POINTS = {
    "order": 7.0,
    "setup-1": 2.0,
    "setup-2": 2.0,
    "meanwhile": 2.0,
    "reason": 2.0,
    "gauge-held": 1.0,
    "gauge-released": 1.0,
    "gauge-open": 1.0,
    "shift-check": 2.0,
    setup_bench.QUESTION: setup_bench.points(),
}


@cache
def key() -> Mapping[str, Any]:
    """Return the marker's own data: right faults, and which choice shows which belief."""
    path = Path(__file__).with_name("key.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one question; ``value`` is None when it was not answered."""
    asked = case[question]
    mark = _MARKS[question]
    if value is None:
        missed = checks.unanswered(question, POINTS[question], critical=_is_critical(asked))
        return Verdict(question, missed)
    return Verdict(question, mark(asked, value, book))


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return answers to a case that earn every point."""
    answers: dict[str, Any] = {
        "order": list(book.procedure("set-up").ids),
        "reason": case["reason"].facts["step"],
        "meanwhile": key()["meanwhile"][case["meanwhile"].facts["stage"]],
        "shift-check": list(case["shift-check"].facts["missing"]),
        setup_bench.QUESTION: model_run(case[setup_bench.QUESTION], book),
    }
    for id in GAUGES:
        answers[id] = _typed(setup_gauge.needle(case[id], book).right)
    for id in SETUPS:
        answers[id] = key()["fault"][case[id].facts["setup"]]
    return answers


def model_run(asked: Question, book: RuleBook) -> Any:
    """Return the run of an expert who sets the bench up."""
    return setup_bench.model_run(asked)


def _typed(value: float) -> dict[str, str]:
    return {"text": f"{value:g}", "unit": "cmH2O"}


def _is_critical(asked: Question) -> bool:
    if asked.id in SETUPS:
        return key()["fault"][asked.facts["setup"]] in key()["critical_faults"]
    if asked.id == "meanwhile":
        return _waits(asked)
    return asked.id in ("order", "shift-check", setup_bench.QUESTION)


def _order(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    procedure = book.procedure("set-up")
    if not checks.is_order_of(value, procedure.ids):
        says = _("it does not name each step once. Arrange the steps again and hand in.")
        return checks.unreadable(asked.id, POINTS["order"], says, critical=True)
    return checks.in_order(value, procedure, POINTS["order"], key()["breaks"], key()["unless"])


def _chosen(asked: Question, value: Any) -> str | None:
    ids = {option.id for option in asked.options}
    return value if isinstance(value, str) and value in ids else None


def _no_such_choice(asked: Question) -> tuple[Finding, ...]:
    return checks.no_such_choice(asked.id, POINTS[asked.id], critical=_is_critical(asked))


def _setup(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen, right = _chosen(asked, value), key()["fault"][asked.facts["setup"]]
    if chosen is None:
        return _no_such_choice(asked)
    step = book.procedure("set-up")[key()["rests_on"][right]]
    points = POINTS[asked.id]
    # Who names another fault has seen that this set-up is not safe.
    critical = right in key()["critical_faults"] and chosen in ("nothing", right)
    fault = texts()["fault"]
    if chosen == right:
        says = _("Right: this set-up is safe.")
        says = says if right == "nothing" else _("Seen: {fault}").format(fault=fault[right])
        return (Finding(asked.id, True, says, points, points, critical, step.id),)
    says = _("You chose “{chosen}” The point here: {fault} {reason}")
    if right == "nothing":
        says = _("You chose “{chosen}” But every step is there, in a safe order.")
    says = says.format(chosen=fault[chosen], fault=fault[right], reason=_(step.reason))
    # Overlooking a fault shows the belief that makes it invisible; naming another one does not.
    belief = key()["overlooked"].get(right, "") if chosen == "nothing" else ""
    return (
        Finding(asked.id, False, says, 0.0, points, critical, step.id, str(step.citation), belief),
    )


def _reason(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    chosen = _chosen(asked, value)
    if chosen is None:
        return _no_such_choice(asked)
    step = book.procedure("set-up")[asked.facts["step"]]
    points = POINTS["reason"]
    if chosen == step.id:
        says = _("Right: {why}").format(why=_(step.reason))
        return (Finding("reason", True, says, points, points, rule=step.id),)
    belief = key()["reasons"].get(chosen, "")
    says = _("That is not the reason. {reason}").format(reason=_(step.reason))
    return (
        Finding("reason", False, says, 0.0, points, False, step.id, str(step.citation), belief),
    )


def _waits(asked: Question) -> bool:
    """Say whether the T-piece is not ready, so that only the bag ventilates at once."""
    return bool(key()["meanwhile"][asked.facts["stage"]] == "bag")


SAFE = 0.25  # of the points for a bag where a T-piece is ready: it harms nobody, and gives no PEEP


def _meanwhile(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """The bag is safe whatever the T-piece's state; a ready T-piece earns everything."""
    chosen, right = _chosen(asked, value), key()["meanwhile"][asked.facts["stage"]]
    if chosen is None:
        return _no_such_choice(asked)
    waits, points = _waits(asked), POINTS[asked.id]
    step = book.procedure("set-up")["ready-bag" if waits else "attach-baby"]
    source = str(step.citation)
    if chosen == right:
        says = _("Right: the bag ventilates at once, and nobody waits for the set-up.")
        says = says if waits else _("Right: the T-piece is ready, and both pressures are known.")
        return (Finding(asked.id, True, says, points, points, waits, step.id),)
    if chosen == "bag":
        says = _("Safe, and the baby is ventilated. But this T-piece is ready, and it gives PEEP.")
        return (Finding(asked.id, False, says, points * SAFE, points, False, step.id, source),)
    belief = key()["acts"].get(chosen, "")
    if not waits:
        belief = belief if belief == "baby-waits" else ""
        says = _("This T-piece is ready: ventilate with it now. The baby waits for nothing.")
        unventilated = chosen in _UNVENTILATED
        says = f"{_(_HARM[chosen])} {says}" if unventilated else says
        return (Finding(asked.id, False, says, 0.0, points, unventilated, step.id, source, belief),)
    says = _("{why} Squeeze the bag now; the other makes the T-piece ready.")
    says = says.format(why=_(_HARM[chosen]))
    return (Finding(asked.id, False, says, 0.0, points, True, step.id, source, belief),)


_UNVENTILATED = ("finish", "free-flow")  # acts that inflate no lung, however the T-piece stands
_HARM = {
    "finish": N_("The baby gets no gas while the T-piece is made ready."),
    "free-flow": N_("Gas held near the face does not inflate a lung that does not breathe."),
    "on-baby": N_("Until they are set, nobody knows which pressures this baby gets."),
    "t-piece": N_("Nobody knows which pressure this T-piece gives now, or whether it gives any."),
}


def _gauge(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    needle = setup_gauge.needle(asked, book)
    return checks.reading(
        asked.id, value, needle.right, needle.rule.value, POINTS[asked.id],
        explains=needle.explains, rule=needle.rule, slips=needle.slips, rounded=needle.rounded,
    )  # fmt: skip


def _shift_check(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    ids = {option.id for option in asked.options}
    if not isinstance(value, list) or not all(isinstance(v, str) and v in ids for v in value):
        return _no_such_choice(asked)
    procedure, missing = book.procedure("shift-check"), set(asked.facts["missing"])
    hit, wrong = missing & set(value), set(value) - missing
    points = POINTS["shift-check"]
    earned = round(points * max(0, len(hit) - len(wrong)) / len(missing), 2)
    main = Finding("shift-check", earned == points, _counted(hit, wrong, missing), earned, points)
    if "bag" not in missing:
        return (main,)
    bag, seen = procedure["bag"], "bag" in hit
    missed = _("The bag was overlooked. {reason}").format(reason=_(bag.reason))
    says = _("Seen: the bag.") if seen else missed
    belief = "" if seen else "bag-not-needed"
    critical = Finding(
        "shift-check-bag", seen, says, 0.0, 0.0, True, "ready-bag", str(bag.citation), belief
    )
    return (main, critical)


def _counted(hit: set[str], wrong: set[str], missing: set[str]) -> str:
    found = _("{found} of {total} items that fall short found.")
    found = found.format(found=len(hit), total=len(missing))
    extra = _("{count} chosen had been done as it should be.").format(count=len(wrong))
    return f"{found} {extra}" if wrong else found


_MARKS: dict[str, Callable[[Question, Any, RuleBook], tuple[Finding, ...]]] = {
    "order": _order,
    **dict.fromkeys(SETUPS, _setup),
    "reason": _reason,
    "meanwhile": _meanwhile,
    **dict.fromkeys(GAUGES, _gauge),
    "shift-check": _shift_check,
    setup_bench.QUESTION: setup_bench.marks,
}

__all__ = ["EXERCISE", "POINTS", "check", "model_answers"]
