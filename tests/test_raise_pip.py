"""Raising PIP on the bench: an expert, scripted mistakes, nonsense, and bounded time."""

from __future__ import annotations

import time
from functools import cache

import pytest
from hypothesis import given, settings

from graders import watch
from graders.marking.exercise import mark
from graders.marks.little_trace import in_words, traces
from graders.marks.misconceptions import misconceptions
from graders.marks.verdict import as_data, from_data
from graders.units.targets.raise_pip import bounds_of, points, run_of, texts
from graders.units.targets.raise_plays import (
    BELIEFS,
    PLAYS,
    cautious,
    expert,
    run_with,
    shows_at_bench,
)
from graders.units.targets.raise_slips import PARTS, slips
from tests.bench_base import parts, runs, watched
from tests.drawn_targets import COUNT, drawn
from workbook.bench import Bench, circuit_at, read_hands
from workbook.cases.inflation import inflated
from workbook.cases.pace import first_inflations
from workbook.physics import settled_breath
from workbook.rules import editions, rulebook

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2020")
TEXTBOOK = "textbook-2021"


@cache
def asked(edition: str = "aha-2020", count: int = COUNT):
    return [drawn(n, edition)["raise"] for n in range(count)]


# What harms the baby, and what the hand ends at once; the other mistakes cost their own part.
HARMFUL = ("held-turning", "times-long", "count-stopped", "count-slow", "count-fast",
           "past-ceiling")  # fmt: skip
MENDED = ("held-long",)


def causes(question, answer, book=BOOK) -> set[str]:
    found = slips(run_of(question, read_hands(answer), book))
    return {slip.cause for slip in found.values() if slip is not None and slip.cause}


def test_an_expert_makes_no_slip_in_500_cases():
    """Step by step in the count until the chest moves: every part is right."""
    for each in asked():
        found = slips(run_of(each, read_hands(expert(each, BOOK)), BOOK))
        assert found == dict.fromkeys(PARTS)


@pytest.mark.parametrize("mistake", [m for m in PLAYS if m != "past-ceiling"])
def test_a_scripted_mistake_is_the_one_found_and_no_other(mistake):
    """In every one of 500 cases that has room for it, each mistake earns its own finding."""
    able = [each for each in asked() if shows_at_bench(each, mistake, BOOK)]
    assert len(able) > 100
    for each in able:
        assert causes(each, run_with(each, mistake, BOOK)) == {mistake}


def test_passing_the_ceiling_is_found_once_the_relief_is_opened():
    """A drawn relief keeps PIP below the ceiling; who opens it and goes on passes both."""
    book = rulebook(TEXTBOOK)
    for each in asked(TEXTBOOK, 50):
        found = causes(each, run_with(each, "past-ceiling", book), book)
        assert found == {"past-ceiling", "relief-turned"}


@pytest.mark.parametrize("edition", editions())
def test_no_bench_has_a_relief_above_the_ceiling(edition):
    """The relief guards the baby too: it is never above the highest PIP that baby may get."""
    for each in asked(edition, 20):
        assert each.facts["relief"] <= each.facts["ceiling"]


@pytest.mark.parametrize("edition", editions())
def test_a_cautious_smaller_step_is_no_error(edition):
    """Half an edition's step at a time, up to where the chest moves, earns everything."""
    book = rulebook(edition)
    for each in asked(edition, 500 if edition == "aha-2020" else 12):
        found = slips(run_of(each, read_hands(cautious(each, book)), book))
        assert found == dict.fromkeys(PARTS)


@pytest.mark.parametrize("edition", editions())
def test_the_editions_own_number_of_inflations_is_graded(edition):
    """What the edition names is asked, or what stands in for it, and then the question says so."""
    book = rulebook(edition)
    wanted = book["corrective.try"].value
    each = drawn(0, edition)["raise"]
    lent = book["corrective.try"].stands_in
    assert ("inflations between two steps" in each.context) == lent
    assert bounds_of(each, book).inflations == wanted
    assert f"give {wanted:g} inflations or more" in each.context


@pytest.mark.parametrize("edition", editions())
def test_an_editions_own_long_inflations_are_no_slip(edition):
    """Where an edition begins with long inflations, so may a run; elsewhere they are told."""
    book, each = rulebook(edition), drawn(0, edition)["raise"]
    count, longest = first_inflations(book)
    assert ("begins with" in each.context) == bool(count)
    answer = long_first(each, book, count or 1, longest or 2.0)
    assert causes(each, answer, book) == (set() if count else {"held-long"})
    if count:
        assert causes(each, long_first(each, book, count + 1, longest), book) == {"held-long"}


def long_first(question, book, count: int, seconds: float):
    """Return an expert's run with long inflations at its beginning."""
    run, every = expert(question, book), seconds + 1
    held = [row for n in range(count) for row in ([n * every, "occlude"],
            [n * every + seconds, "release"])]  # fmt: skip
    later = [[round(row[0] + count * every, 4), *row[1:]] for row in run["actions"]]
    return {**run, "actions": [*held, *later], "duration": run["duration"] + count * every}


@pytest.mark.parametrize("mistake", PLAYS)
def test_a_mistake_costs_points_says_why_and_draws_the_needle(mistake):
    """The finding has its sentence without gaps, its rule, and the needle at that moment."""
    edition = TEXTBOOK if mistake == "past-ceiling" else "aha-2020"
    book = rulebook(edition)
    n = next(n for n in range(60) if shows_at_bench(drawn(n, edition)["raise"], mistake, book))
    each = drawn(n, edition)
    verdict = mark(each, "raise", run_with(each["raise"], mistake, book), book)
    assert 0 < verdict.earned < points() == verdict.possible
    missed = [f for f in parts(verdict) if not f.met and f.trace]
    finding = next(f for f in missed if f.misconception == texts().slip[mistake].get("belief", ""))
    assert len(missed) == (2 if mistake == "past-ceiling" else 1)
    assert "{" not in finding.says
    assert finding.source
    table = texts().slip[mistake]
    assert finding.misconception == table.get("belief", "")
    assert finding.critical == table.get("critical", False)
    kept = sum(f.earned for f in watched(verdict))
    assert bool(verdict.unsafe) == (mistake in HARMFUL)
    assert (kept < watch.worth("raise")) == (mistake in HARMFUL or mistake in MENDED)
    assert in_words(finding) in traces(verdict)
    assert from_data(as_data([verdict])) == (verdict,)


def test_holding_to_turn_is_unsafe_and_shows_the_long_inflation():
    """The needle beside the finding stays high for longer than an inflation of the count."""
    verdict = mark(drawn(0), "raise", run_with(drawn(0)["raise"], "held-turning", BOOK), BOOK)
    (finding,) = verdict.unsafe
    assert finding.misconception == "hold-to-turn"
    assert finding.criterion == "raise-watch-long"
    high = drawn(0)["raise"].facts["pip"] - 2
    held = [t for t, p in finding.trace if p >= high]
    assert max(held) - min(held) > BOOK["inflation.long"].value


def test_a_turn_within_an_ordinary_inflation_is_no_long_one():
    """A click while the thumb is down for one beat is turning in the count."""
    each = asked()[0]
    rows = expert(each, BOOK)["actions"]
    turn = next(n for n, row in enumerate(rows) if row[1] == "pip")
    occluded = rows[turn + 1]
    rows[turn], rows[turn + 1] = occluded, [occluded[0] + 0.1, *rows[turn][1:]]
    answer = {**expert(each, BOOK), "actions": rows}
    assert causes(each, answer) == set()


def test_a_step_turned_click_by_click_counts_as_one():
    """Hands that turn slowly through two inflations have made one step."""
    each = asked()[0]
    run, rows = expert(each, BOOK), []
    at = each.facts["bench"]["positions"]["pip"]
    for row in run["actions"]:
        if row[1] == "pip":
            half = (at + row[2]) // 2
            rows.append([row[0] - 0.05, "pip", half])
            at = row[2]
        rows.append(row)
    assert causes(each, {**run, "actions": rows}) == set()


def test_every_belief_named_at_the_bench_is_explained_and_played():
    """No slip names a misconception that nobody wrote down, or that nobody plays."""
    named = {slip["belief"] for slip in texts().slip.values() if "belief" in slip}
    assert named <= set(misconceptions())
    assert named == set(BELIEFS)
    for belief, mistake in BELIEFS.items():
        assert texts().slip[mistake]["belief"] == belief


@pytest.mark.parametrize("edition", editions())
def test_the_bench_can_be_asked_under_every_edition(edition):
    """Whatever the edition, the expert earns everything and the chest moves below the limit."""
    book = rulebook(edition)
    for n in range(8):
        each = drawn(n, edition)
        question = each["raise"]
        assert mark(each, "raise", expert(question, book), book).earned == points()
        assert question.facts["pip"] < question.facts["rises"] < question.facts["top"]


def test_the_chest_moves_at_the_drawn_pressure_and_not_before():
    """By a breath replayed to rest: too little at the start, enough at the drawn PIP."""
    low = BOOK["volume.window"].band[0]
    for each in asked()[:20]:
        bench, rate = Bench.from_data(each.facts["bench"]), each.facts["rate"]
        run = run_of(each, read_hands(expert(each, BOOK)), BOOK)
        volumes = {}
        for name, at in (("start", bench.positions["pip"]), ("moves", run.bounds.moves)):
            stands = {**bench.positions, "pip": at}
            breath = settled_breath(circuit_at(stands), bench.lung, rate, 20 / rate)
            volumes[name] = breath.tidal_volume / bench.weight
            first = inflated(tuple(stands.items()), bench.lung, rate)
            assert first == pytest.approx(breath.tidal_volume, rel=0.02)
        assert volumes["start"] < 0.97 * low
        assert volumes["moves"] == pytest.approx(low, rel=0.03)
        assert abs(run.shows(run.bounds.moves) - each.facts["rises"]) < 1.5


def test_an_untouched_bench_earns_nothing():
    """A run in which nothing was done ventilates nobody."""
    blank = {"format": "tpiece-hands", "version": 1, "duration": 20.0, "actions": []}
    verdict = mark(drawn(0), "raise", blank, BOOK)
    assert verdict.earned == 0
    assert verdict.unsafe


def test_turning_the_control_without_inflations_earns_almost_nothing():
    """Pressure on a dial is no breath."""
    question = asked()[0]
    rows = [row for row in expert(question, BOOK)["actions"] if row[1] == "pip"]
    answer = {"format": "tpiece-hands", "version": 1, "duration": 60.0, "actions": rows}
    verdict = mark(drawn(0), "raise", answer, BOOK)
    assert verdict.earned <= 1
    assert verdict.unsafe


@settings(max_examples=60, deadline=None)
@given(runs())
def test_whatever_the_hands_do_is_marked(answer):
    """No run ends in an error, earns more than there is, or leaves a gap in a sentence."""
    verdict = mark(drawn(0), "raise", answer, BOOK)
    assert 0 <= verdict.earned <= points() == verdict.possible
    assert len(parts(verdict)) == len(PARTS)
    assert sum(f.possible for f in watched(verdict)) == watch.worth("raise")
    assert not any("{" in f.says for f in verdict.findings)


@pytest.mark.parametrize("answer", [3, {}, {"format": "tpiece-hands", "version": 2}, "cap"])
def test_a_record_that_cannot_be_read_earns_nothing_and_says_why(answer):
    """One sentence, no points, and no readiness."""
    (finding,) = mark(drawn(0), "raise", answer, BOOK).findings
    assert finding.unsafe
    assert finding.says.startswith("This answer could not be read:")


def test_the_longest_record_is_marked_in_bounded_time():
    """Two thousand touches in ten minutes cost seconds, not minutes."""
    rows = []
    for n in range(666):
        rows += [[0.9 * n, "occlude"], [0.9 * n + 0.3, "release"], [0.9 * n + 0.5, "pip", n % 200]]
    answer = {"format": "tpiece-hands", "version": 1, "duration": 600.0, "actions": rows}
    begun = time.process_time()
    mark(drawn(0), "raise", answer, BOOK)
    assert time.process_time() - begun < 20
