"""The control of a case: what it gives its page, how it steps, what it keeps and refuses."""

from __future__ import annotations

import json

import pytest

from tests.scenario_base import BOOK, EVERY, case
from workbook.scenario import ScenarioError
from workbook.widgets.case import CaseControl


def control(kind="easy", seed=1, **more):
    return CaseControl("case-1", "A case.", case=case(kind, seed), book=BOOK, **more)


def step(made, clock, acts=(), known=0, run="r", **more):
    """Ask as a page does, and return the answer."""
    told = []
    made.send = lambda content, buffers=None: told.append(content)
    asks = {"kind": "case", "id": 1, "run": run, "from": known, "acts": list(acts), "clock": clock}
    made._hear(None, {**asks, "heard": 0, "soft": 0.0, **more}, [])
    return told[0] if told else None


def traits(made):
    names = [name for name in made.traits(sync=True) if not name.startswith("_")]
    found = {}
    for name in names:
        value = getattr(made, name)
        if isinstance(value, str | int | float | bool | list | dict):
            found[name] = value
    return found


def test_a_page_is_told_the_same_of_every_course():
    """Nothing that it is given tells which baby it is."""
    given = {kind: json.dumps(traits(control(kind)), sort_keys=True) for kind in EVERY}
    term = [k for k in EVERY if k not in ("breather", "overshoot")]
    assert len({given[kind] for kind in term}) == 1
    assert given["breather"] == given["overshoot"]


def test_an_answer_to_a_step_names_no_course_and_no_depth():
    """What is seen, what the bench plays: no more."""
    for kind in EVERY:
        told = step(control(kind), 30_000, [[1000, "connect"]])
        words = json.dumps({**told, "stand": {**told["stand"], "tables": ()}})
        assert not [each for each in ("depth", "hidden", "stiff", "overshoot") if each in words]
        assert set(told) == {
            "kind", "id", "run", "have", "clock", "seen", "stand", "says", "prompt",
        }  # fmt: skip


def test_steps_go_on_from_where_the_case_stands():
    """Acts that were sent twice are taken once; a kernel that is new asks for all of them."""
    made = control()
    first = step(made, 2000, [[1000, "connect"]])
    assert (first["have"], first["clock"]) == (1, 2000)
    again = step(made, 3000, [[1000, "connect"], [2500, "occlude"]], known=0)
    assert (again["have"], again["clock"]) == (2, 3000)
    assert step(made, 4000, [[3500, "release"]], known=2)["have"] == 3
    assert step(control(), 4000, [[3500, "release"]], known=2) == {
        "kind": "case", "id": 1, "run": "r", "again": True,
    }  # fmt: skip


def test_what_cannot_have_happened_is_refused_in_a_sentence():
    """And what no page sends is not answered."""
    made = control()
    assert "before the hands are free" in step(made, 3000, [[0, "dry"], [10, "rub"]])["refused"]
    assert step(made, "3000") is None
    assert step(made, 3000, run=7) is None
    assert step(made, 3000, known=-1) is None


def test_its_answer_is_the_record_whole_or_midway():
    """Anything else is not saved, and the sentence says why."""
    made = control()
    head = {"format": "tpiece-scenario", "version": 1, "case": "case-1", "duration": 5000}
    for ended in ("whole", "midway"):
        assert made.problem({**head, "ended": ended, "acts": [[1000, "dry"]]}) == ""
    assert "another case" in made.problem({**head, "case": "x", "ended": "whole", "acts": []})
    assert made.problem(7).startswith("Not saved: ")


def test_the_same_baby_begins_again_from_a_second():
    """What was done up to then stands; a hole that was held is let go."""
    record = {
        "format": "tpiece-scenario", "version": 1, "case": "case-1", "duration": 60_000,
        "ended": "whole", "acts": [[1000, "connect"], [9000, "occlude"], [12_000, "release"]],
    }  # fmt: skip
    made = control(record=record, start=10.0)
    assert made.begins == {
        "acts": [[1000, "connect"], [9000, "occlude"], [10_000, "release"]], "at": 10_000,
    }  # fmt: skip
    with pytest.raises(ScenarioError):
        control(record={"format": "x"})


def test_prompts_come_in_practice_alone_when_asked_for():
    """Guided says more than faded."""
    guided, faded = (step(control(prompts=p), 1000)["prompt"] for p in ("guided", "faded"))
    assert guided.startswith(faded)
    assert guided != faded
    assert step(control(), 1000)["prompt"] == ""
    with pytest.raises(ValueError, match="live or practice"):
        control(mode="dead")
