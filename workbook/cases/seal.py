"""What the gauge and the chest tell together: a leak, a blocked airway, a stiff lung, or fine."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from workbook.bench import DIALS, circuit_at
from workbook.bench.story import reading
from workbook.cases.draw import Draw
from workbook.cases.inflation import SHARE, inflated
from workbook.cases.question import Kind, Later, Option, Question
from workbook.cases.rhythms import rates
from workbook.cases.setup_bench import set_for
from workbook.cases.starting import baby
from workbook.language import _
from workbook.physics import Action, Lung, simulate
from workbook.physics import coefficients as c
from workbook.physics.coefficients import Coefficient
from workbook.rules import Basis, RuleBook
from workbook.units import plain

QUESTIONS = ("seal-1", "seal-2", "seal-3")
KINDS = ("leak", "blocked", "stiff", "fine")
SHUT = Coefficient(
    0.005, "mL/cmH2O", "what a blocked airway takes up: almost nothing", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
INFLATIONS, STEP, EVERY = 3, 0.02, 0.02  # of a strip; times in s


def questions(
    draw: Draw,
    groups: tuple[str, ...],
    numbers: list[tuple[float, float, float]],
    book: RuleBook,
    texts: Mapping[str, Any],
) -> list[Question]:
    """Return three strips: a leak, a lung that gas does not enter, and a third one."""
    blocked = draw.pick(("blocked", "stiff"))
    third = draw.pick([kind for kind in KINDS if kind not in ("leak", blocked)])
    kinds = draw.shuffled(("leak", blocked, third))
    return [
        _question(id, kind, draw, groups, numbers, book, texts)
        for id, kind in zip(QUESTIONS, kinds, strict=True)
    ]


def _question(
    id: str,
    kind: str,
    draw: Draw,
    groups: tuple[str, ...],
    numbers: list[tuple[float, float, float]],
    book: RuleBook,
    texts: Mapping[str, Any],
) -> Question:
    facts = _drawn(kind, draw, groups, numbers, book)
    settings = ("flow", "relief", "pip", "peep")
    said = {k: plain(facts[k], "L/min" if k == "flow" else "cmH2O") for k in settings}
    chest = texts["chest"][moves(facts, book)]
    return Question(
        id,
        Kind.CHOICE,
        texts["asks"],
        context=texts["stands"].format_map({**said, "kg": plain(facts["kg"], "kg")}) + f" {chest}",
        options=tuple(Option(each, texts["option"][each]) for each in draw.shuffled(KINDS)),
        facts=facts,
        shows=Later(lambda: {"figure": strip(facts)}),
    )


def _drawn(
    kind: str,
    draw: Draw,
    groups: tuple[str, ...],
    numbers: list[tuple[float, float, float]],
    book: RuleBook,
) -> dict[str, Any]:
    """Return a T-piece, a baby and a lung that behave as one of the kinds."""
    met = baby(draw, draw.pick(groups), book)
    pip, peep, relief = draw.pick(numbers)
    facts: dict[str, Any] = {
        "flow": book["flow.start"].value, "pip": pip, "peep": peep, "relief": relief,
        "kg": met.kg, "rate": draw.pick(rates(book)), "leak": 0,
    }  # fmt: skip
    low, high = book["seal.stiff" if kind == "stiff" else "seal.fine"].band
    brings = draw.whole(round(10 * low), round(10 * high)) / 10
    compliance = round(brings * met.kg / (pip - peep), 3)
    facts["compliance"] = SHUT.value if kind == "blocked" else compliance
    if kind == "leak":
        places = range(1, DIALS["leak"].clicks + 1)
        facts["leak"] = draw.pick([n for n in places if _short({**facts, "leak": n}, book)])
    return facts


def _positions(facts: Mapping[str, Any]) -> dict[str, int]:
    at = set_for({name: facts[name] for name in ("flow", "relief", "pip", "peep")})
    return {**at, "leak": facts["leak"]}


def levels(facts: Mapping[str, Any]) -> tuple[float, float]:
    """Return what the gauge settles at (cmH2O), held and released."""
    at = tuple(_positions(facts).values())
    held, released = (reading(at, held=h, leaky=True) for h in (True, False))
    return held, released


def _short(facts: Mapping[str, Any], book: RuleBook) -> bool:
    """Say whether the needle stays clearly short of the PIP that was set."""
    return bool(levels(facts)[0] < facts["pip"] - 2 * book["pip.accept"].value)


def volume(facts: Mapping[str, Any]) -> float:
    """Return what an inflation brings for each kilogram (mL/kg), by the model."""
    lung = Lung(facts["compliance"], c.AIRWAY.value)
    return inflated(tuple(_positions(facts).items()), lung, facts["rate"]) / float(facts["kg"])


def moves(facts: Mapping[str, Any], book: RuleBook) -> str:
    """Return how the chest moves: still, little, well or much."""
    brings, (low, high) = volume(facts), book["volume.window"].band
    if brings < book["chest.still"].value:
        return "still"
    return "little" if brings < low else "well" if brings <= high else "much"


def found(facts: Mapping[str, Any], book: RuleBook) -> str:
    """Return which of the kinds a strip and its chest show."""
    if _short(facts, book):
        return "leak"
    return {"still": "blocked", "little": "stiff"}.get(moves(facts, book), "fine")


def strip(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return the strip's data: pressure at the gauge (cmH2O) over time (s)."""
    at = tuple(_positions(facts).items())
    time, pressure = _traced(at, facts["compliance"], facts["rate"])
    top = 10.0 * (max(*pressure, facts["pip"]) // 10 + 1)
    return {
        "kind": "strip", "title": _("Pressure at the gauge"), "time": list(time),
        "pressure": list(pressure), "low": 0.0, "high": top,
    }  # fmt: skip


@lru_cache(maxsize=4096)
def _traced(
    positions: tuple[tuple[str, int], ...], compliance: float, rate: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    period = 60 / rate
    begin = period * SHARE
    presses = [begin + n * period for n in range(INFLATIONS)]
    actions = [
        action
        for press in presses
        for action in (Action(press, "occlude"), Action(press + period * SHARE, "release"))
    ]
    lung = Lung(compliance, c.AIRWAY.value)
    end = begin + INFLATIONS * period
    trace = simulate(circuit_at(dict(positions)), lung, actions, end, STEP)
    times = [n * EVERY for n in range(int(end / EVERY) + 1)]
    return tuple(round(t, 3) for t in times), tuple(round(p, 2) for p in trace.at(times))
