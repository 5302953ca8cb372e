"""A case from birth to stabilised: what is seen, what a record can be, how it went by replay."""

from __future__ import annotations

import math
from dataclasses import replace as changed
from time import process_time

import pytest

from tests.scenario_base import BOOK, EVERY, case, inflating, played
from workbook.bench import DIALS
from workbook.rules import editions, rulebook
from workbook.scenario import (
    ACTS,
    Played,
    ScenarioError,
    demands,
    offered,
    read_scenario,
    replay,
    seconds,
    seen,
    timed,
)
from workbook.scenario.acts import CORRECTIVE, LINES, PARTS
from workbook.scenario.demands import ASKED

pytestmark = pytest.mark.slow

TAKES = seconds(BOOK)
MASK = [(20.0, "connect")]


def read(data, id="case-1"):
    return read_scenario(data, id, TAKES, BOOK["scenario.limit"].value)


def record(acts, **more):
    head = {"format": "tpiece-scenario", "version": 1, "case": "case-1", "duration": 60000}
    return {**head, "ended": "whole", "acts": acts, **more}


# --- acts


def test_every_act_has_words_a_part_and_its_time_from_the_rules():
    """None is offered without, and none takes a time that no rule gives."""
    rows = offered(BOOK)
    assert {row["id"] for row in rows} == set(ACTS)
    assert all(row["text"] and row["part"] in PARTS for row in rows)
    assert all(act.time == "" or act.time in BOOK for act in ACTS.values())
    assert TAKES["listen"] == 6
    assert set(CORRECTIVE) - {"pip-up"} <= set(ACTS)


def test_the_order_of_the_acts_gives_no_step_away():
    """They stand by part and then by words, the same for every case."""
    rows = offered(BOOK)
    assert rows == sorted(rows, key=lambda row: (PARTS.index(row["part"]), row["text"]))
    steps = [row["id"] for row in rows if row["id"] in CORRECTIVE]
    assert steps != [id for id in CORRECTIVE if id in steps]


# --- the record


def test_a_record_is_read_as_it_was_written():
    """There and back again it is the same, ended midway or not."""
    rows = [(3, "dry"), *MASK, *inflating(30, 40), (45, "say", "chest-moves"), (48, "oxygen", 40)]
    for midway in (False, True):
        made = changed(played(rows, 60.0), midway=midway)
        assert read(made.to_data()) == made


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (None, "no record of a case"),
        ({"format": "tpiece-trial", "version": 1}, "no record of a case"),
        ([record([]), record([])], "more than one case"),
        (record([], version=2), "version '2'; this workbook reads version 1"),
        (record([], version="9" * 99), "of version"),
        (record([], more=1), "'more' is not known"),
        (record([], case="case-2"), "another case: 'case-2'"),
        (record([], ended="asleep"), "played to its end"),
        (record("acts"), "no list of acts"),
        (record([[0, "open"]] * 3001), "holds 3001 acts"),
        (record([], duration=1.5), "end has no time in milliseconds"),
        (record([], duration=10**9), "a case runs from 0 to 420 s"),
        (record([[-1, "dry"]]), "act 1 lies before birth"),
        (record([["1", "dry"]]), "act 1 has no time"),
        (record([[True, "dry"]]), "act 1 has no time"),
        (record([7]), "act 1 is not a time and an act"),
        (record([[0, "fly"]]), "nothing that can be done here: 'fly'"),
        (record([[0, "pip"]]), "says something that cannot be said"),
        (record([[0, "pip", 10**6]]), "says something that cannot be said"),
        (record([[0, "oxygen", 101]]), "says something that cannot be said"),
        (record([[0, "say", "hello"]]), "says something that cannot be said"),
        (record([[0, "dry", 1]]), "says something that cannot be said"),
        (record([[30000, "open"], [10000, "open"]]), "act 2 jumps back in time"),
        (record([[61000, "open"]]), "act 1 lies after the end"),
        (record([[0, "occlude"], [1000, "occlude"]]), "act 2 covers or frees"),
        (record([[0, "release"]]), "act 1 covers or frees"),
        (record([[0, "compress-stop"]]), "act 1 begins or stops compressions"),
        (record([[0, "dry"], [2000, "rub"]]), "act 2 begins before the hands are free"),
    ],
)
def test_each_misuse_is_refused_in_one_sentence(data, says):
    """What, where: and no more than one sentence."""
    with pytest.raises(ScenarioError, match=says) as error:
        read(data)
    assert str(error.value).count(". ") == 0
    assert len(str(error.value)) < 160


def test_what_broke_off_is_kept_and_goes_as_far_as_it_went():
    """A window closed midway, a laptop that slept: the rest is not made up."""
    rows = [*MASK, *inflating(25, 90)]
    half = Played("case-1", 50.0, tuple(d for d in played(rows).done if d.time <= 50), midway=True)
    whole = replay(case("easy"), played(rows), BOOK)
    made = replay(case("easy"), read(half.to_data()), BOOK)
    assert made.course.end == 50
    assert made.played.midway
    assert made.course.heart(49) == whole.course.heart(49)
    assert max(timed(made, BOOK).values()) <= 50


def test_a_hand_and_a_helper_work_at_once_but_a_helper_does_one_by_one():
    """Putting a sensor on does not stop an inflation; leads wait for the sensor."""
    rows = [(10, "oximeter"), (10.1, "leads"), *MASK, *inflating(21, 60)]
    made = replay(case("easy"), read(played(rows, 60.0).to_data()), BOOK)
    assert len(made.inflations) == 26
    assert seen(made, 25.9, BOOK)["leads"] == "not on"
    assert seen(made, 26.1, BOOK)["leads"] == "searching"


# --- how it goes


@pytest.mark.parametrize("id", EVERY)
def test_the_same_record_gives_the_same_bits(id):
    """Nothing but the draw and the record decides."""
    rows = [(2, "dry"), *MASK, *inflating(25, 120), (121, "reposition"), *inflating(124, 200)]
    one, two = (replay(case(id), played(rows, 200.0), BOOK) for _ in range(2))
    assert one.course.states == two.course.states
    assert one.inflations == two.inflations


@pytest.mark.parametrize("id", EVERY)
def test_nothing_done_ends_in_a_slow_heart_but_for_a_baby_who_breathes(id):
    """Seven minutes without a hand: nobody is stabilised who needed one, and nobody dies."""
    made = replay(case(id), played([]), BOOK)
    end = made.course.heart(420)
    if case(id).hidden.kind.breathes:
        assert end > 100
    else:
        assert 45 <= end < 60
        assert "stabilised" not in timed(made, BOOK)


def test_only_what_is_the_matter_is_helped_by_what_helps_it():
    """A shut airway opens by the head and by no pressure; a leak is stopped at the mask."""
    for id, wrong, right in (
        ("position", "mask-adjust", "reposition"), ("leak", "reposition", "mask-adjust"),
        ("laryngeal-mask", "reposition", "laryngeal-mask"),
    ):  # fmt: skip
        for act, helps in ((wrong, False), (right, True)):
            rows = [*MASK, *inflating(25, 45), (46, act), *inflating(64, 130)]
            made = replay(case(id), played(rows, 130.0), BOOK)
            late = [one for one in made.inflations if one.start > 80]
            assert all((one.chest == "moves") == helps for one in late), (id, act)
            assert all(one.chest == "still" for one in made.inflations if one.start < 45)


def test_a_stiff_lung_needs_more_pressure():
    """The same hands at the start and ten more: the chest moves sooner by the second."""
    first = case("stiff")
    up = min(first.positions["pip"] + 40, DIALS["pip"].clicks - 1)
    moves = []
    for turns in ([], [(46.0, "pip", up)]):
        made = replay(first, played([*MASK, *inflating(25, 45), *turns, *inflating(47, 150)]), BOOK)
        moves.append(timed(made, BOOK).get("effective", math.inf))
    assert moves[1] < moves[0] - 10


def test_gas_that_fails_gives_nothing_until_the_bag_is_taken():
    """The T-piece brings nothing after that second, the bag does."""
    made_case = case("gas-fails")
    fails = made_case.hidden.fails
    alone = [*MASK, *inflating(25, 200)]
    made = replay(made_case, played(alone), BOOK)
    assert all(one.volume == 0 for one in made.inflations if one.start > fails + 2)
    bag = replay(made_case, played([*MASK, *inflating(25, 115), (116, "bag")]), BOOK)
    assert bag.bagged
    assert bag.course.heart(200) > made.course.heart(200) + 20


def test_compressions_help_the_deepest_only_with_ventilation():
    """Begun before any ventilation they are not enough; with oxygen and inflations they are."""
    made_case = case("compressions")
    first = replay(made_case, played([(10, "compress"), *MASK]), BOOK)
    assert first.course.heart(300) < 60
    rows = [*MASK, *inflating(25, 99, 30), (100, "oxygen", 100), (100, "compress")]
    rows += inflating(102, 400, 30)
    both = replay(made_case, played(rows), BOOK)
    without = replay(made_case, played([r for r in rows if r[1] != "compress"]), BOOK)
    assert both.course.heart(280) > without.course.heart(280) + 20


def test_oxygen_reaches_the_baby_later_than_the_dial():
    """Two plays that differ in the dial at 60 s are the same until 79 s and more."""
    rows = [*MASK, *inflating(25, 59), *inflating(62, 200)]
    air, pure = (
        replay(case("easy"), played([*rows, (60, "oxygen", dial)], 200.0), BOOK)
        for dial in (21, 100)
    )
    assert air.course.saturation(79.9) == pure.course.saturation(79.9)
    assert pure.course.saturation(150) > air.course.saturation(150) + 0.15


def test_a_mask_off_the_face_gives_nothing():
    """Covering the hole beside the baby is no inflation of it."""
    made = replay(case("easy"), played(inflating(10, 100), 100.0), BOOK)
    assert made.inflations == ()
    assert made.course.heart(100) < 60


# --- what is seen


@pytest.mark.parametrize("id", EVERY)
def test_nothing_is_shown_that_a_team_would_not_have(id):
    """Before anything is put on: no number of heart or saturation, and no word of the course."""
    made_case = case(id)
    made = replay(made_case, played([*MASK, *inflating(25, 100)], 100.0), BOOK)
    for time in (0, 30, 60, 99):
        shown = seen(made, time, BOOK)
        assert shown["oximeter"] == shown["leads"] == "not on"
        assert shown["beats"] == []
        assert set(shown) == {
            "clock", "breathing", "tone", "chest", "beats", "oximeter", "leads"}  # fmt: skip
    told = str(made_case.told())
    assert set(made_case.told()) == {"case", "weeks", "weight", "positions", "oxygen"}
    assert not any(word in told for word in ("depth", "hidden", "Hidden", "nature", f"'{id}',"))


def test_a_count_of_beats_is_heard_as_it_goes_on():
    """Six seconds of a heart: more beats the longer one listens, ten times as many a minute."""
    rows = [*MASK, *inflating(25, 100), (70, "listen")]
    made = replay(case("easy"), played(rows, 100.0), BOOK)
    counts = [len(seen(made, time, BOOK)["beats"]) for time in (70, 72, 74, 76, 78)]
    assert counts == sorted(counts)
    assert 10 * counts[-1] == pytest.approx(made.course.heart(73), abs=11)
    assert seen(made, 90, BOOK)["beats"] == []


def test_monitors_show_only_after_they_were_put_on():
    """Not on, then searching, then a value; dropouts are met."""
    rows = [*MASK, *inflating(25, 400), (30, "oximeter"), (31, "leads")]
    made = replay(case("easy"), played(rows), BOOK)
    for kind in ("oximeter", "leads"):
        shows = [seen(made, t, BOOK)[kind] for t in range(420)]
        kinds = ["value" if not isinstance(s, str) else s for s in shows]
        assert kinds[0] == "not on"
        assert kinds.index("searching") < kinds.index("value")
        assert "searching" in kinds[kinds.index("value") :]


def test_a_chest_is_seen_for_a_moment_and_a_bag_that_fails_moves_none():
    """What is seen is the last inflation; a bag past a shut airway moves nothing."""
    rows = [*MASK, *inflating(25, 60)]
    made = replay(case("easy"), played(rows, 100.0), BOOK)
    assert seen(made, 59.5, BOOK)["chest"] == "moves"
    assert seen(made, 90, BOOK)["chest"] == ""
    bag = replay(case("position"), played([*MASK, (30, "bag")], 60.0), BOOK)
    assert seen(bag, 50, BOOK)["chest"] == "still"
    assert bag.bagged == ()


# --- what is asked


@pytest.mark.parametrize("edition", editions())
def test_each_edition_asks_its_own_and_says_what_it_does_not_judge(edition):
    """A blank is a sentence, never a number; what is stated has its rule."""
    for weeks, kg in ((29, 1.2), (39, 3.2)):
        asked = demands(rulebook(edition), weeks, kg)
        assert set(asked.rules) | set(asked.blank) == set(ASKED)
        assert not set(asked.rules) & set(asked.blank)
        assert all(rule.stated for rule in asked.rules.values())
        assert len(asked.unjudged) <= len(asked.blank)
        assert all("not judged" in says for says in asked.unjudged)
        for name in asked.blank:
            assert asked.band(name) is None
            assert asked.number(name) is None


def test_editions_differ_where_they_differ():
    """First inflations of one, none stated in another; another rate, another saturation."""
    europe, america = (demands(rulebook(e), 39, 3.2) for e in ("erc-2021", "aha-2020"))
    assert europe.number("first") == 5
    assert america.number("first") is None
    assert europe.band("rate") == (30, 30)
    assert america.band("rate") == (40, 60)
    assert america.target(59) is None
    assert america.target(300) == (80, 85)
    assert europe.target(300) == (85, math.inf)


def test_what_is_asked_is_asked_for_this_baby():
    """Below 32 weeks one edition begins with 25 cmH2O and aims for 80 % at 5 min, later 30, 85."""
    preterm, term = (demands(rulebook("erc-2021"), weeks, kg) for weeks, kg in ((30, 1.4), (39, 3)))
    assert (preterm.number("pip"), term.number("pip")) == (25, 30)
    assert (preterm.target(300), term.target(300)) == ((80, math.inf), (85, math.inf))


def test_the_lines_are_said_in_words():
    """Each is a sentence."""
    assert all(text[-1] in ".?" for text in LINES.values())


def test_a_seven_minute_record_replays_in_less_than_forty_milliseconds():
    """The best of five, an inflation every second and a half from 25 s on."""
    rows = [*MASK, (5, "oximeter"), *inflating(25, 420)]
    made_case, made, best = case("easy"), played(rows), math.inf
    replay(made_case, made, BOOK)
    for _ in range(5):
        begun = process_time()
        replay(made_case, made, BOOK)
        best = min(best, process_time() - begun)
    assert best < 0.040
