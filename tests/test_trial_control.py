"""A trial's control without a browser: what it tells, what it refuses, what it never names."""

from __future__ import annotations

import json

import pytest

from tests.browser.trial_page import trial
from workbook.trial import NAMED
from workbook.trial.moves import BABY, BEFORE
from workbook.trial.told import moves_in_words
from workbook.widgets import BenchControl
from workbook.widgets.bench import ComparedBench, RoomBench
from workbook.widgets.bench.broken import BrokenBench

pytestmark = pytest.mark.slow

RECORD = {"format": "tpiece-trial", "version": 1, "duration": 20_000}


def heard(control, message):
    """Return what a control answers a message with."""
    told = []
    control.send = lambda content, buffers=None: told.append(content)
    control._hear(None, message, [])
    return told[0] if told else None


def asked(control, move, what=None, **more):
    """Return what a page is told of a move."""
    state = {**control._scene.start.to_data(), **more}
    message = {"kind": "tell", "id": 1, "move": move, "what": what, "held": False, "state": state}
    return heard(control, message)


@pytest.mark.parametrize("kind", [BenchControl, RoomBench, ComparedBench, BrokenBench])
def test_only_a_trial_carries_a_trials_code_and_words(kind):
    """A bench elsewhere is no heavier for it."""
    assert "LiveTrial" not in str(kind._esm)
    assert "tpiece-trial" not in str(kind._css)
    assert "LiveTrial" in str(trial()._esm)


def test_a_bench_says_no_word_of_a_trial():
    """Each control brings its own words."""
    from tests.browser.bench_page import bench

    assert not [name for name in bench().words if name.startswith("trial")]
    assert not [name for name in trial().words if name.startswith("benchFault_")]


def test_a_move_is_answered_by_the_model():
    """A look changes nothing; a changed part is kept in the state."""
    control = trial("cap-under-finger")
    assert "The float stands at" in asked(control, "look-flow")["says"]
    swapped = asked(control, "swap-t")
    assert swapped["state"]["done"] == ["swap-t"]
    assert asked(control, "mend", "hose-kinked")["state"]["done"] == ["mend:hose-kinked"]


@pytest.mark.parametrize("fault", NAMED)
def test_the_drawn_float_stands_where_the_words_say(fault):
    """Also where the gas is lost or shut off behind it: then it is up, and the needle is not."""
    told = asked(trial(fault), "look-flow")
    at = told["float"]
    says = "lies at the bottom" if at == 0 else f"stands at {at:.0f} L/min"
    assert says in told["says"]
    down = {"no-gas": 0.0, "gas-fading": 3.0, "flow-low": 3.0, "flow-high": 15.0}
    assert at == pytest.approx(down.get(fault, 8.0))


@pytest.mark.parametrize(("fault", "rises"), [("no-gas", True), ("airway-blocked", False)])
def test_a_bag_moves_a_chest_unless_the_fault_lies_past_the_device(fault, rises):
    """The picture's chest and the sentence say the same."""
    told = asked(trial(fault), "bag")
    assert told["rises"] is rises
    assert ("does not rise" in told["says"]) is not rises


@pytest.mark.parametrize(
    ("fault", "move", "rises"),
    [("airway-blocked", "reposition", True), ("airway-blocked", "swap-mask", False),
     ("leak-large", "swap-mask", True), ("leak-large", "ease-hold", False)],
)  # fmt: skip
def test_the_page_hears_whether_a_bag_moves_the_chest_after_a_mend(fault, move, rises):
    """The heart rate on the page follows, as the marks do."""
    assert asked(trial(fault), move)["rises"] is rises


def test_the_supplys_needle_is_told_with_its_sentence():
    """It stands at nothing without gas, and high with a good supply."""
    assert asked(trial("no-gas"), "look-supply")["share"] == 0
    assert asked(trial("hose-off"), "look-supply")["share"] > 0.5


STRANGE = [
    {"move": 7}, {"move": "occlude"}, {"move": "open-sesame"}, {"what": "no-fault"},
    {"held": "no"}, {"state": None}, {"state": {"positions": {}, "outlet": "lung", "done": []}},
]  # fmt: skip


@pytest.mark.parametrize("strange", STRANGE)
def test_nonsense_is_not_answered(strange):
    """No page of ours asks so, and nothing breaks."""
    control = trial()
    message = {
        "kind": "tell", "id": 1, "move": "look-flow", "what": None, "held": False,
        "state": control._scene.start.to_data(),
    }  # fmt: skip
    assert heard(control, message)["says"]
    assert heard(control, {**message, **strange}) is None


def test_tables_are_those_of_what_was_done():
    """After the right part was changed the model's aperture is another."""
    control = trial("cap-under-finger")
    start = control._scene.start.to_data()
    message = {"kind": "laws", "id": 1, "tables": ["aperture"], "lung": "", "fault": "",
               "positions": start["positions"], "outlet": start["outlet"]}  # fmt: skip
    before = heard(control, message)["tables"]["aperture"]
    after = heard(control, {**message, "fault": "swap-t"})["tables"]["aperture"]
    assert before != after
    assert heard(control, {**message, "fault": "magic"}) is None


def test_an_answer_that_cannot_have_happened_is_refused_in_a_sentence():
    """Two moves at once; a move that is not offered."""
    control = trial(setting=BEFORE, fault="flow-high")
    at_once = {**RECORD, "moves": [[0, "swap-t"], [10, "call"]]}
    assert control.problem(at_once).startswith("Not saved: move 2 begins before")
    assert "not offered" in control.problem({**RECORD, "moves": [[0, "connect"]]})
    assert control.problem({**RECORD, "moves": [[0, "call"]]}) == ""


@pytest.mark.parametrize("fault", NAMED)
def test_no_trait_names_the_fault(fault):
    """What differs between two trials is what the model shows, and where a control stands."""
    setting = NAMED[fault].settings[-1]
    control = trial(fault, setting)
    told = {n: getattr(control, n) for n in control.traits(sync=True) if not n.startswith("_")}
    closed = {n: told[n] for n in ("tables", "rest", "start", "moves", "goal", "help", "alarm")}
    assert fault not in json.dumps(closed)
    assert [each["id"] for each in told["faults"]] == [
        each["id"] for each in trial("hose-kinked", setting).faults
    ]


def test_both_settings_are_drawn():
    """With a baby there is a heart rate to fall; before birth there is none."""
    assert trial(setting=BABY).heart_law["begins"] > trial(setting=BABY).heart_law["least"]
    assert trial("flow-high", BEFORE).heart_law == {}


def test_a_trial_is_told_in_words():
    """Each move with its second; inflations together; nonsense in a sentence."""
    rows = [[500, "occlude"], [900, "release"], [1500, "occlude"], [1900, "release"],
            [4_000, "flow", 12], [4_300, "flow", 14], [7_000, "name", "no-gas"],
            [7_000, "sure", "guess"]]  # fmt: skip
    assert moves_in_words({**RECORD, "moves": rows}) == (
        "0 to 1 s: Hole covered 2 times.\n4 s: Turn the flow.\n7 s: You say: No gas: the supply is "
        "empty, or its hose is out of the wall.\n7 s: It is a guess."
    )
    mixed = [[500, "occlude"], [900, "flow", 12], [3_900, "release"], [4_000, "call"]]
    assert moves_in_words({**RECORD, "moves": mixed}) == (
        "0 s: Hole covered.\n0 s: Turn the flow.\n3 s: Hole open.\n4 s: Call for help."
    )
    assert moves_in_words({**RECORD, "moves": []}) == "nothing was done"
    for nonsense in (None, 7, {"moves": 3}, {"moves": [[1, "sing"]]}, {"moves": [["a", "call"]]}):
        assert moves_in_words(nonsense) == "a trial that cannot be read"
