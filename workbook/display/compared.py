"""A run at the bench beside an expert's run of the same case: two needles on one axis of time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from workbook.bench import Bench, Hands, Touch
from workbook.cases import Question
from workbook.cases.inflation import SHARE
from workbook.cases.raise_pip import enough, moves_from, pip_at, step
from workbook.rules import RuleBook

BEGIN = 1.0  # s before the first inflation, and after the last
LOOKS = 2  # inflations given beyond those that are asked for
BELOW_TOP = 1.0  # of a cmH2O that the expert keeps below the limit
POINTS = 900  # of a needle, at most
FINEST = 0.05  # s between two of them


def raising(asked: Question, book: RuleBook) -> Hands:
    """Return the run of somebody who raises PIP step by step while the count goes on."""
    facts, bench = asked.facts, Bench.from_data(asked.facts["bench"])
    moves = moves_from(bench, facts, book["volume.window"].band[0])
    period = 60 / facts["rate"]
    held, time, pip, at = period * SHARE, BEGIN, facts["pip"], bench.positions["pip"]
    touches: list[Touch] = []
    while True:
        for _ in range(enough(book) + LOOKS):
            touches += [Touch(time, "occlude"), Touch(time + held, "release")]
            time += period
        if at >= moves or pip >= facts["top"] - BELOW_TOP:
            return Hands(time + BEGIN, tuple(touches))
        pip = min(pip + step(book).band[0], facts["top"] - BELOW_TOP)
        at = pip_at(bench.positions, pip)
        touches.append(Touch(time - (period - held) / 2, "pip", at))


def compared(
    bench: Bench, own: Hands, expert: Hands, moments: Sequence[Mapping[str, Any]]
) -> dict[str, Any]:
    """Return both needles (s, cmH2O), and the moments to look at: when (s), and what was found."""
    return {
        "own": needle(bench, own),
        "expert": needle(bench, expert),
        "moments": [dict(each) for each in moments],
    }


def needle(bench: Bench, hands: Hands) -> dict[str, list[float]]:
    """Return a whole run's needle: times (s) and pressures (cmH2O)."""
    every = max(FINEST, hands.duration / POINTS)
    columns = bench.record(hands).replay().every(every)
    return {
        "time": [round(time, 2) for time in columns["time"]],
        "pressure": [round(pressure, 1) for pressure in columns["manometer"]],
    }
