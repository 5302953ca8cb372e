"""Runs of different learners that are too alike to be two people's: flagged, never marked down.

Each timed run is kept as hashes of its passages; the share two runs have in common tells how
alike they are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from graders.grading.fingerprint import TICK

Whole = NDArray[np.int64]

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
    learners = sorted(prints)
    kept = np.array([len(prints[id]) for id in learners])
    one, other, common = _in_common(kept, [prints[id] for id in learners])
    share = common / np.minimum(kept[one], kept[other])
    for n in np.flatnonzero(share >= ALIKE).tolist():
        yield Pair(unit, question, learners[one[n]], learners[other[n]], float(share[n]))


def _in_common(kept: Whole, prints: Sequence[Sequence[int]]) -> tuple[Whole, Whole, Whole]:
    """Return pairs of runs by their places, and how many passages each pair has in common."""
    passages = np.fromiter(chain.from_iterable(prints), np.uint64, kept.sum())
    owners = np.repeat(np.arange(len(prints)), kept)
    order = np.argsort(passages, kind="stable")  # owners of one passage stay in their order
    passages, owners = passages[order], owners[order]
    pairs: list[Whole] = [np.empty(0, np.int64)]
    for apart in range(1, NEIGHBOURS + 1):
        same = passages[apart:] == passages[:-apart]
        pairs.append(owners[:-apart][same] * len(prints) + owners[apart:][same])
    found, common = np.unique(np.concatenate(pairs), return_counts=True)
    return found // len(prints), found % len(prints), common
