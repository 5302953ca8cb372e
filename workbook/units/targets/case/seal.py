"""Gauge, chest and heart rate together: what is done first, in a drawn situation.

A low needle tells of a leak; a full one does not exclude one. So where the chest does not move,
mask and position come first whatever the needle shows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from workbook.bench import DIALS, circuit_at
from workbook.bench.story import reading
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.inflation import SHARE, chest, inflated
from workbook.cases.pace import rates
from workbook.cases.question import Given, Kind, Later, Option, Question
from workbook.cases.starting import baby, settings_for
from workbook.core.quantities import plain
from workbook.physics import Action, Lung, simulate
from workbook.physics import coefficients as c
from workbook.physics.coefficients import Coefficient
from workbook.rules import Basis, RuleBook, RuleError

QUESTIONS = ("seal-1", "seal-2", "seal-3")
SHUT = Coefficient(
    0.005, "mL/cmH2O", "what a blocked airway takes up: almost nothing", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
INFLATIONS, STEP, EVERY = 3, 0.02, 0.02  # of a strip; times in s
FILLED = 0.92  # of what a lung takes up in the end, within one inflation


@dataclass(frozen=True, slots=True)
class Situation:
    """What is drawn: how the chest moves, what was told, and which act comes first."""

    chest: str
    told: str
    first: str
    lung: str = ""  # the rule on what an inflation brings; nothing where the airway is blocked


KINDS: Mapping[str, Situation] = {
    "leak": Situation("", "fresh", "mask", "seal.fine"),
    "blocked": Situation("still", "fresh", "mask"),
    "little": Situation("little", "fresh", "mask", "seal.stiff"),
    "stiff": Situation("little", "done", "raise", "seal.stiff"),
    "over": Situation("much", "rising", "lower", "seal.over"),
    "fine": Situation("well", "rising", "on", "seal.fine"),
}
FRESH = tuple(kind for kind, each in KINDS.items() if each.told == "fresh")
OTHERS = tuple(kind for kind in KINDS if kind not in FRESH)


def questions(given: Given) -> list[Question]:
    """Return three situations: one before any corrective step, two of the other kinds."""
    draw = given.draw
    kinds = draw.shuffled([draw.pick(FRESH), *draw.some(OTHERS, 2)])
    return given.each(QUESTIONS, kinds, question)


def question(id: str, kind: str, given: Given) -> Question:
    """Return a drawn situation of a kind."""
    draw, book, texts = given.draw, given.book, given.texts
    facts = _drawn(kind, draw, given.groups, book)
    settings = ("flow", "relief", "pip", "peep")
    said = {k: plain(facts[k], "L/min" if k == "flow" else "cmH2O") for k in settings}
    stands = texts["stands"].format_map({**said, "kg": plain(facts["kg"], "kg")})
    return Question(
        id,
        Kind.CHOICE,
        texts["asks"],
        context=f"{stands} {texts[facts['told']]}",
        options=tuple(draw.shuffled(Option(act, says) for act, says in texts["option"].items())),
        facts=facts,
        shows=Later(lambda: {"figure": picture(facts, book, texts["picture"])}),
    )


def _drawn(kind: str, draw: Draw, groups: tuple[str, ...], book: RuleBook) -> dict[str, Any]:
    """Return a T-piece set for a baby, and a lung that behaves as one of the kinds."""
    situation, rate, brings = KINDS[kind], draw.pick(rates(book)), 0.0
    if situation.lung:
        low, high = book[situation.lung].band
        brings = draw.whole(round(10 * low), round(10 * high)) / 10
    for met in (baby(draw, group, book) for group in draw.shuffled(groups)):
        for pip, peep, relief in draw.shuffled(settings_for(book, met)):
            compliance = round(brings * met.kg / (pip - peep), 3) if brings else SHUT.value
            facts: dict[str, Any] = {
                "flow": book["flow.start"].value, "pip": pip, "peep": peep, "relief": relief,
                "weeks": met.weeks, "kg": met.kg, "rate": rate, "leak": 0, "told": situation.told,
                "compliance": compliance,
            }  # fmt: skip
            leaks = _leaks(facts, book) if kind == "leak" else [0] * _fills(facts)
            if leaks:
                return {**facts, "leak": draw.pick(leaks)}
    raise RuleError("No T-piece of these rules shows what this situation needs.")


def _fills(facts: Mapping[str, Any]) -> bool:
    """Say whether an inflation fills the lung: else the needle stays low without a leak."""
    whole = facts["compliance"] * (facts["pip"] - facts["peep"])
    return bool(volume(facts) * facts["kg"] > FILLED * whole)


def _leaks(facts: Mapping[str, Any], book: RuleBook) -> list[int]:
    """Return the positions of the leak that show at needle and chest."""
    places = range(1, DIALS["leak"].clicks + 1)
    return [n for n in places if _is_leak({**facts, "leak": n}, book)]


def _is_leak(facts: Mapping[str, Any], book: RuleBook) -> bool:
    """Say whether a leak shows at the needle and at the chest."""
    return is_short(facts, book) and moves(facts, book) in ("still", "little")


def _positions(facts: Mapping[str, Any]) -> dict[str, int]:
    at = set_for({name: facts[name] for name in ("flow", "relief", "pip", "peep")})
    return {**at, "leak": facts["leak"]}


def levels(facts: Mapping[str, Any]) -> tuple[float, float]:
    """Return what the gauge settles at (cmH2O), held and released."""
    at = tuple(_positions(facts).values())
    held, released = (reading(at, held=h, leaky=True) for h in (True, False))
    return held, released


def is_short(facts: Mapping[str, Any], book: RuleBook) -> bool:
    """Say whether the needle stays clearly short of the PIP that was set: a leak is proven."""
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
    """Return which of the kinds a needle, a chest and what was told show."""
    if is_short(facts, book):
        return "leak"
    kinds = {(each.chest, each.told): kind for kind, each in KINDS.items()}
    kinds["still", "fresh"] = "blocked"
    return kinds[moves(facts, book), facts["told"]]


def first(facts: Mapping[str, Any], book: RuleBook) -> str:
    """Return which act comes first."""
    return KINDS[found(facts, book)].first


# --- the picture


def picture(facts: Mapping[str, Any], book: RuleBook, texts: Mapping[str, str]) -> dict[str, Any]:
    """Return the strip's data: pressure at the gauge (cmH2O) and the chest over time (s)."""
    at = tuple(_positions(facts).items())
    time, pressure, volumes = _traced(at, facts["compliance"], facts["rate"])
    taken = [each / facts["kg"] for each in volumes]
    return {
        "kind": "strip", "title": texts["title"], "time": list(time), "pressure": list(pressure),
        "low": 0.0, "high": 10.0 * (max(*pressure, facts["pip"]) // 10 + 1),
        "chest": chest(taken, book, texts),
    }  # fmt: skip


Traced = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]


@lru_cache(maxsize=4096)
def _traced(positions: tuple[tuple[str, int], ...], compliance: float, rate: float) -> Traced:
    """Return times (s), pressures (cmH2O) and volumes above rest (mL) of a few inflations."""
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
    rest, volumes = trace.volume[0], trace.at(times, "volume")
    return (
        tuple(round(t, 3) for t in times),
        tuple(round(p, 2) for p in trace.at(times)),
        tuple(round(v - rest, 3) for v in volumes),
    )
