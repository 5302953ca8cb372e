"""The live bench without a browser: the tables it answers with, the runs it keeps, its words."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from workbook.bench import DIALS, Bench, circuit_at, laws
from workbook.bench.baby import healthy
from workbook.cases import Kind, Question
from workbook.lesson.unit import control
from workbook.physics import coefficients as c
from workbook.physics.faults import FAULTS
from workbook.widgets import BenchControl
from workbook.widgets.bench import ComparedBench, RoomBench, bench_kind, short_tables
from workbook.widgets.bench.words import WORDS
from workbook.widgets.control import WORDS as COMMON

STANDS = {"flow": 16, "pip": 60, "relief": 119, "peep": 118, "leak": 0}
BENCH = Bench(STANDS, healthy(3.0), 3.0, "capped")
TABLES = [
    "limb", "manometer", "relief", "aperture", "covered", "outlet", "patient", "recoil",
]  # fmt: skip
ASKED = {
    "kind": "laws", "id": 7, "key": "any", "positions": {**STANDS, "pip": 61}, "outlet": "lung",
    "lung": "", "tables": TABLES,
}  # fmt: skip
RUN = {"format": "tpiece-hands", "version": 1, "duration": 2, "actions": [[0.5, "occlude"]]}


def bench(**more: Any) -> BenchControl:
    kind = RoomBench if more.get("educator") else BenchControl
    return kind("run", "Work at the bench.", **{"bench": BENCH, **more})


def told(control: BenchControl, message: Any) -> list[Any]:
    """Return what a bench sends when a page sends a message."""
    sent: list[Any] = []
    control.send = lambda content, buffers=None: sent.append(content)
    control._hear(None, message, [])
    return sent


def test_a_page_that_asks_for_tables_is_given_the_models():
    """Rounded to seven digits, under the name the page has for the setting."""
    (reply,) = told(bench(), ASKED)
    assert reply["kind"] == "laws"
    assert reply["id"] == 7
    assert reply["key"] == "16/61/119/118/0/lung/"
    model = laws(circuit_at(ASKED["positions"]), "lung", BENCH.lung)
    assert reply["tables"]["joined"] is True
    assert reply["tables"]["store"] == model["store"]
    for name in TABLES:
        for sent, made in zip(reply["tables"][name], model[name], strict=True):
            assert sent == pytest.approx(made, rel=1e-6, abs=1e-9)


def test_only_the_tables_asked_for_are_sent():
    """Turning one control changes few of them."""
    (reply,) = told(bench(), {**ASKED, "tables": ["aperture"]})
    assert set(reply["tables"]) == {"aperture", "store", "joined"}


NONSENSE = [
    {"positions": None},
    {"positions": {"flow": 1}},
    {"positions": {**STANDS, "pip": 241}},
    {"positions": {**STANDS, "pip": -1}},
    {"positions": {**STANDS, "pip": 1.5}},
    {"positions": {**STANDS, "pip": True}},
    {"positions": {**STANDS, "other": 1}},
    {"outlet": "elsewhere"},
    {"outlet": ["lung"]},
    {"lung": "stranger"},
    {"lung": ["stiff"]},
    {"tables": None},
    {"tables": [["limb"]]},
]


@pytest.mark.parametrize("wrong", NONSENSE, ids=str)
def test_nonsense_is_not_answered_and_breaks_nothing(wrong):
    """A page that speaks nonsense hears nothing; the next question is answered."""
    control = bench()
    assert told(control, {**ASKED, **wrong}) == []
    assert len(told(control, ASKED)) == 1


def test_an_educators_lungs_are_played_and_no_others():
    """The published test lungs by default; a page cannot bring its own."""
    control = bench(educator=True)
    texts = [lung["text"] for lung in control.educator["lungs"]]
    assert texts == ["Stiff", "Between", "Soft"]
    (reply,) = told(control, {**ASKED, "lung": "stiff"})
    xs, ys = reply["tables"]["recoil"]
    assert (xs[-1] - xs[0]) / (ys[-1] - ys[0]) == pytest.approx(c.LUNG_STIFF.value)
    assert told(bench(), {**ASKED, "lung": "stiff"}) == []


def test_a_planted_fault_of_the_supply_lowers_the_float_and_no_other_does():
    """What is lost or shut off behind the flow meter leaves its float up."""
    faults = {one["id"]: one["comes"] for one in bench(educator=True).educator["faults"]}
    lowered = {id: share for id, share in faults.items() if share != 1.0}
    assert lowered == {"no-gas": 0.0, "gas-fading": pytest.approx(c.FAULT_FADING.value)}


@pytest.mark.parametrize("id", FAULTS)
def test_an_educator_may_plant_every_fault(id):
    """Its tables are the model's, of the changed circuit, lung and gauge; it has a name."""
    control = bench(educator=True)
    (name,) = (one["text"] for one in control.educator["faults"] if one["id"] == id)
    assert name
    (reply,) = told(control, {**ASKED, "fault": id})
    assert reply["key"] == f"16/61/119/118/0/lung//{id}"
    stands, wrong = circuit_at(ASKED["positions"]), FAULTS[id]
    model = laws(wrong.circuit(stands), "lung", wrong.lung(BENCH.lung), wrong.gauge(stands))
    for table in reply["tables"]:
        assert reply["tables"][table] == short_tables(model)[table], table
    plain = short_tables(laws(stands, "lung", BENCH.lung))
    assert any(reply["tables"][table] != plain[table] for table in TABLES)


@pytest.mark.parametrize("wrong", ["nonsense", 7, None, ["hose-kinked"]])
def test_no_other_fault_is_planted_and_none_without_an_educator(wrong):
    """A learner's bench has no fault, whatever a page asks."""
    assert told(bench(educator=True), {**ASKED, "fault": wrong}) == []
    assert told(bench(), {**ASKED, "fault": "hose-kinked"}) == []


def test_a_run_is_kept_and_anything_else_refused():
    """Refused with the sentence of what cannot be read."""
    control = bench()
    answer = {"kind": "answer", "client": "page", "seq": 1}
    (refused,) = told(control, {**answer, "value": {**RUN, "version": 9}})
    assert refused["kind"] == "refused"
    assert refused["says"].startswith("Not saved: the record is of version '9'")
    assert control.value is None
    (saved,) = told(control, {**answer, "seq": 2, "value": RUN})
    assert saved["kind"] == "saved"
    assert control.value == RUN


def test_a_page_begins_with_all_it_needs():
    """How the bench stands, the laws of its parts, its lung, the gauge: before any question."""
    control = bench(outlets=["capped", "lung"])
    assert control.start["positions"] == STANDS
    assert {"flow", "limb", "sharp", *DIALS} < {*control.parts, "peep"}
    assert {"patient", "recoil", "store", "joined"} == set(control.tables)
    assert control.rest["pressure"] > 0
    assert [outlet["id"] for outlet in control.outlets] == ["capped", "lung"]
    assert list(control.dials) == list(DIALS)
    json.dumps(
        [
            control.start,
            control.parts,
            control.tables,
            control.rest,
            control.dials,
            control.educator,
        ]
    )


def test_only_the_flow_meter_has_a_scale():
    """What another control says of itself tells no pressure: the needle alone does."""
    for name, dial in bench().dials.items():
        scale = (dial["first"], dial["step"])
        assert scale == ((0, c.FLOW_CLICK.value) if name == "flow" else (0, 1))
        assert ("L/min" in dial["each"]) == (name == "flow")


def test_every_word_the_bench_uses_has_an_english_default():
    """What the JavaScript asks of the words, the words have, and none is idle."""
    code = f"{RoomBench._esm}\n{ComparedBench._esm}"
    used = set(re.findall(r"\b(?:bench[A-Z]\w*|wrongRun)\b", code))
    known = {word for word in {**COMMON, **WORDS} if not word.startswith("bench_")}
    asked = set(re.findall(r"words\.(\w+)", code)) | set(re.findall(r'tell\("(\w+)"', code))
    asked |= {word for line in re.findall(r"const \{([^}]*)\} = (?:this\.)?words", code)
              for word in re.findall(r"\w+", re.sub(r'"[^"]*"', "", line))}  # fmt: skip
    assert len(asked) > 40
    assert asked <= known
    made = (
        "benchHear_",
        "benchOutlet_",
        "benchPart_",
        "benchSeen_",
        "benchView_",
        "benchPace",
        "benchLung",
        "benchFault_",
        "benchTubeIn",
        "wrongRun",
    )
    assert {word for word in WORDS if not word.startswith(("bench_", *made))} <= used


def test_a_bench_carries_no_more_than_it_uses():
    """What only a room or a compared run needs is sent with those alone."""
    plain = f"{BenchControl._esm}{BenchControl._css}{json.dumps(bench().words)}"
    room = f"{RoomBench._esm}{RoomBench._css}{json.dumps(bench(educator=True).words)}"
    compared = f"{ComparedBench._esm}{ComparedBench._css}"
    for rare, whole in (
        ("drawEducator", room), ("tpiece-bench-waiting", room), ("benchFault_no-gas", room),
        ("class BenchCompare", compared), ("tpiece-compare-mark", compared),
    ):  # fmt: skip
        assert rare in whole, rare
        assert rare not in plain, rare
    others = ("tapsStart", "metronome", "rhythmPlay", "needleAt", "bench_pip", "tpiece-step")
    assert [each for each in others if f'"{each}' in plain or f".{each}" in plain] == []


def test_each_question_gets_the_bench_it_asks_for():
    """With feedback a run may be compared; a room's is a room's; no other one takes an educator."""
    assert bench_kind({}, feedback=False) is BenchControl
    assert bench_kind({}, feedback=True) is ComparedBench
    assert bench_kind({"educator": {"lungs": []}}, feedback=True) is RoomBench
    with pytest.raises(ValueError, match="RoomBench"):
        BenchControl("run", "Work at the bench.", bench=BENCH, educator=True)


def test_a_bench_question_gets_its_bench():
    """From the plain data of a question, as a unit and a lesson make it."""
    shows = {
        "bench": BENCH.to_data(), "outlets": ["capped"], "offers": ["log"],
        "chest": {"low": 4.0, "high": 8.0}, "goal": "Make the chest move.",
    }  # fmt: skip
    made = control(Question("run", Kind.BENCH, "Work at the bench.", shows=shows))
    assert isinstance(made, BenchControl)
    assert (made.offers, made.goal, made.chest["low"]) == (["log"], "Make the chest move.", 4.0)
    assert list(made.dials) == ["flow", "pip", "relief", "peep"]
    assert made.start == BENCH.to_data()


def test_words_can_be_given_in_another_language():
    """A bench's own words too."""
    made = bench(words={"bench_pip": "Bli", "benchHold": "Blo"})
    assert made.dials["pip"]["label"] == "Bli"
    assert made.words["benchHold"] == "Blo"
