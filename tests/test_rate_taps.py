"""Marking inflations counted by hand: inside, unsure, outside, too long, uneven."""

from __future__ import annotations

import pytest

from graders.rate_counting import POINTS
from graders.tap_marks import key, tapped
from tests.rate_base import drawn, marked
from workbook.cases import spoken
from workbook.cases.rate_counting import TAPPED
from workbook.taps import read_taps, steady, timing


def hand(id: str, rate: float, share: float = 1 / 3, learner: str = "ada", answer: str = ""):
    asked = drawn(learner)[id]
    return steady(rate, share * 60 / rate, float(asked.facts["duration"]), answered=answer)


def test_inside_earns_full_unsure_half_and_outside_nothing():
    """The 95 % interval of the rate decides between full, half and no points for the pace."""
    assert marked("tap-alone", hand("tap-alone", 50)).findings[0].earned == 2
    few = hand("tap-alone", 50)
    few["events"] = few["events"][:10]
    (pace, *_) = marked("tap-alone", few).findings
    assert (pace.earned, pace.met) == (1, False)
    assert "not yet sure: tap longer" in pace.says
    for rate, word in ((35, "too slow"), (66, "too fast")):
        (pace, *_) = marked("tap-alone", hand("tap-alone", rate)).findings
        assert pace.earned == 0
        assert word in pace.says
        assert "40 to 60 a minute" in pace.says


def test_a_rate_at_the_edge_is_not_yet_sure():
    """An uneven count whose interval crosses the edge of the band is neither passed nor failed."""
    data = hand("tap-alone", 59.5)
    for n, event in enumerate(data["events"]):
        event[0] += 0.05 * ((n // 2) % 2)
    assert "not yet sure" in marked("tap-alone", data).findings[0].says


def test_rushing_while_distracted_is_unsafe_because_gas_stays():
    """Too fast while answering is critical and tells what the soft lung keeps; alone it is not."""
    verdict = marked("tap-distracted", hand("tap-distracted", 80))
    assert [f.misconception for f in verdict.unsafe] == ["rushes-when-distracted"]
    assert "in a soft lung this rhythm leaves" in verdict.unsafe[0].says
    assert not marked("tap-alone", hand("tap-alone", 80)).unsafe
    assert not marked("tap-distracted", hand("tap-distracted", 30)).unsafe


def test_a_fast_hand_with_short_inflations_that_traps_no_more_is_not_unsafe():
    """The model decides: a rhythm that leaves no more gas than the fastest allowed is no danger."""
    verdict = marked("tap-distracted", hand("tap-distracted", 62, share=0.12))
    assert verdict.findings[0].earned == 0
    assert not verdict.unsafe


@pytest.mark.parametrize(
    ("share", "belief", "word"),
    [
        (0.5, "equal-times", "too long"),
        (0.66, "ratio-turned-round", "too long"),
        (0.1, "", "short"),
    ],
)
def test_an_inflation_time_of_another_share_is_named(share, belief, word):
    """Half, two thirds or a tenth of the cycle each have their sentence."""
    held = marked("tap-alone", hand("tap-alone", 50, share)).findings[1]
    assert (held.earned, held.misconception, held.critical) == (0, belief, False)
    assert word in held.says


def test_an_inflation_beyond_the_edition_s_limit_is_unsafe():
    """Held for over 1 s an inflation is critical; as long as a first one, that is named."""
    slow = marked("tap-alone", hand("tap-alone", 30, 0.66))
    assert [f.misconception for f in slow.unsafe] == ["ratio-turned-round"]
    first = marked("tap-alone", hand("tap-alone", 18, 0.75))
    assert [f.misconception for f in first.unsafe] == ["long-first-for-all"]


def test_gaps_and_pauses_cost_half_of_regularity_and_are_told():
    """A missed beat, a stop before the end and a lost window each have their sentence."""
    whole = hand("tap-alone", 50)
    missed = {**whole, "events": whole["events"][:10] + whole["events"][12:]}
    stopped = {**whole, "events": whole["events"][:-14]}
    blurred = {**whole, "events": sorted([*whole["events"], [3.0, "blur"]], key=lambda e: e[0])}
    for data, earned, words in (
        (missed, 0.5, "Beats left out: 1."),
        (stopped, 0.5, "At the end no inflation was given"),
        (blurred, 1, "lost the focus once"),
    ):
        regular = marked("tap-alone", data).findings[2]
        assert regular.earned == earned
        assert words in regular.says


def test_an_uneven_count_is_not_regular():
    """Intervals that vary by more than the limit earn nothing for regularity."""
    data = hand("tap-alone", 50)
    for n, event in enumerate(data["events"]):
        event[0] += 0.3 * ((n // 2) % 2)
    assert marked("tap-alone", data).findings[2].earned == 0


def test_the_question_asked_meanwhile_counts():
    """Right, wrong and no choice: one point, and two different sentences."""
    asked = drawn()["tap-distracted"]
    assert marked(asked.id, tapped(asked, 0.4)).findings[3].earned == 1
    drawn_one = asked.facts["distraction"]
    wrong = next(
        o["id"] for o in asked.shows["distraction"]["options"]
        if o["id"] != key()["distraction"][drawn_one]["right"]
    )  # fmt: skip
    assert "You chose" in marked(asked.id, hand(asked.id, 50, answer=wrong)).findings[3].says
    assert "is open" in marked(asked.id, hand(asked.id, 50)).findings[3].says


@pytest.mark.parametrize("id", TAPPED)
@pytest.mark.parametrize(
    "value",
    [
        "fast",
        7,
        [],
        {},
        {"format": "tpiece-taps", "version": 1, "duration": 30.0, "events": "x"},
        steady(50, 0.4, 7.0),
        {**steady(50, 0.4, 30.0), "events": [[2.0, "press"], [1.0, "release"]]},
    ],
)
def test_a_record_of_another_shape_earns_nothing_and_is_left_open(id, value):
    """Nonsense is zero points, one sentence, and keeps a learner from being ready."""
    verdict = marked(id, value)
    assert (verdict.earned, verdict.possible) == (0, POINTS[id])
    assert verdict.unsafe
    assert "could not be read" in verdict.findings[0].says


@pytest.mark.parametrize("kept", [0, 2, 4])
def test_almost_no_taps_earn_nothing(kept):
    """None, one or two inflations are told as too few, not as half right."""
    data = hand("tap-alone", 50)
    data["events"] = data["events"][:kept]
    verdict = marked("tap-alone", data)
    assert verdict.earned == 0
    assert "Too few inflations in a row" in verdict.findings[0].says


def test_a_tapped_answer_is_spoken_as_what_it_is():
    """The receipt says how many inflations in how many seconds; nonsense is told as that."""
    asked = drawn()["tap-alone"]
    data = hand("tap-alone", 50)
    count = timing(read_taps(data)).counted
    assert spoken(asked, data) == f"{count} inflations in {asked.facts['duration']} seconds"
    assert spoken(asked, {"events": 3}) == "a record of taps that cannot be read"
