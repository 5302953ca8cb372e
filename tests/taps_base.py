"""Records of taps that the tests begin with."""

from __future__ import annotations

from itertools import accumulate

import numpy as np

from workbook.taps import read_taps, timing


def record(presses, held=0.3, duration=60.0, more=(), **other):
    """Return the record of inflations at these times, each held as long."""
    events = [[t, "press"] for t in presses] + [[t + held, "release"] for t in presses]
    events = sorted([*events, *map(list, more)], key=lambda event: event[0])
    return {
        "format": "tpiece-taps", "version": 1, "duration": duration, "events": events, **other,
    }  # fmt: skip


def rhythm(presses, **how):
    return timing(read_taps(record(presses, **how)))


def uneven(seed=7, count=15, period=1.2, spread=0.1):
    """Return press times with independent normal intervals."""
    gaps = np.random.default_rng(seed).normal(period, spread * period, count)
    return list(accumulate(map(float, gaps), initial=0.5))
