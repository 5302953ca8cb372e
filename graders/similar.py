"""Runs of different learners that are too alike to be two people's: flagged, never marked down.

Two people never move alike to a hundredth of a second. Each timed run is kept as the smallest
hashes of its short passages; the share two runs have in common tells how alike they are.
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

PASSAGE = 4  # moves in one passage
KEPT = 48  # hashes of one run
TICK = 0.02  # s; finer than any two hands agree by chance, coarser than rounding
FEWEST = 8  # moves; shorter runs say nothing
NEIGHBOURS = 12  # learners; further apart a passage that many share is not counted
ALIKE = 0.5  # share of passages in common from which a person should look


@dataclass(frozen=True, slots=True)
class Pair:
    """Two learners whose runs at one question are alike, and how much of them is the same."""

    unit: str
    question: str
    one: str
    other: str
    share: float

    @property
    def says(self) -> str:
        """Return the evidence in a sentence."""
        return (
            f"{self.one} and {self.other}: {self.share:.0%} of the timed passages of {self.unit}, "
            f"{self.question} are the same to {TICK:g} s."
        )


def fingerprint(value: Any) -> tuple[int, ...]:
    """Return the smallest hashes of a timed run; empty when the answer is no such run."""
    moves = _moves(value)
    if len(moves) < FEWEST:
        return ()
    steps = [
        (two[1:], round((two[0] - one[0]) / TICK)) for one, two in pairwise(moves)
    ]  # what was done, and how long after the move before
    passages = {repr(steps[n : n + PASSAGE]) for n in range(len(steps) - PASSAGE + 1)}
    return tuple(sorted(_hash(text) for text in passages)[:KEPT])


def _moves(value: Any) -> list[tuple[Any, ...]]:
    rows = None
    if isinstance(value, Mapping):
        rows = value.get("actions", value.get("events"))
    if not isinstance(rows, list):
        return []
    timed = [tuple(row) for row in rows if isinstance(row, list) and 2 <= len(row) <= 3]
    return [row for row in timed if type(row[0]) in (int, float) and 0 <= row[0] < 1e6]


def _hash(text: str) -> int:
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=6).digest(), "big")


Prints = Mapping[tuple[str, str, str], Sequence[int]]  # (unit, question, learner) -> fingerprint


def alike(prints: Prints) -> list[Pair]:
    """Return the pairs of runs that a person should look at, the most alike first.

    A passage that many share is counted for neighbours by id only, up to ``NEIGHBOURS`` apart, so
    that the work grows with the runs and not with their pairs; a run copied by a whole class is
    then named as a chain of pairs.
    """
    asked: dict[tuple[str, str], list[str]] = defaultdict(list)
    for unit, question, learner in prints:
        asked[unit, question].append(learner)
    found = [
        pair
        for (unit, question), learners in asked.items()
        for pair in _pairs(unit, question, {id: prints[unit, question, id] for id in learners})
    ]
    return sorted(found, key=lambda p: (-p.share, p.one, p.other, p.unit, p.question))


def _pairs(unit: str, question: str, prints: Mapping[str, Sequence[int]]) -> Iterable[Pair]:
    common: Counter[tuple[str, str]] = Counter()
    for learners in _sharers(prints):
        for apart in range(1, min(NEIGHBOURS, len(learners) - 1) + 1):
            common.update(zip(learners, learners[apart:], strict=False))
    for (one, other), count in common.items():
        share = count / min(len(prints[one]), len(prints[other]))
        if share >= ALIKE:
            yield Pair(unit, question, one, other, share)


def _sharers(prints: Mapping[str, Sequence[int]]) -> Iterable[list[str]]:
    """Return who shares a passage, for each passage that is not one person's alone."""
    first: dict[int, str] = {}
    shared: dict[int, list[str]] = {}
    for learner in sorted(prints):
        for each in prints[learner]:
            if each in shared:
                shared[each].append(learner)
            elif each in first:
                shared[each] = [first[each], learner]
            else:
                first[each] = learner
    return shared.values()
