"""The same baby again from a second: a cut record goes on as the whole one does."""

from __future__ import annotations

import pytest

from tests.baby_base import chance
from tests.scenario_base import BOOK, EVERY, acts, case, inflating, played
from workbook.scenario import Played, read_scenario, replay, seconds
from workbook.scenario.again import cut, joined, resumed, start
from workbook.scenario.changes import changes
from workbook.scenario.expert import expert

TAKES = seconds(BOOK)
LIMIT = BOOK["scenario.limit"].value
ROWS = [
    (1.0, "oximeter"), (2.0, "listen"), (3.0, "dry"), (20.0, "connect"), *inflating(25.0, 40.0),
    (41.0, "oxygen", 60), (43.0, "pip", 30), (44.0, "call"), (50.0, "laryngeal-mask"),
    (66.0, "confirm"), (71.0, "compress"), (72.0, "occlude"),
]  # fmt: skip


def rest(whole: Played, before: Played) -> tuple:
    return whole.done[len(before.done) :]


@pytest.mark.parametrize("id", EVERY)
def test_a_cut_record_that_goes_on_with_the_same_acts_gives_the_same_course(id):
    """To the last digit of every state and inflation, wherever it was cut."""
    drawn = case(id)
    whole = expert(drawn, BOOK)
    made, draw = replay(drawn, whole, BOOK), chance(id)
    for time in (0.0, whole.duration, *(whole.duration * draw() for _ in range(3))):
        before = cut(whole, time)
        again = joined(before, rest(whole, before), whole.duration, midway=whole.midway)
        assert again == whole
        went = replay(drawn, again, BOOK)
        assert went.course.states == made.course.states
        assert went.inflations == made.inflations


@pytest.mark.parametrize("id", ["easy", "gas-fails", "compressions"])
def test_a_case_left_at_a_cut_steps_on_as_a_whole_replay_does(id):
    """What was under way comes about when it would have, and every state is the same."""
    drawn = case(id)
    whole = expert(drawn, BOOK)
    made, draw = replay(drawn, whole, BOOK), chance(id)
    for time in (whole.duration * draw() for _ in range(4)):
        before = cut(whole, time)
        run, waiting = resumed(drawn, before, BOOK)
        assert run.state.time <= before.duration
        later = changes(whole, TAKES, drawn.hidden.fails)
        left = [change for change in later if change.time > before.duration]
        assert [c for c in left if c in waiting] == waiting
        for change in left:
            if change.time <= whole.duration:
                run.go(change.time)
                run.do(change)
        run.go(whole.duration)
        assert tuple(run.states) == made.course.states
        assert tuple(run.found) == made.inflations


@pytest.mark.parametrize("id", EVERY)
def test_a_cut_record_can_be_read_wherever_it_was_cut(id):
    """As one that broke off; the acts are those begun by then."""
    drawn = case(id)
    whole = expert(drawn, BOOK)
    draw = chance(f"read {id}")
    for time in (whole.duration * draw() for _ in range(20)):
        before = cut(whole, time)
        assert before.midway
        assert read_scenario(before.to_data(), drawn.id, TAKES, LIMIT) == before
        assert before.done == tuple(one for one in whole.done if one.time <= before.duration)


def test_what_lasts_across_the_cut_is_under_way_and_keeps_its_hands_busy():
    """Hands dry from 3 to 18 s; the helper puts on the oximeter and then counts, until 15 s."""
    at = start(case("easy"), played(ROWS, 80.0), 10.0, BOOK)
    assert (at.time, at.hands, at.helper) == (10.0, 18.0, 15.0)
    assert [(one.done.act, one.begins, one.ends) for one in at.under_way] == [
        ("listen", 9.0, 15.0),
        ("dry", 3.0, 18.0),
    ]
    assert (at.face, at.held, at.pressed) == ("", False, False)


def test_a_hole_that_is_covered_stays_covered_and_can_be_let_go():
    """The cut falls into an inflation: the next act of the hole is to let go."""
    at = start(case("easy"), played(ROWS, 80.0), 25.2, BOOK)
    assert at.held
    assert (at.face, at.airway) == ("t-piece", "mask")
    again = joined(at.played, acts((25.5, "release")), 30.0, midway=True)
    assert read_scenario(again.to_data(), "case-1", TAKES, LIMIT) == again
    assert replay(case("easy"), again, BOOK).inflations[0].length == 0.5


def test_dials_and_airway_stand_as_they_were_left():
    """An airway that is being placed is none yet; a dial stands where it was turned to."""
    drawn = case("easy")
    turned, placing, placed, last = (
        start(drawn, played(ROWS, 80.0), time, BOOK) for time in (43.5, 55.0, 65.5, 73.0)
    )
    assert turned.positions == {**drawn.positions, "pip": 30}
    assert turned.oxygen == 60
    assert (placing.airway, placing.hands) == ("mask", 65.0)
    assert (placed.face, placed.airway, placed.hands) == ("t-piece", "laryngeal-mask", 65.5)
    assert (last.held, last.pressed) == (True, True)
    assert [one.done.act for one in last.under_way] == []


def test_a_cut_outside_the_record_is_one_at_its_ends():
    """Before birth nothing was done; after the end everything."""
    whole = played(ROWS, 80.0)
    assert cut(whole, -5.0).done == ()
    assert cut(whole, 500.0).done == whole.done
    assert cut(whole, 500.0).duration == 80.0


def test_a_page_is_told_the_start_as_plain_data():
    """The record as it is written, times in seconds."""
    told = start(case("easy"), played(ROWS, 80.0), 10.0, BOOK).to_data()
    assert told["record"]["ended"] == "midway"
    assert told["record"]["duration"] == 10000
    assert told["under_way"][0] == {"act": "listen", "begins": 9.0, "ends": 15.0}
    assert read_scenario(told["record"], "case-1", TAKES, LIMIT).duration == 10.0
