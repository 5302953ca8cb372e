"""Collects question scores, one verdict at a time, so that a large course fits in memory."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from graders.items.quality import Matrix
from graders.marking.graded import Graded
from graders.marks.misconceptions import beliefs_of


@dataclass(frozen=True, slots=True)
class UnitScores:
    """The scores of one unit: a row for each learner, a column for each question.

    ``scores`` are points, NaN where a verdict lacks the question. ``left_open`` counts empty
    answers, which earn nothing and are in ``scores`` as 0. ``pulls`` counts, by question, the
    learners in whose answer a misconception showed.
    """

    unit: str
    questions: tuple[str, ...]
    maxima: tuple[float, ...]
    learners: tuple[str, ...]
    scores: Matrix
    left_open: Mapping[str, int]
    pulls: Mapping[str, Mapping[str, int]]
    unusable: int = 0
    notes: tuple[str, ...] = ()
    attempts: Mapping[str, int] = field(default_factory=dict)  # of whom a later one was marked


@dataclass(frozen=True, slots=True)
class _Row:
    layout: tuple[str, ...]
    shares: array[float]
    open: tuple[str, ...]
    beliefs: tuple[tuple[str, str], ...]
    attempt: int = 1


@dataclass(slots=True)
class _Unit:
    rows: dict[str, _Row] = field(default_factory=dict)
    unusable: set[str] = field(default_factory=set)
    maxima: dict[str, float] = field(default_factory=dict)
    changed: set[str] = field(default_factory=set)
    layouts: dict[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)


@dataclass(slots=True)
class ItemScores:
    """Takes in verdicts in any order; of two for one learner and unit the later one counts."""

    _units: dict[str, _Unit] = field(default_factory=dict)

    def add(self, one: Graded) -> None:
        """Take in one learner's marked unit; one without a usable answer is counted as such."""
        unit = self._units.setdefault(one.unit, _Unit())
        unit.rows.pop(one.learner, None)
        unit.unusable.discard(one.learner)
        if not one.digest:
            unit.unusable.add(one.learner)
            return
        full = [(v, possible) for v in one.verdicts if (possible := v.possible) > 0]
        for v, possible in full:
            old = unit.maxima.setdefault(v.question, possible)
            if old != possible:
                unit.changed.add(v.question)
                unit.maxima[v.question] = max(old, possible)
        layout = tuple(v.question for v, _ in full)
        unit.rows[one.learner] = _Row(
            unit.layouts.setdefault(layout, layout),
            array("d", [min(1.0, max(0.0, v.earned / possible)) for v, possible in full]),
            tuple(q for q in layout if q not in one.said) if one.said else (),
            tuple((v.question, beliefs_of(id)) for v, _ in full for id in v.misconceptions),
            one.attempt,
        )

    @property
    def units(self) -> tuple[str, ...]:
        """Return the units of which anything was taken in, in order of id."""
        return tuple(sorted(self._units))

    def unit(self, id: str) -> UnitScores:
        """Return one unit's scores, learners in order of id; empty when nothing was taken in."""
        kept = self._units.get(id, _Unit())
        order = sorted(kept.layouts, key=len, reverse=True)
        questions = tuple(dict.fromkeys(q for layout in order for q in layout))
        learners = tuple(sorted(kept.rows))
        rows = [kept.rows[learner] for learner in learners]
        maxima = tuple(kept.maxima[q] for q in questions)
        return UnitScores(
            id,
            questions,
            maxima,
            learners,
            _points(rows, questions, maxima),
            Counter(q for row in rows for q in row.open),
            _pulls(rows),
            len(kept.unusable),
            _notes(kept),
            {id: row.attempt for id, row in kept.rows.items() if row.attempt > 1},
        )


def _points(rows: list[_Row], questions: tuple[str, ...], maxima: tuple[float, ...]) -> Matrix:
    at = {question: k for k, question in enumerate(questions)}
    points: Matrix = np.full((len(rows), len(questions)), np.nan)
    for n, row in enumerate(rows):
        points[n, [at[q] for q in row.layout]] = row.shares
    made: Matrix = np.round(points * np.array(maxima), 9)
    return made


def _pulls(rows: list[_Row]) -> dict[str, Counter[str]]:
    found: dict[str, Counter[str]] = {}
    for row in rows:
        for question, belief in row.beliefs:
            found.setdefault(question, Counter())[belief] += 1
    return found


def _notes(kept: _Unit) -> tuple[str, ...]:
    if not kept.changed:
        return ()
    names = ", ".join(sorted(kept.changed))
    return (f"Not all verdicts give these questions the same points: {names}. Grade again.",)
