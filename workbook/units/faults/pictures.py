"""Needle and chest over a few inflations with something wrong, as a picture: by the model."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.inflation import chest
from workbook.display.studies import Numbers, breath_time, in_rhythm
from workbook.physics import coefficients as c
from workbook.physics import simulate
from workbook.rules import RuleBook
from workbook.trial import Scene

INFLATIONS, STEP, EVERY = 3, 0.02, 0.02  # of a strip; times in s
LOWEST_TOP = 40.0  # cmH2O: strips of one lesson have one scale, where they can


def strip(scene: Scene, n: Numbers, book: RuleBook, says: Mapping[str, str]) -> dict[str, Any]:
    """Return a strip's data: what the gauge shows (cmH2O), and the chest, over time (s)."""
    state, period = scene.start, breath_time(n)
    end = (INFLATIONS + 0.5) * period
    trace = simulate(scene.circuit(state), scene.lung(state), in_rhythm(n, end, period), end, STEP)
    times = [k * EVERY for k in range(int(end / EVERY) + 1)]
    gauge, top = scene.gauge(state), c.GAUGE_TOP.value
    pressure = [min(gauge.reads(each), top) for each in trace.at(times)]
    volumes = trace.at(times, "volume")
    taken = [max(0.0, each - min(volumes)) / scene.bench.weight for each in volumes]
    return {
        "kind": "strip", "title": says["title"], "time": [round(each, 3) for each in times],
        "pressure": [round(each, 2) for each in pressure], "low": 0.0,
        "high": max(LOWEST_TOP, 10.0 * (max(pressure) // 10 + 1)),
        "chest": chest(taken, book, says),
    }  # fmt: skip
