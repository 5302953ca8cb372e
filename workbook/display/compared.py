"""A run at the bench beside an expert's run of the same case: two needles on one axis of time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from workbook.bench import Bench, Hands

POINTS = 900  # of a needle, at most
FINEST = 0.05  # s between two of them


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
