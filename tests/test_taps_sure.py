"""How sure a tapped rate is: simulated hands that all mean the same rate."""

from __future__ import annotations

import numpy as np
import pytest

from tests.taps_base import record
from workbook.taps import read_taps, timing


def simulated(count, spread, missed=0.0, double=0.0, runs=2000, rate=50.0):
    """Return the rhythms of many hands that all mean the same rate."""
    chance = np.random.default_rng(20 + count)
    for _ in range(runs):
        time, presses = 0.0, [0.0]
        for _ in range(count):
            time += chance.normal(60 / rate, spread * 60 / rate)
            if chance.random() >= missed:
                presses.append(float(time))
            if chance.random() < double:
                presses.append(float(time) + 0.1)
        data = record(presses, held=0.05)
        yield timing(read_taps(data))


@pytest.mark.parametrize("count", [8, 12, 20])
def test_the_interval_of_the_rate_holds_the_truth_95_times_in_100(count):
    """At 8, 12 and 20 intervals between 93 and 97 % of the intervals hold 50 a minute."""
    found = [each.rate_interval for each in simulated(count, 0.1)]
    assert 0.93 < sum(low <= 50 <= high for low, high in found) / len(found) < 0.97


# (spread, intervals, missed, double, bias of the clean mean, half-width of the interval)
ROWS = [
    (0.05, 8, 0.0, 0.0, 0.06, 2.0),
    (0.05, 8, 0.05, 0.0, 0.04, 2.1),
    (0.05, 8, 0.0, 0.05, 0.01, 2.0),
    (0.10, 8, 0.05, 0.0, 0.02, 4.2),
    (0.10, 20, 0.0, 0.05, 0.05, 2.3),
    (0.10, 20, 0.05, 0.0, 0.04, 2.4),
]


@pytest.mark.parametrize(("spread", "count", "missed", "double", "bias", "half"), ROWS)
def test_missed_and_double_beats_leave_the_clean_mean_alone(
    spread, count, missed, double, bias, half
):
    """From 8 intervals on, the mean of what is left stays true, and as sure as it says."""
    runs = simulated(count, spread, missed, double, runs=1500)
    found = [each for each in runs if len(each.intervals) > 1]
    assert len(found) > 1490
    assert np.mean([each.rate for each in found]) - 50 == pytest.approx(bias, abs=0.2)
    halves = [(high - low) / 2 for low, high in (each.rate_interval for each in found)]
    assert np.median(halves) == pytest.approx(half, abs=0.35)
