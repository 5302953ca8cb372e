"""Marking rate and counting: full marks, zero, named beliefs, keys that differ, in any edition."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from graders.marking.exercise import mark, mark_all, model_answers, points
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import misconceptions
from graders.units.rate.marks import (
    POINTS,
    hands,
    heard_as,
    paces_within,
    rate_beliefs,
    said_of_pair,
    strip_reach,
    traps_most,
)
from graders.units.rate.plays import PLAYS
from graders.units.rate.tap_counted import key
from tests.guessers import all_guessers, guessable
from tests.rate_base import EDITIONS, FULL, beliefs, drawn, many, marked, of
from workbook.cases import Kind
from workbook.cases.pace import rate_band, rate_rule
from workbook.rules import rulebook
from workbook.units.rate.case.questions import EXERCISE, HEARD, TAPPED, texts
from workbook.units.rate.case.rhythms import missing, pairs

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_model_answer_earns_everything_and_a_blank_nothing(edition):
    """Full marks and nothing unsafe; zero and a kind sentence, whatever the edition states."""
    book = rulebook(edition)
    for each in of(edition):
        full = mark_all(each, model_answers(each, book), book)
        assert sum(v.earned for v in full) == FULL
        assert not any(v.unsafe for v in full)
        assert beliefs(full) == set()
        blank = mark_all(each, {}, book)
        assert sum(v.earned for v in blank) == 0
        assert all("Not answered yet" in v.findings[0].says for v in blank)
        assert {v.question for v in blank if v.unsafe} == set(TAPPED)


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_edition_is_named_and_its_rate_is_not_given_away(edition):
    """What a learner reads says by which edition to go, and never the band itself."""
    each, book = drawn("ada", edition), rulebook(edition)
    for id in ("count-paces", *TAPPED, *HEARD):
        told = each[id].label + each[id].context
        assert edition == "practice" or book.edition.title in told
        assert rate_rule(book).text not in told
    low, high = rate_band(book)
    assert all(low < each[id].facts["rate"] < high for id in TAPPED)


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_belief_is_the_one_named_and_no_other(edition):
    """In each case of each edition that can show a belief, it is found, alone, and costs points."""
    book, able = rulebook(edition), Counter()
    for each in of(edition):
        for belief in played(EXERCISE):
            verdicts = [mark(each, id, v, book) for id, v in PLAYS[belief](each, book).items()]
            able[belief] += bool(verdicts)
            assert beliefs(verdicts) == ({belief} if verdicts else set()), (belief, each.learner)
            assert all(v.earned < v.possible for v in verdicts)
    begins = each["tap-alone"].facts["begins"]
    assert bool(able["begins-at-once"]) == begins
    always = {"equal-times", "ratio-turned-round", "stretch-is-a-minute", "long-first-for-all"}
    assert all(able[belief] == len(of(edition)) for belief in always)


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_is_alone_in_a_whole_exercise(belief):
    """The other answers stay right: the belief is the only one in the exercise."""
    each = next(c for c in many() if shows(c, belief))
    book = rulebook(each.edition)
    verdicts = mark_all(each, answers_of(each, book, belief), book)
    assert beliefs(verdicts) == {belief}
    assert sum(v.earned for v in verdicts) < FULL
    for finding in (f for v in verdicts for f in v.findings if f.misconception):
        assert finding.rule
        assert finding.source


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_trick_earns_half_of_what_can_be_guessed(edition):
    """First, last, longest, lowest, a colleague's key: none is worth half, in any edition."""
    book, cases = rulebook(edition), of(edition)
    for name, guess in all_guessers(EXERCISE, edition).items():
        got = full = 0.0
        for each in cases:
            for asked in guessable(each):
                got += mark(each, asked.id, guess(asked), book).earned
                full += POINTS[asked.id]
        assert got < 0.45 * full, name


def test_no_question_has_one_key_for_all():
    """The right answer differs between learners, so that a neighbour's does not fit."""
    for edition in EDITIONS:
        book, keys = rulebook(edition), {}
        for each in of(edition):
            right = model_answers(each, book)
            for asked in guessable(each):
                place = [o.id for o in asked.options if o.id in str(right[asked.id])]
                keys.setdefault(asked.id, Counter())[str(right[asked.id]), str(place)] += 1
        for id, found in keys.items():
            assert found.most_common(1)[0][1] < 0.7 * len(of(edition)), (edition, id)


# --- which rate


def test_the_same_paces_are_right_in_one_edition_and_wrong_in_another():
    """A pace of the usual count is a belief where an edition asks for a slower rate."""
    asked = drawn("ada", "erc-2021")["count-paces"]
    book = rulebook("erc-2021")
    (usual,) = [p for p, b in rate_beliefs(asked, book).items() if b == "one-rate-everywhere"]
    verdict = marked(asked.id, list(usual), "erc-2021")
    assert (verdict.earned, verdict.misconceptions) == (0, ("one-rate-everywhere",))
    assert rate_rule(book).text in verdict.findings[0].says


def test_one_colleague_misjudged_costs_half():
    """One pace too many or too few earns half of the points; nothing chosen earns none."""
    each, book = drawn(), rulebook("aha-2020")
    right = paces_within(each["count-paces"], rate_band(book))
    other = next(o.id for o in each["count-paces"].options if o.id not in right)
    assert marked("count-paces", [*right, other]).earned == 1
    assert marked("count-paces", [*right[1:], other]).earned == 0  # one too many, and one too few
    assert marked("count-paces", []).earned == 0


def test_paces_lie_clear_of_the_ends_of_every_band():
    """Nobody is asked about a pace on the border; one is in, and one is out."""
    for each in many():
        paces, own = each["count-paces"].facts["paces"], rate_band(rulebook(each.edition))
        assert len(set(paces)) == 4
        assert 0 < sum(own[0] <= pace <= own[1] for pace in paces) < 4
        assert all(abs(pace - end) >= 2 for pace in paces for end in own)


def test_an_edition_without_a_rate_says_so():
    """Where an edition states no rate the question asks common practice, and says why."""
    asked = drawn("ada", "erc-2025")["count-paces"]
    assert "common practice" in asked.context
    assert "we have read no rate of the European Resuscitation Council 2025" in asked.context


def test_all_that_two_people_can_give_differs_and_only_one_is_good():
    """Three to one at 120 events is good; every other pair differs from it."""
    for rate in (30, 45, 55):
        made = pairs(rate, rulebook("aha-2020"))
        assert made["good"] == (90, 30)
        assert len(set(made.values())) == 5
        assert made["fast"][0] == 3 * made["fast"][1]
        assert made["slow"][0] == 3 * made["slow"][1]
        assert made["many"][0] < 3 * made["many"][1]
        assert made["few"][0] > 3 * made["few"][1]
    assert {said_of_pair(c["count-cpr"], rulebook(c.edition)) for c in many()} == set(made)


# --- strips, rhythms, trapped gas


def test_a_strip_is_what_the_model_shows():
    """The strip rises to PIP, falls towards PEEP, and has as many hills as it says."""
    for each in of("aha-2025"):
        asked = each["strip-rate"]
        strip, facts = asked.shows["strip"], asked.facts
        assert len(strip["time"]) == len(strip["pressure"]) <= 600
        assert strip["time"][-1] == pytest.approx(facts["duration"], abs=0.05)
        middle = (facts["pip"] + facts["peep"]) / 2
        assert middle < max(strip["pressure"]) < facts["pip"] + 1  # a quick hand stays below PIP
        rises = sum(a <= middle < b for a, b in pairwise(strip["pressure"]))
        assert facts["inflations"] - 1 <= rises <= facts["inflations"]


def test_counting_the_hills_is_enough():
    """Hills times the stretches of a minute are right in every case; so is the exact rate."""
    for each in many():
        asked, book = each["strip-rate"], rulebook(each.edition)
        facts, one = asked.facts, strip_reach(asked)
        rounded = book["tolerance.counted"].value  # people type whole numbers
        for got, earned in (
            (facts["inflations"] * one, 2), (facts["rate"], 2), (facts["rate"] - 0.99 * one, 2),
            (facts["inflations"] * one + 1.1 * one + rounded, 0),
            (facts["rate"] - 1.6 * one - rounded, 0),
        ):  # fmt: skip
            value = {"text": f"{got:.3f}", "unit": "1/min"}
            assert mark(each, asked.id, value, book).earned == earned, (each.learner, got)


def test_every_rhythm_is_drawn_and_is_what_it_is_marked_as():
    """All six kinds are heard; what is good lies inside the band with a short, even inflation."""
    kinds = {}
    for each in many():
        book = rulebook(each.edition)
        heard = [heard_as(each[id], book) for id in HEARD]
        assert len(set(heard)) == 2
        for id, kind in zip(HEARD, heard, strict=True):
            kinds.setdefault(kind, []).append((book, each[id].facts["rhythm"]))
    assert set(kinds) == set(texts()["heard"])
    assert all(len(found) > 20 for found in kinds.values())
    for book, rhythm in kinds["good"]:
        gaps = [two[0] - one[0] for one, two in pairwise(rhythm)]
        low, high = rate_band(book)
        assert all(low <= 60 / gap <= high for gap in gaps)
        assert all(release - press < gaps[0] / 2 for press, release in rhythm)


@pytest.mark.parametrize(
    ("pace", "held", "said"),
    [(25, 0.3, "slow"), (48, 0.3, "good"), (90, 0.3, "fast"), (48, 0.7, "long")],
)
def test_a_rhythm_made_by_hand_is_called_what_it_is(pace, held, said):
    """AHA 2020 says 40 to 60 a minute; held for ``held`` of each cycle."""
    cycle = 60 / pace
    rhythm = [[1 + n * cycle, 1 + (n + held) * cycle] for n in range(16)]
    asked = drawn()[HEARD[0]]
    asked = replace(asked, facts={**asked.facts, "rhythm": rhythm})
    assert heard_as(asked, rulebook("aha-2020")) == said


def test_a_stop_costs_what_its_gap_has_room_for():
    """The right number is among four, in rising order, and not always in one place."""
    places = Counter()
    for each in many():
        asked = each["stop"]
        counts = [int(option.id) for option in asked.options]
        gaps = sorted(two[0] - one[0] for one, two in pairwise(asked.facts["rhythm"]))
        assert missing(asked.facts["rhythm"]) == round(gaps[-1] / gaps[0]) - 1
        assert counts == sorted(set(counts))
        places[counts.index(missing(asked.facts["rhythm"]))] += 1
    assert all(places[n] > 20 for n in range(4))


def test_the_hand_that_traps_most_does_so_clearly_and_is_not_always_the_fastest():
    """Rate, hold and lung decide in turn, and the model leaves no doubt."""
    decided = Counter()
    for each in many():
        book, made = rulebook(each.edition), hands(each["trapped"])
        left = sorted((hand.left(book) for hand in made.values()), reverse=True)
        assert left[0] > left[1] + 0.3
        most = made[traps_most(each["trapped"], book)]
        assert most.lung == "soft"
        rates = sorted(hand.rate for hand in made.values())
        decided[rates.index(most.rate)] += 1
    assert all(decided[n] > len(many()) / 10 for n in range(3))


# --- the marker's own data


def test_every_misconception_can_be_played_and_rests_on_a_rule():
    """Nobody lists a belief that no answer can show, or that no rule contradicts."""
    listed = {id: each for id, each in misconceptions().items() if each.unit == EXERCISE}
    assert set(played(EXERCISE)) == set(listed)
    for each in listed.values():
        assert each.rule in rulebook("aha-2020"), each.id
        assert each.read.startswith(f"{EXERCISE}.ipynb, ")


def test_the_key_names_only_what_exists():
    """Right choices, rules and beliefs of the marker's data are there."""
    distractions = {d["id"]: d["options"] for d in texts()["distraction"]}
    assert set(key()["distraction"]) == set(distractions)
    for id, each in key()["distraction"].items():
        assert each["right"] in distractions[id]
        assert each["rule"] in rulebook("aha-2020")
    assert set(key()["paired"]) == set(texts()["pair"]) == set(texts()["pairs"])
    assert set(key()["heard"]) == set(texts()["hear"]) == set(texts()["heard"])
    told = {belief for said in key()["pair"].values() for belief in said.values()}
    assert told <= set(misconceptions())
    assert set(key()["tap"]) == set(TAPPED)
    for id, parts in key()["begins"].items():
        assert sum(parts.values()) == sum(key()["tap"][id].values())


@pytest.mark.parametrize(
    ("question", "value"),
    [
        ("count-paces", "most"),
        ("count-paces", [3]),
        ("count-paces", ["1000"]),
        ("strip-rate", "40"),
        ("strip-rate", {"text": "soon", "unit": "1/min"}),
        ("strip-rate", {"text": "24", "unit": "cmH2O"}),
        ("strip-rate", {"text": "nan", "unit": "1/min"}),
        ("strip-rate", {"text": "1e400", "unit": "1/min"}),
        ("count-cpr", None.__class__),
        ("hear-first", {}),
        ("hear-second", ["good"]),
        ("stop", 4),
        ("trapped", "fast"),
    ],
)
def test_an_answer_of_another_shape_earns_nothing_and_says_why(question, value):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = marked(question, value)
    assert (verdict.earned, verdict.possible) == (0, POINTS[question])
    assert "could not be read" in verdict.findings[0].says


def test_no_case_is_degenerate():
    """Options differ, the right ones are among them, and nothing is left unfilled."""
    for each in many():
        right = model_answers(each, rulebook(each.edition))
        for asked in each.questions:
            ids, said = [o.id for o in asked.options], [o.text for o in asked.options]
            assert len(ids) == len(set(ids))
            assert len(said) == len(set(said))
            assert asked.kind is not Kind.CHOICE or (len(ids) > 2 and right[asked.id] in ids)
            assert "{" not in asked.label + asked.context + "".join(said)


def test_points_are_those_of_the_exercise():
    """Each question has its points, in the order of the page."""
    assert points(EXERCISE) == POINTS
    assert [q.id for q in drawn().questions] == list(POINTS)
