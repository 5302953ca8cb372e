"""Marks set-up on the bench: a finding for each part, with the needle at the moment it matters."""

from __future__ import annotations

from functools import cache
from typing import Any

from graders import watch
from graders.marks import bench_marks
from graders.marks.bench_marks import Basis, Words, words
from graders.marks.bench_slips import PARTS, Run, Slip, limit, slips
from graders.marks.verdict import Finding
from workbook.bench import DIALS, Bench, Hands, Touch
from workbook.bench.story import reading
from workbook.cases import Question
from workbook.cases.dials import set_for
from workbook.cases.pace import longest, rate_band
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.units.setup.case.bench import QUESTION

_SHOWN_BY = {"unread": ("baby", "recheck")}  # the parts in which what led to a hazard is seen
PAUSE = 1.0  # s between the touches of a model run; longer than a needle needs to be read


@cache
def texts() -> Words:
    """Return what is said of each part and each slip, and what they are worth."""
    return words(__file__)


def points() -> float:
    """Return what the whole run is worth."""
    return texts().points + watch.worth("bench")


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return a finding for each part of a run at the bench."""

    def judge(hands: Hands) -> tuple[Finding, ...]:
        run = run_of(asked, hands, book)
        found = slips(run)
        parts = {part: _finding(run, part, found[part], book) for part in PARTS}
        care = watch.of_run(run.bench, hands, ventilates=False, stretches=run.stretches)
        within = watched(asked, book)
        beliefs = bench_marks.beliefs(parts, _SHOWN_BY)
        return (*parts.values(), *watch.findings("bench", asked.id, care, within, book, beliefs))

    return bench_marks.marks(asked, value, points(), judge)


def run_of(asked: Question, hands: Hands, book: RuleBook) -> Run:
    """Return a run at the bench of a question."""
    by_eye = book["tolerance.set"].value
    accept = {part: book[f"{part}.accept"].value + by_eye for part in ("relief", "pip", "peep")}
    bench = Bench.from_data(asked.facts["bench"])
    look, margin = (book[id].value for id in ("bench.look", "relief.margin"))
    above = {part: book[f"watch.{part}.high"].band[1] + accept[part] for part in ("pip", "peep")}
    far = {part: asked.facts[part] + more for part, more in above.items()}
    return Run(bench, hands, asked.facts, accept, look, margin, far)


def watched(asked: Question, book: RuleBook) -> watch.Bounds:
    """Return what the baby may meet once it is attached.

    The lung on this bench takes up more than the pressures asked for are meant for, so volume is
    left out.
    """
    facts = asked.facts
    return watch.bounds(
        book,
        rate=rate_band(book),
        longest=longest(book).band[1],
        pressure=facts["relief"],
        peep=facts["peep"],
        pip=facts["pip"],
        set_before=True,
    )


def model_run(asked: Question) -> dict[str, Any]:
    """Return the answer of somebody who sets everything up in a safe order."""
    at = set_for(asked.facts)
    touches: list[tuple[str, int | None]] = [
        ("cap", None), ("flow", at["flow"]), ("pip", DIALS["pip"].clicks), ("occlude", None),
        ("relief", at["relief"]), ("pip", at["pip"]), ("release", None), ("peep", at["peep"]),
        ("occlude", None), ("release", None), ("connect", None),
    ]  # fmt: skip
    return played(touches)


def played(touches: list[tuple[str, int | None]]) -> dict[str, Any]:
    """Return touches as an answer, one after another at a steady pace."""
    made = tuple(Touch(PAUSE * n, kind, at) for n, (kind, at) in enumerate(touches, start=1))
    return Hands(PAUSE * (len(made) + 1), made).to_data()


def _finding(run: Run, part: str, slip: Slip | None, book: RuleBook) -> Finding:
    step = book.procedure("set-up")[texts().part[part]["step"]]
    basis = Basis(step.id, str(step.citation), run.bench, run.hands)
    return texts().finding(f"bench-{part}", part, slip, _told(run, part, slip), basis)


def _told(run: Run, part: str, slip: Slip | None) -> dict[str, str]:
    unit = "L/min" if part == "flow" else "cmH2O"
    told = {"wanted": plain(run.wanted.get(part, 0.0), unit)}
    told["accept"] = plain(run.accept.get(part, 0.0), unit)
    if slip is None:
        return {**told, "now": plain(round(_reads(run, part), 1), unit)}
    told |= {"moment": plain(round(slip.moment), "s"), "flow_then": plain(slip.then, "L/min")}
    told |= {"flow_now": plain(slip.now, "L/min")}
    return {**told, "then": _cmh2o(slip.then), "now": _cmh2o(slip.now)}


def _cmh2o(value: float) -> str:
    return plain(round(value, 1), "cmH2O")


def _reads(run: Run, part: str) -> float:
    """Return what a part that is right reads, at the flow it was set at."""
    if part not in run.accept:
        return 0.0
    there = run.set_at(part)
    if part == "relief":
        return limit(there)
    return reading(there.turned(pip=run.last.at("pip")).positions, held=part == "pip")


__all__ = ["QUESTION", "marks", "model_run", "played", "points", "run_of", "watched"]
