"""How honest the naming of beliefs is, and how often one is named of somebody who only slips.

Run ``python -m tests.benchmarks.bench_beliefs [LEARNERS [SEED [UNIT ...]]]`` (40, ``bench`` and
every unit unless given). It prints, for each unit,

- the reliability curve over simulated classes: of those beliefs that come out so probable, so
  many are held. A class is made up as `graders/beliefs/beliefs.toml` assumes: hands, slips, and
  each belief held by that share, whole or in part, independently. ``few`` is a class in which
  each belief is held by a third as many: there the curve may lie below;
- of the same classes: the share of learners of whom a belief is named outright that they do not
  hold, in the worst edition too; the share of the beliefs held that is named outright, and named or
  told as *a slip, or this belief*; of those told so, the share that is held; the share of learners
  who hold nothing and are told so, and the most that one learner is told;
- learners who hold nothing and slip (`tests/slippers.py`), by how often and in what way: the share
  of whom a belief is named, and of whom one is told as *a slip, or this belief*; the worst edition;
- each belief of `tests/believers`, held whole and in part: named, told at all, and how many were
  told another one; with the number of answers that it shows in.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import Any

from graders.beliefs import likely, named
from graders.beliefs.bayes import assumed, number
from graders.beliefs.chances import speaks
from graders.marking.exercise import mark, model_answers
from graders.marks.misconceptions import EITHER, SLIP, allows_a_slip, beliefs_of
from graders.marks.verdict import Verdict
from tests.believers import UNITS, acts, in_part
from tests.slippers import RATES, SHAPES, glance, slipped
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

    @property
    def false(self) -> bool:
        """Say whether something is named outright that is not held."""
        outright = (name for name in self.names if not allows_a_slip(name))
        return any(self.held.isdisjoint(name.split(EITHER)) for name in outright)

    @property
    def perhaps(self) -> list[bool]:
        """Return, for each line that says *a slip, or this belief*, whether it is held."""
        lines = [beliefs_of(name) for name in self.names if allows_a_slip(name)]
        return [not self.held.isdisjoint(each.split(EITHER)) for each in lines]


def learner(drawn: Case, book: RuleBook, chance: Random, often: float = 1.0) -> Simulated:
    """Return one simulated learner of a class as it is assumed, slips and all."""
    right = model_answers(drawn, book)
    given: dict[str, Any] = {**right, **_slipped(drawn, right, book, chance)}
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
    verdicts = [mark(drawn, q.id, given[q.id], book, given) for q in drawn.questions]
    told = {name for v in named(drawn, given, verdicts, book) for name in v.misconceptions}
    return Simulated(frozenset(held), likely(drawn, given, verdicts, book), frozenset(told))


def _slipped(
    drawn: Case, right: Mapping[str, Any], book: RuleBook, chance: Random
) -> dict[str, Any]:
    """Return the answers that slip, by a hand drawn as assumed."""
    hands = list(assumed()["hands"])
    shares = [number("hands", hand) for hand in hands]
    rate = number("slips", chance.choices(hands, shares)[0])
    made: dict[str, Any] = {}
    for asked in drawn.questions:
        if chance.random() >= rate:
            continue
        made[asked.id] = glance(drawn, asked, right[asked.id], book, chance)
        kind = asked.kind
        if kind is not Kind.CHOICE and chance.random() < number("slip-shows", kind.value):
            made |= _as_believed(asked, drawn, book, chance)
    return made


def _as_believed(asked: Question, drawn: Case, book: RuleBook, chance: Random) -> dict[str, Any]:
    may = sorted(speaks(asked.id) & UNITS[drawn.exercise].keys())
    found = acts(drawn, book, chance.choice(may), chance) if may else {}
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


# --- who only slips, and who believes


CASES = 10  # of an edition, each answered by many


@cache
def answered(
    unit: str, edition: str, n: int, seed: str
) -> tuple[Case, dict[str, Any], dict[str, Verdict]]:
    """Return a drawn case, its right answers, and the verdicts on them."""
    book = rulebook(edition)
    drawn = case(seed, unit, f"{edition}.{n}", book)
    right = model_answers(drawn, book)
    return drawn, right, {id: mark(drawn, id, value, book, right) for id, value in right.items()}


def told(unit: str, edition: str, n: int, seed: str, made: Mapping[str, Any]) -> set[str]:
    """Return what is named of somebody whose other answers are right."""
    book = rulebook(edition)
    drawn, right, verdicts = answered(unit, edition, n, seed)
    given = {**right, **made}
    every = [
        mark(drawn, q.id, made[q.id], book, given) if q.id in made else verdicts[q.id]
        for q in drawn.questions
    ]
    return {name for v in named(drawn, given, every, book) for name in v.misconceptions}


def sure(names: Iterable[str]) -> set[str]:
    """Return what is named outright, each of two that cannot be told apart by itself."""
    of = (name.split(EITHER) for name in names)
    return {each for parts in of if parts[0] != SLIP for each in parts}


def flat(names: Iterable[str]) -> set[str]:
    """Return what is named or told as a slip or a belief."""
    return {each for name in names for each in beliefs_of(name).split(EITHER)}


def slippers(
    unit: str, edition: str, many: int, seed: str
) -> Iterator[tuple[str, float, set[str]]]:
    """Yield (how, how often, what is named) of learners who hold nothing and slip."""
    for shape in SHAPES:
        for rate in RATES:
            chance = Random(f"{seed} {unit} {edition} {shape} {rate}")  # noqa: S311
            for n in range(many):
                drawn, right, _ = answered(unit, edition, n % CASES, seed)
                made = slipped(drawn, right, rulebook(edition), shape, rate, chance)
                yield shape, rate, told(unit, edition, n % CASES, seed, made)


def believers(
    unit: str, edition: str, many: int, seed: str
) -> Iterator[tuple[str, int, str, set[str]]]:
    """Yield (belief, in how many answers, whole or part, what is named)."""
    for belief in UNITS[unit]:
        for n in range(many):
            drawn, _, _ = answered(unit, edition, n % CASES, seed)
            chance = Random(f"{seed} {belief} {edition} {n}")  # noqa: S311
            made = acts(drawn, rulebook(edition), belief, chance)
            if made:
                yield belief, len(made), "whole", told(unit, edition, n % CASES, seed, made)
                part = in_part(made, chance)
                yield belief, len(made), "part", told(unit, edition, n % CASES, seed, part)


def show_slippers(unit: str, many: int, seed: str) -> None:
    """Print how often somebody who only slips is named a belief."""
    every, of = Counter[Any](), Counter[Any]()
    for edition in editions():
        for shape, rate, names in slippers(unit, edition, many, seed):
            for key in ((shape, rate), edition):
                every[key] += 1
                of[key, "named"] += bool(sure(names))
                of[key, "told"] += bool(names)
    for key, count in every.items():
        if isinstance(key, tuple):
            named_, said = of[key, "named"] / count, of[key, "told"] / count
            print(f"  {key[0]} {key[1]:.0%}: named {named_:.2%} of {count}, a slip or {said:.0%}")
    worst = max(editions(), key=lambda edition: of[edition, "named"] / every[edition])
    print(f"  worst edition {worst}: {of[worst, 'named']} of {every[worst]} named")


def show_believers(unit: str, many: int, seed: str) -> None:
    """Print how often a belief that is held is named."""
    rows: dict[str, Counter[str]] = defaultdict(Counter)
    by_edition: dict[str, Counter[str]] = defaultdict(Counter)
    for edition in editions():
        for belief, shows, how, names in believers(unit, edition, many, seed):
            more = "two" if shows > 1 else "one"
            got = Counter({
                how: 1, f"{how} {more}": 1, f"{how} {more} named": belief in sure(names),
                f"{how} named": belief in sure(names), f"{how} told": belief in flat(names),
                f"{how} other": any(belief not in beliefs_of(n).split(EITHER) for n in names),
            })  # fmt: skip
            rows[belief] += got
            rows["every belief"] += got
            by_edition[edition] += got
    for name, row in rows.items():
        print(f"  {name}: {dict(row)}")
    for how in ("whole", "part"):
        least = min(by_edition, key=lambda e: by_edition[e][f"{how} told"] / by_edition[e][how])
        row = by_edition[least]
        print(f"  least told, {how}: {least} {row[f'{how} told']} of {row[how]}")


def show_class(of: Mapping[str, Sequence[Simulated]]) -> None:
    """Print of a class, by edition, how much is named, and how much of it falsely."""
    people = [one for each in of.values() for one in each]
    worst = max(of, key=lambda edition: sum(one.false for one in of[edition]))
    held = sum(len(one.held) for one in people)
    outright = sum(len(sure(one.names) & one.held) for one in people)
    told = sum(len(flat(one.names) & one.held) for one in people)
    lines = [held for one in people for held in one.perhaps]
    nobody = [len(one.perhaps) for one in people if not one.held]
    print(
        f"    named falsely {sum(one.false for one in people) / len(people):.2%} of {len(people)}, "
        f"worst {worst} {sum(one.false for one in of[worst])} of {len(of[worst])}; of {held} held "
        f"{outright / held:.1%} named, {told / held:.1%} named or told; of {len(lines)} told "
        f"{sum(lines) / max(1, len(lines)):.1%} held; of {len(nobody)} who hold nothing "
        f"{sum(map(bool, nobody)) / max(1, len(nobody)):.1%} told, at most {max(nobody)} each, "
        f"of everybody at most {max(len(one.perhaps) for one in people)} each"
    )


def show_curves(unit: str, learners: int) -> None:
    """Print the reliability curves, and what is named."""
    for often, name in ((1.0, "as assumed"), (FEW, "few")):
        of = {edition: simulated(unit, edition, learners, often) for edition in editions()}
        people = [one for each in of.values() for one in each]
        print(
            f"  {name}: "
            + "; ".join(
                f">={least:g}: {held}/{count} {held / max(1, count):.3f}"
                for least, count, held in curve(people)
            )
        )
        show_class(of)


def main(arguments: Sequence[str]) -> None:
    """Print everything."""
    many = int(arguments[0]) if arguments else 40
    seed = arguments[1] if arguments[1:] else "bench"
    for unit in arguments[2:] or UNITS:
        print(f"{unit}, seed {seed}", flush=True)
        show_slippers(unit, many, seed)
        show_believers(unit, max(1, many // 8), seed)
        show_curves(unit, many)


if __name__ == "__main__":
    main(sys.argv[1:])
