"""What is kept of a timed run to tell whether another's is the same: hashes of its passages.

Two people never move alike to a hundredth of a second. A run is kept as the smallest hashes of
its short passages, so that it can be compared without being shown.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

PASSAGE = 4  # moves in one passage
KEPT = 48  # hashes of one run
TICK = 0.02  # s; finer than any two hands agree by chance, coarser than rounding
FEWEST = 8  # moves; shorter runs say nothing


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
