"""Marking inflations counted by hand: inside, unsure, outside, too long, uneven."""

from __future__ import annotations

import numpy as np
import pytest

from graders.units.rate.marks import POINTS
from graders.units.rate.tap_counted import key
from graders.units.rate.tap_marks import begun, tapped, tapped_then
from tests.rate_base import BEGIN, EDITIONS, drawn, marked
from workbook.cases import spoken
from workbook.rules import rulebook
from workbook.taps import parted, read_taps, steady, timing
from workbook.units.rate.case.questions import TAPPED
from workbook.units.rate.case.rhythms import count_at, firsts

pytestmark = pytest.mark.slow


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


def test_rushing_once_asked_is_unsafe_and_named():
    """Right until the question comes, then too fast: critical, and the belief stands beside it."""
    asked = drawn()["tap-distracted"]
    rushed = tapped_then(asked, 80 / asked.facts["rate"], asked.shows["distraction"]["at"])
    verdict = marked(asked.id, rushed)
    assert [f.misconception for f in verdict.unsafe] == ["rushes-when-distracted"]
    assert [f.criterion for f in verdict.unsafe] == ["tap-distracted-watch-fast"]
    assert verdict.findings[0].misconception == "rushes-when-distracted"


def test_too_fast_or_too_slow_is_unsafe_whoever_asks():
    """Far outside the band is critical, alone or asked something, and the soft lung is told."""
    for id in ("tap-alone", "tap-distracted"):
        fast, slow = marked(id, hand(id, 80)), marked(id, hand(id, 30))
        assert "in a soft lung this rhythm leaves" in fast.findings[0].says
        assert [f.criterion for f in fast.unsafe] == [f"{id}-watch-fast"]
        assert [f.criterion for f in slow.unsafe] == [f"{id}-watch-slow"]


def test_a_hand_too_fast_from_its_first_beats_is_not_called_rushing():
    """Fast before anybody asked anything: no question made it so, in any edition."""
    for edition in EDITIONS:
        asked = drawn("ada", edition)["tap-distracted"]
        high = asked.facts["high"] * 1.3
        verdict = marked(asked.id, hand(asked.id, high), edition)
        assert verdict.findings[0].earned == 0
        assert verdict.misconceptions == ()


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
    first = marked("tap-alone", hand("tap-alone", 18, 0.75))
    for verdict, belief in ((slow, "ratio-turned-round"), (first, "long-first-for-all")):
        (long,) = (f for f in verdict.unsafe if f.criterion == "tap-alone-watch-long")
        assert long.misconception == belief
        assert verdict.misconceptions == (belief,)


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


# --- how an edition begins


def begins(edition: str, held=None, rate: float | None = None):
    """Return a counting that begins with long inflations of these times, then an ordinary one."""
    asked, book = drawn("ada", edition)["tap-alone"], rulebook(edition)
    rate = rate or asked.facts["rate"]
    long = begun(asked, book) if held is None else held
    return tapped(asked, count_at(rate, book).inflation, rate / asked.facts["rate"], long)


@pytest.mark.parametrize("edition", EDITIONS)
def test_only_an_edition_that_states_long_first_inflations_asks_for_them(edition):
    """Where the number is blank or none nothing is asked, said or marked of long inflations."""
    asked = drawn("ada", edition)["tap-alone"]
    findings = marked("tap-alone", begins(edition), edition).findings
    parts = {finding.criterion.removeprefix("tap-alone-") for finding in findings}
    if edition in BEGIN:
        assert firsts(rulebook(edition)).count == 5
        assert parts == {"first-number", "first-time", "pace", "held", "regular", "watch"}
        assert "long inflations" in asked.context
        assert sum(finding.earned for finding in findings) == POINTS["tap-alone"]
    else:
        assert firsts(rulebook(edition)) is None
        assert parts == {"pace", "held", "regular", "watch"}
        assert "long" not in asked.label + asked.context


@pytest.mark.parametrize("edition", BEGIN)
@pytest.mark.parametrize(
    ("held", "number", "time"),
    [
        ([2.0, 2.4, 2.9, 3.0, 2.2], 1, 1),
        ([1.8, 2.5, 2.5, 2.5, 3.2], 1, 1),
        ([2.5] * 4, 0.5, 1),
        ([2.5] * 6, 0.5, 1),
        ([2.5] * 3, 0, 1),
        ([2.5, 2.5, 1.6, 2.5, 2.5], 1, 0.8),
        ([2.5, 2.5, 1.2, 2.5, 2.5], 1, 0.8),
        ([4.5] * 5, 1, 0),
    ],
)
def test_number_and_length_of_the_first_inflations_are_marked(edition, held, number, time):
    """Five of 2 to 3 s, a hand's own width allowed; a slip costs what it is a slip of."""
    many, long, *rest = marked("tap-alone", begins(edition, held), edition).findings
    assert (many.earned, long.earned) == (number, pytest.approx(time))
    assert all(finding.met for finding in rest[:2])
    assert not any(finding.misconception or finding.critical for finding in (many, long))


@pytest.mark.parametrize("edition", BEGIN)
def test_who_begins_at_once_is_told_and_who_never_goes_over_is_unsafe(edition):
    """No long one at all is a belief; nothing but long ones is a graver one."""
    at_once = marked("tap-alone", begins(edition, []), edition)
    assert at_once.misconceptions == ("begins-at-once",)
    assert not at_once.unsafe
    assert at_once.earned == POINTS["tap-alone"] - 2
    never = marked("tap-alone", begins(edition, [2.5] * 14), edition)
    assert "long-first-for-all" in {finding.misconception for finding in never.unsafe}
    assert never.earned <= 1
    assert never.possible == POINTS["tap-alone"]


def test_a_bounce_does_not_split_a_long_inflation():
    """A double touch within a fifth of a second is one press, in a long inflation too."""
    data = begins("erc-2021")
    first = data["events"][0][0]
    data["events"][1:1] = [[first + 0.05, "release"], [first + 0.12, "press"]]
    assert marked("tap-alone", data, "erc-2021").earned == POINTS["tap-alone"]
    long, rest = parted(read_taps(data), 1.5)
    assert len(long) == 5
    assert rest.inflations[0].press > long[-1].release


def test_a_stop_between_the_long_ones_and_the_count_is_told():
    """Half of the points for regularity, and the sentence says where the hand stood still."""
    data = begins("erc-2021")
    for event in data["events"][10:]:
        event[0] = round(event[0] + 4.5, 4)
    duration = drawn("ada", "erc-2021")["tap-alone"].facts["duration"]
    data["events"] = [event for event in data["events"] if event[0] <= duration]
    *_, regular, _ = marked("tap-alone", data, "erc-2021").findings
    assert "After the long inflations none was given" in regular.says
    assert regular.earned == 0.25


# --- human hands


def human(data: dict, seed: int, slip: str = "") -> dict:
    """Return a record with 30 ms of noise in every event, and perhaps one slip of the hand."""
    chance, events = np.random.default_rng(seed), [list(each) for each in data["events"]]
    for event in events:
        event[0] = max(0.0, event[0] + float(chance.normal(0, 0.03)))
    some = 2 * (len(events) // 4)  # a press in the middle
    if slip == "double":
        at = events[some][0]
        events[some + 1 : some + 1] = [[at + 0.06, "release"], [at + 0.13, "press"]]
    if slip == "late":
        for event in events[some : some + 2]:
            event[0] += 0.25
    if slip == "missed":
        del events[some : some + 2]
    events.sort(key=lambda event: event[0])
    return {**data, "events": [each for each in events if each[0] <= data["duration"]]}


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("slip", ["", "double", "late"])
def test_an_expert_with_a_human_hand_loses_nothing(edition, slip):
    """30 ms of noise, one double touch or one late inflation cost no point, in any edition."""
    book = rulebook(edition)
    for n in range(8):
        for id in TAPPED:
            asked = drawn(f"learner{n}", edition)[id]
            held = count_at(asked.facts["rate"], book).inflation
            data = human(tapped(asked, held, long=begun(asked, book)), n, slip)
            verdict = marked(id, data, edition, f"learner{n}")
            assert verdict.earned == POINTS[id], (n, id, [f.says for f in verdict.findings])


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_inflation_left_out_costs_that_slip_alone(edition):
    """One missed inflation costs half of regularity, and nothing else."""
    book = rulebook(edition)
    for n in range(8):
        asked = drawn(f"learner{n}", edition)["tap-distracted"]
        held = count_at(asked.facts["rate"], book).inflation
        verdict = marked(asked.id, human(tapped(asked, held), n, "missed"), edition, f"learner{n}")
        assert verdict.possible - verdict.earned == 0.5
        assert not verdict.unsafe


def test_no_answer_to_the_distraction_is_always_in_one_place():
    """The right answer stands first, in the middle and last, in all editions alike."""
    places = {0: 0, 1: 0, 2: 0}
    for n in range(60):
        asked = drawn(f"learner{n}")["tap-distracted"]
        right = key()["distraction"][asked.facts["distraction"]]["right"]
        options = [option["id"] for option in asked.shows["distraction"]["options"]]
        places[options.index(right)] += 1
    assert all(count > 10 for count in places.values())
