"""Records of the bench: readable data that replays bit for bit, and refuses nonsense."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from dataclasses import replace

import pytest

from tests.physics_base import BASE, TWO
from workbook.physics import (
    Action,
    Effort,
    Lung,
    Record,
    RecordError,
    Stiffening,
    Tube,
    leak_of,
)

RECORD = Record(
    replace(BASE, leak=leak_of(0.5, 3)),
    Lung(1, 40, Tube(3), Stiffening(0.01, 15)),
    3.0,
    (*TWO[:2], Action(1.0, "flow", 10, 0.5), Action(1.2, "relief", None), TWO[2]),
    Effort(3, 40, 0.4),
)


def test_a_record_replays_bit_for_bit_after_json():
    """Written, read back and replayed, every bit of the trace is the same."""
    again = Record.from_data(json.loads(json.dumps(RECORD.to_data())))
    assert again == RECORD
    assert again.replay() == RECORD.replay()


def test_a_record_replays_the_same_in_another_process():
    """Another interpreter gives the same bits."""
    code = (
        "import json,sys; from workbook.physics import Record;"
        "t = Record.from_data(json.load(sys.stdin)).replay();"
        "print(t.end.volume.hex(), t.end.pressure_t.hex(), len(t))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        input=json.dumps(RECORD.to_data()),
        capture_output=True,
        text=True,
        check=True,
    )
    end = RECORD.replay()
    assert done.stdout.split() == [
        end.end.volume.hex(),
        end.end.pressure_t.hex(),
        str(len(end)),
    ]


def spoilt(**changes: object) -> dict[str, object]:
    """Return a record's data with something wrong in it."""
    return {**RECORD.to_data(), **changes}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ([], "the whole is a table"),
        (spoilt(format="other"), "no record of the bench"),
        (spoilt(version=2), "version 1 is read"),
        (spoilt(colour="red"), "'colour' is not known"),
        (spoilt(duration=1e9), "duration is between"),
        (spoilt(duration="long"), "duration is a number"),
        (spoilt(duration=math.nan), "duration is between"),
        (spoilt(circuit=None), "circuit is a table"),
        (spoilt(circuit={"flow": -1}), "In circuit: The flow is between"),
        (spoilt(circuit={}), "something is missing"),
        (spoilt(circuit={"flow": 8, "pip_valve": 3}), "circuit.pip_valve is a table"),
        (spoilt(lung={"compliance": 0, "airway": 1}), "In lung: Compliance is between"),
        (spoilt(effort={"amplitude": 1, "rate": 1e9, "duty": 0.5}), "In effort: "),
        (spoilt(actions="occlude"), "not a list"),
        (spoilt(actions=[{"time": 1, "kind": "shout"}]), "In action 1: 'shout' is no action"),
        (spoilt(actions=[{"time": 1, "kind": "flow"}]), "needs a value in L/min"),
        (spoilt(actions=[{"time": 9, "kind": "occlude"}]), "after the record's end"),
        (
            spoilt(actions=[{"time": 2, "kind": "occlude"}, {"time": 1, "kind": "release"}]),
            "comes after a later one",
        ),
        (spoilt(actions=[{"time": 1, "kind": "occlude"}] * 5001), "at most 5000 actions"),
    ],
)
def test_a_bad_record_is_refused_with_a_sentence(data, says):
    """Every mistake says what is wrong and where; none is replayed."""
    with pytest.raises(RecordError, match=says) as caught:
        Record.from_data(data)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)
