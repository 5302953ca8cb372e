"""Marks raising PIP on the bench: a finding for each part, with the needle where it matters."""

from __future__ import annotations

from functools import cache
from typing import Any

from graders import watch
from graders.marks import bench_marks, checks
from graders.marks.bench_marks import Basis, Words, words
from graders.marks.bench_slips import Slip
from graders.marks.verdict import Finding
from graders.units.targets.raise_slips import PARTS, Bounds, Run, slips
from workbook.bench import Bench, Hands
from workbook.cases import Question
from workbook.cases.pace import first_inflations, longest, rate_band, rate_rule
from workbook.cases.starting import Baby, ceiling, step, wanted
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook
from workbook.units.targets.case.raise_pip import QUESTION, enough, moves_from

# The parts in which what led to a hazard is seen.
_SHOWN_BY = {
    "long": ("hold", "length"),
    "pressure": ("limit", "rest"),
    "gap": ("count", "rest"),
    "slow": ("count",),
    "fast": ("count",),
    "volume": ("stop",),
    "peep-high": ("rest",),
    "peep-lost": ("rest",),
}


@cache
def texts() -> Words:
    """Return what is said of each part and each slip, and what they are worth."""
    return words(__file__)


def points() -> float:
    """Return what the whole run is worth."""
    return texts().points + watch.worth("raise")


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return a finding for each part of a run at the bench."""

    def judge(hands: Hands) -> tuple[Finding, ...]:
        run = run_of(asked, hands, book)
        found = slips(run)
        same = _same(run, book)
        parts = {part: _finding(run, part, found[part], asked, book, same) for part in PARTS}
        care = watch.of_run(run.bench, hands, ventilates=True, stretches=run.stretches)
        within = watched(asked, book)
        beliefs = bench_marks.beliefs(parts, _SHOWN_BY)
        return (*parts.values(), *watch.findings("raise", asked.id, care, within, book, beliefs))

    return bench_marks.marks(asked, value, points(), judge)


def run_of(asked: Question, hands: Hands, book: RuleBook) -> Run:
    """Return a run at the bench of a question."""
    return Run(Bench.from_data(asked.facts["bench"]), hands, bounds_of(asked, book))


def bounds_of(asked: Question, book: RuleBook) -> Bounds:
    """Return what the rules ask of a run for a question's baby."""
    facts, bench = asked.facts, Bench.from_data(asked.facts["bench"])
    ordinary = longest(book).band[1]
    return Bounds(
        shortest=book["inflation-time.least"].value,
        longest=ordinary,
        long=max(book["inflation.long"].value, ordinary),
        share=book["raise.share"].value / 100,
        rate=rate_band(book),
        gap=book["raise.gap"].value,
        step=step(book).band,
        first=first_inflations(book),
        inflations=enough(book),
        ceiling=facts["ceiling"],
        top=facts["top"],
        accept=book["pip.accept"].value,
        against=book["tolerance.against"].value,
        moves=moves_from(bench, facts, book["volume.window"].band[0]),
    )


def watched(asked: Question, book: RuleBook) -> watch.Bounds:
    """Return what the baby of a question may meet in a run."""
    facts, weight = asked.facts, asked.facts["bench"]["weight"]
    low, high = book["volume.window"].band
    return watch.bounds(
        book,
        rate=rate_band(book),
        longest=longest(book).band[1],
        pressure=facts["top"],
        peep=facts["peep"],
        volume=(low * weight, high * weight),
        pip=facts["pip"],
        first=first_inflations(book),
    )


def _finding(
    run: Run, part: str, slip: Slip | None, asked: Question, book: RuleBook, same: dict[str, str]
) -> Finding:
    rule = _rule(part, slip, asked, book)
    basis = Basis(rule.id, checks.source_of(rule), run.bench, run.hands)
    return texts().finding(f"raise-{part}", part, slip, {**same, **_told(slip, book)}, basis)


def _rule(part: str, slip: Slip | None, asked: Question, book: RuleBook) -> Rule:
    """Return the rule that a part rests on."""
    met = Baby(asked.facts["weeks"], asked.facts["bench"]["weight"])
    highest = ceiling(book, met)
    cause = "" if slip is None else slip.cause
    return {
        "hold": book["pip.raise-in-care"],
        "length": book["inflation-time.least"] if cause == "times-short" else longest(book),
        "count": rate_rule(book),
        "steps": step(book),
        "limit": wanted(book, met)["relief"]
        if cause == "against-relief" or highest is None
        else highest,
        "rest": book["relief.per-shift" if cause == "relief-turned" else "flow.first"],
        "stop": book["volume.window"],
    }[part]


def _same(run: Run, book: RuleBook) -> dict[str, str]:
    """Return what is told alike of every part, those without a slip too."""
    bounds = run.bounds
    (low, high), per = bounds.rate, rate_rule(book).unit or ""
    asked = {
        "step": step(book).text,
        "ceiling": plain(bounds.ceiling, "cmH2O"),
        "longest": plain(bounds.longest, "s"),
        "band": checks.span(low, high, per),
        "inflations": f"{bounds.inflations}",
        "a_minute": plain(round(_pace([gap for _, gap in run.gaps])), per),
    }
    return asked | _of(Slip("", now=run.shows(run.levels[-1].position)))


def _told(slip: Slip | None, book: RuleBook) -> dict[str, str]:
    """Return what is told of a part's own slip."""
    if slip is None:
        return {}
    pace = {}
    if slip.cause.startswith("count-"):
        pace = {"a_minute": plain(round(slip.now), rate_rule(book).unit or "")}
    return pace | _of(slip)


def _of(found: Slip) -> dict[str, str]:
    return {
        "moment": plain(round(found.moment), "s"),
        "then": plain(round(found.then, 1), "cmH2O"),
        "now": plain(round(found.now, 1), "cmH2O"),
        "flow_then": plain(found.then, "L/min"),
        "flow_now": plain(found.now, "L/min"),
        "seconds": plain(round(found.now, 1 if found.now >= 10 else 2), "s"),
    }


def _pace(gaps: list[float]) -> float:
    return 60 * len(gaps) / sum(gaps) if gaps else 0.0


__all__ = ["QUESTION", "bounds_of", "marks", "points", "run_of", "watched"]
