"""Plays of whole cases: an expert stabilises every course, and what others do ends as it should."""

from __future__ import annotations

import math

import pytest

from graders.units.scenario.harmful import (
    compress_first,
    do_nothing,
    oxygen_for_all,
    ventilate_everybody,
)
from tests.scenario_base import BOOK, EVERY, case
from workbook.rules import editions, rulebook
from workbook.scenario import Played, Replay, read_scenario, replay, seconds, timed
from workbook.scenario.acts import NEW_AIRWAYS
from workbook.scenario.expert import expert

pytestmark = pytest.mark.slow

GUIDELINES = [edition for edition in editions() if edition != "practice"]
NEEDS_HANDS = [id for id in EVERY if id != "breather"]


def gone(play, id, seed=1, book=BOOK) -> tuple[Played, Replay]:
    """Return a play of a case and how it went; the play can be read as a record."""
    made_case = case(id, seed, book)
    done = play(made_case, book)
    limit = book["scenario.limit"].value
    assert read_scenario(done.to_data(), made_case.id, seconds(book), limit) == done
    return done, replay(made_case, done, book)


def did(play: Played) -> list[str]:
    return [one.act for one in play.done]


@pytest.mark.parametrize("edition", GUIDELINES)
def test_an_expert_by_any_edition_stabilises_every_course(edition):
    """By its own steps, pressures, rate and oxygen, and with no pressure above the relief."""
    book = rulebook(edition)
    for id in EVERY:
        done, made = gone(expert, id, 3, book)
        assert "stabilised" in timed(made, book), id
        assert made.course.heart(420) > 100, id
        assert made.course.saturation(420) > 0.4, id
        assert all(one.top <= 41 for one in made.inflations), id
        assert ("compress" in did(done)) == (id == "compressions"), id
        if id == "breather":
            assert not made.inflations
            assert "cpap" in did(done)


@pytest.mark.parametrize("id", EVERY)
def test_an_expert_stabilises_other_draws_of_a_course(id):
    """Ten more babies of each."""
    for seed in range(10, 20):
        _, made = gone(expert, id, seed)
        assert "stabilised" in timed(made, BOOK), seed


def test_an_expert_does_what_the_course_needs_and_no_more():
    """The bag where gas fails, another airway where no mask helps, pressure for a stiff lung."""
    needs = {
        "gas-fails": "bag", "laryngeal-mask": "new-airway", "stiff": "pip",
        "compressions": "compress", "breather": "cpap",
    }  # fmt: skip
    for id in EVERY:
        done = ["new-airway" if a in NEW_AIRWAYS else a for a in did(gone(expert, id)[0])]
        assert id not in needs or needs[id] in done, id
        assert ("bag" in done) == (id == "gas-fails"), id
        assert ("new-airway" in done) == (id == "laryngeal-mask"), id
        if "new-airway" in done:
            assert done.index("confirm") > done.index("new-airway")
            assert done.index("mask-adjust") < done.index("new-airway")


def test_a_laryngeal_mask_is_placed_only_where_the_edition_allows_one():
    """Stated for this gestation by one edition; another states nothing here, so a tube is."""
    placed = {}
    for edition in ("aha-2023", "aha-2020"):
        done = did(gone(expert, "laryngeal-mask", book=rulebook(edition))[0])
        placed[edition] = [act for act in done if act in NEW_AIRWAYS]
    assert placed == {"aha-2023": ["laryngeal-mask"], "aha-2020": ["tube"]}


def test_long_first_inflations_are_given_where_the_edition_states_them():
    """Five of two to three seconds by one edition, none so long by another."""
    counts = {}
    for edition in ("erc-2021", "aha-2020"):
        _, made = gone(expert, "easy", book=rulebook(edition))
        counts[edition] = sum(one.length >= 2 for one in made.inflations)
    assert counts == {"erc-2021": 5, "aha-2020": 0}


@pytest.mark.parametrize("id", NEEDS_HANDS)
def test_nothing_done_stabilises_nobody_who_needed_hands(id):
    """And nothing that was done is not told as done."""
    done, made = gone(do_nothing, id)
    assert done.done == ()
    assert set(timed(made, BOOK)) <= {"gas-fails"}
    assert made.course.heart(420) < 60


def test_ventilating_everybody_inflates_a_baby_who_breathes_and_mends_nothing():
    """A breather is inflated; a leak, a shut airway and a slow heart stay what they were."""
    for id in EVERY:
        _, made = gone(ventilate_everybody, id)
        if id == "breather":
            assert len(made.inflations) > 100
        if id in ("leak", "position", "laryngeal-mask", "compressions"):
            assert "stabilised" not in timed(made, BOOK), id


@pytest.mark.parametrize("id", ["easy", "overshoot", "breather"])
def test_pure_oxygen_for_all_goes_far_above_what_is_aimed_for(id):
    """For minutes; an expert turns the dial down, to air where the baby needs no more."""
    above = {}
    for play in (oxygen_for_all, expert):
        done, made = gone(play, id)
        dial = [
            (0.0, made.case.oxygen),
            *((d.time, d.what) for d in done.done if d.act == "oxygen"),
        ]
        high = made.demands.target(300)[1]
        seconds_above = [
            t
            for t in range(240, 420)
            if 100 * made.course.saturation(t) > high + 5
            and [what for since, what in dial if since <= t][-1] > 21
        ]
        above[play] = len(seconds_above)
    assert above[oxygen_for_all] > 150
    assert above[expert] < above[oxygen_for_all]


@pytest.mark.parametrize("id", NEEDS_HANDS)
def test_compressions_first_cost_a_minute(id):
    """The chest moves a minute later than by an expert, and the baby is stable later."""
    times = {}
    for play in (compress_first, expert):
        done, made = gone(play, id)
        times[play] = timed(made, BOOK)
        if play is compress_first:
            first = next(one.time for one in done.done if one.act == "compress")
            assert first < times[play]["effective"]
    assert times[compress_first]["effective"] > times[expert]["effective"] + 45
    late = times[compress_first].get("stabilised", math.inf)
    assert late > times[expert]["stabilised"]
