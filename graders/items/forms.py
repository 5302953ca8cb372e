"""Are the drawn cases equally hard? Simulated with scripted learners, and observed in a group."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Any

from graders.marking.exercise import mark, mark_all, model_answers
from graders.marking.personas import answers_of, played, shows
from graders.marks.verdict import Verdict
from workbook.cases import Case, case
from workbook.course.settings import Course
from workbook.rules import RuleBook

CASES = 12  # enough to see an unequal draw; more take longer and change little


@dataclass(frozen=True, slots=True)
class Played:
    """One scripted learner through many drawn cases, who holds ``belief`` or none.

    ``shares`` are the shares of the points by case, ``ready`` whether ready for the lab,
    ``hidden`` in how many cases nothing asks about the belief, so that it costs nothing.
    """

    belief: str
    shares: tuple[float, ...]
    ready: tuple[bool, ...]
    hidden: int

    @property
    def mean(self) -> float:
        """Return the mean share of the points."""
        return fmean(self.shares)

    @property
    def sd(self) -> float:
        """Return how far the shares of the same learner spread by the draw alone."""
        return stdev(self.shares) if len(self.shares) > 1 else 0.0

    @property
    def depends(self) -> bool:
        """Say whether being ready depends on the draw."""
        return len(set(self.ready)) > 1


@dataclass(frozen=True, slots=True)
class FormStudy:
    """A unit's drawn cases, each answered by every scripted learner."""

    unit: str
    players: tuple[Played, ...]

    @property
    def cases(self) -> int:
        """Return how many cases were drawn."""
        return len(self.players[0].shares) if self.players else 0

    @property
    def by_case(self) -> tuple[float, ...]:
        """Return the mean share of all scripted learners in each case."""
        return tuple(fmean(p.shares[n] for p in self.players) for n in range(self.cases))

    @property
    def sd(self) -> float:
        """Return the spread of the cases' means: 0 when all cases are equally hard."""
        return stdev(self.by_case) if self.cases > 1 else 0.0

    @property
    def depends(self) -> tuple[Played, ...]:
        """Return the scripted learners whose being ready depends on the draw."""
        return tuple(p for p in self.players if p.depends)


def simulate(course: Course, unit: str, cases: int = CASES) -> FormStudy:
    """Return a unit's study: ``cases`` drawn cases, each answered by each scripted learner.

    One scripted learner knows everything; each other holds one known misconception.
    """
    book, beliefs = course.book, ("", *played(unit))
    drawn = [case(course.id, unit, f"form-{n + 1:03d}", book) for n in range(cases)]
    rows = [list(_outcomes(each, beliefs, book, course.needed)) for each in drawn]
    players = []
    for k, belief in enumerate(beliefs):
        shares, ready = tuple(row[k][0] for row in rows), tuple(row[k][1] for row in rows)
        hidden = sum(bool(belief) and not shows(each, belief) for each in drawn)
        players.append(Played(belief, shares, ready, hidden))
    return FormStudy(unit, tuple(players))


def _outcomes(
    drawn: Case, beliefs: Sequence[str], book: RuleBook, needed: float
) -> Iterator[tuple[float, bool]]:
    """Yield (share of the points, ready) for each belief; only what a belief changes is marked."""
    right = model_answers(drawn, book)
    verdicts = {v.question: v for v in mark_all(drawn, right, book)}
    for belief in beliefs:
        said = answers_of(drawn, book, belief) if belief else right
        other = {q: mark(drawn, q, said.get(q), book, said) for q in _changed(right, said)}
        yield _outcome({**verdicts, **other}, needed)


def _changed(right: Mapping[str, Any], said: Mapping[str, Any]) -> list[str]:
    return [q for q in {**right, **said} if right.get(q) != said.get(q)]


def _outcome(verdicts: Mapping[str, Verdict], needed: float) -> tuple[float, bool]:
    possible = sum(v.possible for v in verdicts.values())
    share = sum(v.earned for v in verdicts.values()) / possible if possible else 0.0
    safe = not any(v.unsafe for v in verdicts.values())
    return share, safe and share >= needed - 1e-9


def sample(learners: Sequence[str], most: int) -> tuple[str, ...]:
    """Return at most so many learners, the same ones every time and in no order of theirs."""
    if len(learners) <= most:
        return tuple(learners)
    return tuple(sorted(learners, key=lambda id: hashlib.sha256(id.encode()).digest())[:most])
