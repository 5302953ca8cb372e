"""Did the draw make a question harder for some? Groups by what was drawn, compared by chance."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from graders.items.intervals import Column
from graders.items.scores import UnitScores
from workbook.cases import Case
from workbook.rules import RuleBook

SHUFFLES = 1999  # so that the smallest chance that can be found is 1 in 2000
FEW = 6  # numbers drawn from more values than this are put into a low, a middle and a high third


@dataclass(frozen=True, slots=True)
class Drawn:
    """Learners who were given the same part of a draw: how many, and their mean share."""

    label: str
    learners: int
    share: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """A question's share by one part of its draw.

    ``chance`` is how often shuffling learners among the groups makes them differ as much or more;
    ``adjusted`` the same with Holm's correction for all comparisons of the unit.
    """

    question: str
    part: str
    groups: tuple[Drawn, ...]
    f: float
    chance: float
    adjusted: float = 1.0


@dataclass(frozen=True, slots=True)
class Observed:
    """What a group shows about a unit's draws; ``too_few`` counts what could not be compared."""

    comparisons: tuple[Comparison, ...]
    learners: int
    too_few: int

    def unequal(self, book: RuleBook) -> tuple[Comparison, ...]:
        """Return the comparisons that chance explains badly, the least likely first."""
        level = book["form.level"].value / 100
        return tuple(c for c in self.comparisons if c.adjusted < level)


def observed(scores: UnitScores, cases: Mapping[str, Case], book: RuleBook) -> Observed:
    """Return each question's share by each part of its draw, for the learners in ``cases``.

    Parts that everyone was given alike are left out; so are groups below form.group.
    """
    least = int(book["form.group"].value)
    row = {learner: n for n, learner in enumerate(scores.learners)}
    taken = [learner for learner in cases if learner in row]
    found, too_few = [], 0
    for k, question in enumerate(scores.questions):
        at = np.array([row[learner] for learner in taken], dtype=int)
        shares = scores.scores[at, k] / scores.maxima[k]
        facts = [_parts(cases[learner], question) for learner in taken]
        for part in dict.fromkeys(name for each in facts for name in each):
            labels = grouped([each.get(part) for each in facts])
            if len(set(labels) - {""}) < 2:
                continue
            one = compare(shares, labels, least)
            too_few += one is None
            found += [] if one is None else [replace(one, question=question, part=part)]
    adjusted = holm([c.chance for c in found])
    made = (replace(c, adjusted=p) for c, p in zip(found, adjusted, strict=True))
    return Observed(tuple(sorted(made, key=lambda c: (c.adjusted, c.chance))), len(taken), too_few)


def _parts(drawn: Case, question: str) -> dict[str, str | float]:
    """Return what was drawn for a question, as far as it is a word, a number or a list of such."""
    asked = next((q for q in drawn.questions if q.id == question), None)
    parts: dict[str, str | float] = {}
    for name, value in (asked.facts if asked else {}).items():
        if isinstance(value, bool | str):
            parts[name] = str(value)
        elif isinstance(value, int | float) and math.isfinite(value):
            parts[name] = float(value)
        elif isinstance(value, list | tuple) and all(isinstance(v, str) for v in value):
            parts[name] = ", ".join(value)
    return parts


def grouped(values: Sequence[str | float | None]) -> list[str]:
    """Return a label for each value, "" for none; many different numbers go into thirds."""
    numbers = [v for v in values if isinstance(v, float)]
    if len(set(numbers)) <= FEW or any(isinstance(v, str) for v in values):
        return ["" if v is None else v if isinstance(v, str) else f"{v:g}" for v in values]
    low, high = (float(np.quantile(numbers, q)) for q in (1 / 3, 2 / 3))
    names = (f"up to {low:g}", f"above {low:g}, up to {high:g}", f"above {high:g}")
    return [names[(v > low) + (v > high)] if isinstance(v, float) else "" for v in values]


def compare(shares: Column, labels: Sequence[str], least: int) -> Comparison | None:
    """Return how groups of learners differ; None with fewer than two groups of ``least``.

    The one-way F, judged by shuffling: scores are not bell-shaped, and groups can be small.
    """
    there = [n for n, label in enumerate(labels) if label and not math.isnan(shares[n])]
    counts = Counter(labels[n] for n in there)
    names = sorted(label for label, count in counts.items() if count >= least)
    if len(names) < 2:
        return None
    kept = [n for n in there if labels[n] in names]
    values = np.asarray(shares[kept], dtype=float)
    member = np.array([[labels[n] == name for name in names] for n in kept], dtype=float)
    sizes = member.sum(axis=0)
    groups = tuple(
        Drawn(name, int(size), float(mean))
        for name, size, mean in zip(names, sizes, values @ member / sizes, strict=True)
    )
    return Comparison("", "", groups, _f(values, member), _chance(values, member))


def _between(values: NDArray[np.float64], member: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sum of squares between groups, for one or many rows of values."""
    sums, sizes = values @ member, member.sum(axis=0)
    whole = values.sum(axis=-1) ** 2 / len(member)
    made: NDArray[np.float64] = (sums**2 / sizes).sum(axis=-1) - whole
    return made


def _f(values: Column, member: NDArray[np.float64]) -> float:
    """Return the one-way F; 0 where all values are alike, infinite where only groups differ."""
    between = float(_between(values, member))
    within = float(((values - values.mean()) ** 2).sum()) - between
    n, groups = member.shape
    if np.ptp(values) == 0:
        return 0.0
    if within <= 1e-12 or n == groups:
        return math.inf
    return float(between / (groups - 1) / (within / (n - groups)))


def _chance(values: Column, member: NDArray[np.float64]) -> float:
    """Return how often a shuffle differs as much; never 0, and the same every time."""
    if np.ptp(values) == 0:
        return 1.0
    as_much = _between(values[_shuffles(len(values))], member) >= (
        float(_between(values, member)) - 1e-9
    )
    return (1 + int(as_much.sum())) / (1 + SHUFFLES)


@lru_cache(maxsize=8)
def _shuffles(n: int) -> NDArray[np.int32]:
    """Return shuffled orders of ``n`` learners, a row each; every comparison uses the same."""
    order = np.tile(np.arange(n, dtype=np.int32), (SHUFFLES, 1))
    made: NDArray[np.int32] = np.random.default_rng(n).permuted(order, axis=1)
    return made


def holm(chances: Sequence[float]) -> list[float]:
    """Return chances corrected for how many there are (Holm 1979, Scand J Stat 6:65)."""
    adjusted, highest = [0.0] * len(chances), 0.0
    for rank, k in enumerate(_ascending(chances)):
        highest = max(highest, min(1.0, chances[k] * (len(chances) - rank)))
        adjusted[k] = highest
    return adjusted


def _ascending(values: Sequence[float]) -> Iterator[int]:
    return iter(sorted(range(len(values)), key=values.__getitem__))
