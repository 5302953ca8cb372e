"""How honest the naming of beliefs is: of those named at p or more, at least p hold it.

Run ``python -m tests.benchmarks.bench_beliefs [LEARNERS [EDITION ...]]`` (200 and every edition
unless given). It prints, for each unit, the reliability curve over simulated classes of that many
learners an edition, and the share of learners without any belief of whom one is named.

A class is made up as `graders/beliefs/beliefs.toml` assumes: each belief is held by that share of
learners, whole or in part, independently; at each chance a learner acts on it so often; in every
other question they slip so often. ``few`` is a class in which each belief is held by a third as
many: there the curve may lie below, for it is not what was assumed. Plays: `tests/believers.py`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from random import Random
from typing import Any

from graders.beliefs import likely
from graders.beliefs.bayes import number
from graders.beliefs.chances import speaks
from graders.marking import mark, mark_all, model_answers
from tests.believers import UNITS, acts
from workbook.cases import Case, Kind, Question, case
from workbook.rules import RuleBook, editions, rulebook

BANDS = (0.0, 0.2, 0.5, 0.8, 0.9, 0.95, 0.99)
FEW = 1 / 3


@dataclass(frozen=True)
class Simulated:
    """One learner: the beliefs that could show and are held, and what the answers came to."""

    held: frozenset[str]
    shares: dict[str, float]
    names: frozenset[str]


def learner(drawn: Case, book: RuleBook, chance: Random, often: float = 1.0) -> Simulated:
    """Return one simulated learner of a class as it is assumed, slips and all."""
    right = model_answers(drawn, book)
    given: dict[str, Any] = {**right, **_slipped(drawn, book, chance)}
    held = set()
    for belief in UNITS[drawn.exercise]:
        draw = chance.random() / often
        whole, part = number("held-whole"), number("held-in-part")
        if draw >= whole + part:
            continue
        made = acts(drawn, book, belief, chance)
        acting = number("acts-whole") if draw < whole else number("acts-in-part")
        if made:
            held.add(belief)
        given |= {id: value for id, value in made.items() if chance.random() < acting}
    verdicts = [mark(drawn, q.id, given[q.id], book) for q in drawn.questions]
    names = {name for v in mark_all(drawn, given, book) for name in v.misconceptions}
    return Simulated(frozenset(held), likely(drawn, given, verdicts, book), frozenset(names))


def _slipped(drawn: Case, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return the answers that slip, of choices to another one, of all else to a belief's own."""
    made: dict[str, Any] = {}
    for asked in drawn.questions:
        rate = number("slip", asked.kind.value)
        if asked.kind is Kind.CHOICE:
            if chance.random() < rate:
                made[asked.id] = chance.choice([option.id for option in asked.options])
        else:
            made |= _as_believed(asked, drawn, book, chance, rate)
    return made


def _as_believed(
    asked: Question, drawn: Case, book: RuleBook, chance: Random, rate: float
) -> dict[str, Any]:
    may = sorted(speaks(asked.id) & UNITS[drawn.exercise].keys())
    if chance.random() >= rate * len(may):
        return {}
    found = acts(drawn, book, chance.choice(may), chance)
    return {asked.id: found[asked.id]} if asked.id in found else {}


def curve(people: Iterable[Simulated]) -> list[tuple[float, int, int]]:
    """Return (p, how often a belief came out so probable or more, how often it was held)."""
    every = [(share, belief in one.held) for one in people for belief, share in one.shares.items()]
    made = []
    for least in BANDS:
        above = [held for share, held in every if share >= least]
        made.append((least, len(above), sum(above)))
    return made


def simulated(unit: str, edition: str, learners: int, often: float = 1.0) -> list[Simulated]:
    """Return a class."""
    book, chance = rulebook(edition), Random(f"{unit} {edition} {often}")  # noqa: S311
    return [
        learner(case("class", unit, f"person{n}", book), book, chance, often)
        for n in range(learners)
    ]


def main(learners: int = 200, only: tuple[str, ...] = ()) -> None:
    """Print the curves."""
    for unit in UNITS:
        for often, name in ((1.0, "as assumed"), (FEW, "few")):
            people = [
                one
                for e in only or tuple(editions())
                for one in simulated(unit, e, learners, often)
            ]
            told = "; ".join(
                f">={least:g}: {held}/{count} {held / max(1, count):.3f}"
                for least, count, held in curve(people)
            )
            none = [one for one in people if not one.held]
            named = sum(bool(one.names) for one in none)
            print(f"{unit} {name}: {told}; nothing held {len(none)}, of them named {named}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 200, tuple(sys.argv[2:]))
