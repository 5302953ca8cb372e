"""Marking rate and counting: full marks, zero, half marks when unsure, named beliefs."""

from __future__ import annotations

from itertools import pairwise

import pytest

from graders.marking import mark, mark_all, model_answers, points
from graders.misconceptions import misconceptions
from graders.personas import answers_of, played, shows
from graders.rate_counting import POINTS, heard_as, shown_ratio, traps_most
from graders.rate_counting_plays import PLAYS
from graders.tap_marks import key
from tests.rate_base import FULL, beliefs, drawn, many, marked
from workbook.cases import Kind
from workbook.cases.rate_counting import EXERCISE, STRIPS, TAPPED, rate_with_ends, texts
from workbook.cases.rhythms import cpr_choices, first_time, rate_band, rate_rule, trapped
from workbook.rules import editions, rulebook


def test_the_model_answer_earns_everything_and_a_blank_nothing():
    """For 500 learners' cases: full marks and nothing unsafe; zero and a kind sentence."""
    for each in many():
        book = rulebook(each.edition)
        full = mark_all(each, model_answers(each, book), book)
        assert sum(v.earned for v in full) == FULL
        assert not any(v.unsafe for v in full)
        assert beliefs(full) == set()
        blank = mark_all(each, {}, book)
        assert sum(v.earned for v in blank) == 0
        assert all("Not answered yet" in v.findings[0].says for v in blank)
        assert {v.question for v in blank if v.unsafe} == set(TAPPED)


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_is_the_one_named(belief):
    """In each of 500 cases that can show it the belief is found, and no other."""
    able = 0
    for each in many():
        book = rulebook(each.edition)
        verdicts = [mark(each, id, v, book) for id, v in PLAYS[belief](each, book).items()]
        able += bool(verdicts)
        assert beliefs(verdicts) == ({belief} if verdicts else set()), each
        assert all(v.earned < v.possible for v in verdicts)
    assert able > 100


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_costs_points_and_is_alone_in_a_whole_exercise(belief):
    """The other answers stay right: the belief is the only one in the exercise."""
    each = next(c for c in many() if shows(c, belief))
    book = rulebook(each.edition)
    verdicts = mark_all(each, answers_of(each, book, belief), book)
    assert beliefs(verdicts) == {belief}
    assert sum(v.earned for v in verdicts) < FULL
    for finding in (f for v in verdicts for f in v.findings if f.misconception):
        assert finding.rule
        assert finding.source


@pytest.mark.parametrize("edition", editions())
def test_every_edition_can_be_asked_about(edition):
    """Whatever the edition states, its case is drawn, solved, and names it."""
    each, book = drawn("ada", edition), rulebook(edition)
    assert sum(v.earned for v in mark_all(each, model_answers(each, book), book)) == FULL
    said = " ".join(q.label + q.context for q in each.questions)
    assert edition == "practice" or book.edition.title in said
    low, high = rate_band(book)
    assert all(low < each[id].facts["rate"] < high for id in TAPPED)


def test_an_edition_without_a_rate_says_so():
    """Where an edition states no rate the question asks common practice, and says why."""
    asked = drawn("ada", "erc-2025")["count-edition"]
    assert "common practice" in asked.label
    assert "European Resuscitation Council 2025 states no rate here" in asked.context


def test_the_same_answer_is_right_in_one_edition_and_wrong_in_another():
    """40 to 60 a minute is right by AHA 2020 and a belief by ERC 2021, and the reverse."""
    for edition, right, wrong, belief in (
        ("aha-2020", "40-60", "30-30", "slow-rate-everywhere"),
        ("erc-2021", "30-30", "40-60", "one-rate-everywhere"),
    ):
        each, book = drawn("ada", edition), rulebook(edition)
        assert mark(each, "count-edition", right, book).earned == 2
        verdict = mark(each, "count-edition", wrong, book)
        assert (verdict.earned, verdict.misconceptions) == (0, (belief,))
        assert rate_rule(book).text in verdict.findings[0].says


def test_no_case_is_degenerate():
    """Options differ, the right one is among them once, and slips lie apart from the truth."""
    for each in many():
        book, right = rulebook(each.edition), model_answers(each, rulebook(each.edition))
        for asked in each.questions:
            ids, said = [o.id for o in asked.options], [o.text for o in asked.options]
            assert len(ids) == len(set(ids))
            assert len(said) == len(set(said))
            assert asked.kind is not Kind.CHOICE or (len(ids) > 2 and right[asked.id] in ids)
            assert "{" not in asked.label + asked.context + "".join(said)
        _numbers_lie_apart(each, book)


def _numbers_lie_apart(each, book):
    rate, near = each["count-beat"].facts["rate"], book["count.accept"].value
    period = 60 / rate
    for one, two in pairwise((period / 3, period / 2, period * 2 / 3, period)):
        assert two - one > 2 * near
    assert first_time(book).band[0] > period / 3 + near
    facts = each["strip-rate"].facts
    assert rate_with_ends(facts) - facts["rate"] > book["strip.rate.accept"].value
    apart = abs(facts["inflation"] - facts["release"])
    assert apart > 2 * book["strip.time.accept"].value or shown_ratio(facts) == "1:1"


def test_the_count_is_the_published_arithmetic():
    """At 45 a minute a beat is 0.444 s; three to one gives 90 and 30 of 120 events, 2 s apart."""
    each, book = (
        next(c for c in many() if c["count-beat"].facts["rate"] == 45),
        rulebook("aha-2020"),
    )
    assert mark(each, "count-beat", {"text": "0,44", "unit": "s"}, book).earned == 1
    assert mark(each, "count-beat", {"text": "0.47", "unit": "s"}, book).earned == 0
    assert cpr_choices("share", 45, book)["shared"][0] == "90-30"
    assert cpr_choices("cycle", 45, book)["shared"][0] == "2.00"


# --- strips, rhythms, trapped gas


def test_a_strip_is_what_the_model_shows():
    """The strip rises to PIP, falls towards PEEP, and has as many inflations as it says."""
    for each in many()[:40]:
        asked = each["strip-rate"]
        strip, facts = asked.shows["strip"], asked.facts
        assert len(strip["time"]) == len(strip["pressure"]) <= 600
        assert strip["low"] <= min(strip["pressure"])
        assert strip["high"] > max(strip["pressure"])
        assert max(strip["pressure"]) == pytest.approx(facts["pip"], abs=1)
        assert min(strip["pressure"]) == pytest.approx(facts["peep"], abs=1)
        middle = (facts["pip"] + facts["peep"]) / 2
        rises = sum(a <= middle < b for a, b in pairwise(strip["pressure"]))
        assert rises == facts["inflations"]
        assert all(each[id].shows == asked.shows for id in STRIPS)


def test_a_strip_read_within_the_band_is_right_and_beyond_it_wrong():
    """Rate within 2 a minute and inflation time within 0.1 s count; a little more does not."""
    each = drawn()
    facts = each["strip-rate"].facts
    for id, fact, unit, near in (
        ("strip-rate", "rate", "1/min", 2), ("strip-inflation", "inflation", "s", 0.1),
    ):  # fmt: skip
        for off, earned in ((0.9, 1), (-0.9, 1), (1.2, 0), (-1.2, 0)):
            text = f"{facts[fact] + off * near:.4f}"
            assert marked(id, {"text": text, "unit": unit}).earned == earned


def test_every_rhythm_is_drawn_and_is_what_it_is_marked_as():
    """All four kinds are heard, and what is good lies inside the band with a short inflation."""
    kinds = {}
    for each in many():
        kinds.setdefault(heard_as(each["hear"]), []).append(each)
    assert set(kinds) == set(texts()["heard"])
    assert all(len(cases) > 80 for cases in kinds.values())
    for each in kinds["good"]:
        pairs = each["hear"].facts["rhythm"]
        gaps = [two[0] - one[0] for one, two in pairwise(pairs)]
        low, high = rate_band(rulebook(each.edition))
        assert all(low <= 60 / gap <= high for gap in gaps)
        assert all(release - press < gaps[0] / 2 for press, release in pairs)


def test_the_fastest_rate_traps_most_because_the_model_says_so():
    """For 100 cases what stays grows with the rate, and the right choice follows from it."""
    for each in many()[:100]:
        book, facts = rulebook(each.edition), each["trapped"].facts
        left = trapped(facts["pip"], facts["peep"], facts["rates"], book)
        assert sorted(left.values()) == list(left.values())
        assert left[facts["rates"][-1]] > 2 * left[facts["rates"][0]]
        assert traps_most(each["trapped"], book) == "fast-short"


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
    assert set(key()["trapped"]["names"]) | {"same"} == set(texts()["trapped"])
    assert set(key()["trapped"]["beliefs"].values()) <= set(misconceptions())
    assert set(key()["cpr"].values()) <= set(misconceptions())
    assert set(key()["tap"]) == set(TAPPED)


@pytest.mark.parametrize(
    ("question", "value"),
    [
        ("count-edition", "most"),
        ("count-edition", 3),
        ("count-beat", "0.4"),
        ("count-beat", {"text": "soon", "unit": "s"}),
        ("count-beat", {"text": "24", "unit": "cmH2O"}),
        ("count-inflation", {"text": "nan", "unit": "s"}),
        ("count-ie", ["1:2"]),
        ("count-cpr", None.__class__),
        ("strip-rate", {"text": "1e400", "unit": "1/min"}),
        ("hear", {}),
        ("trapped", "fast"),
    ],
)
def test_an_answer_of_another_shape_earns_nothing_and_says_why(question, value):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = marked(question, value)
    assert (verdict.earned, verdict.possible) == (0, POINTS[question])
    assert "could not be read" in verdict.findings[0].says


def test_points_are_those_of_the_exercise():
    """Each question has its points, in the order of the page."""
    assert points(EXERCISE) == POINTS
    assert [q.id for q in drawn().questions] == list(POINTS)
