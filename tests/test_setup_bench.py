"""Set-up on the bench: an expert, scripted mistakes, nonsense, and how long marking may take."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from hypothesis import given, settings

from graders import watch
from graders.marking.exercise import mark
from graders.marks.bench_slips import PARTS, slips
from graders.marks.little_trace import in_words, traces
from graders.marks.misconceptions import misconceptions
from graders.marks.verdict import as_data, from_data
from graders.units.setup.bench import model_run, points, run_of, texts
from graders.units.setup.bench_plays import PLAYS, run_with, shows_at_bench
from tests.bench_base import parts, runs, watched
from workbook.bench import Bench, read_hands
from workbook.bench.story import reading, story
from workbook.cases import Draw, case
from workbook.cases.starting import ceiling, one
from workbook.rules import editions, rulebook
from workbook.units.setup.case import questions as setup_order

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2020")
QUESTIONS = [case("demo", "1_setup_order", f"learner{n}", BOOK)["bench"] for n in range(500)]
ONE = case("demo", "1_setup_order", "learner0", BOOK)


HARMFUL = ("no-recheck", "baby-early")  # the baby meets what nobody has read
NOBODY = ("baby-left-out",)  # no baby, so nothing to watch


def causes(asked, answer) -> set[str]:
    found = slips(run_of(asked, read_hands(answer), BOOK))
    return {slip.cause for slip in found.values() if slip is not None and slip.cause}


def test_an_expert_makes_no_slip_in_500_cases():
    """Set by the gauge in a safe order, every part is right, whatever was drawn."""
    for asked in QUESTIONS:
        found = slips(run_of(asked, read_hands(model_run(asked)), BOOK))
        assert found == dict.fromkeys(PARTS)


@pytest.mark.parametrize("mistake", PLAYS)
def test_a_scripted_mistake_is_the_one_found_and_no_other(mistake):
    """In 500 cases each mistake earns its own finding; what follows from it has no cause."""
    asked = [each for each in QUESTIONS if shows_at_bench(each, mistake)]
    assert len(asked) > 100
    for each in asked:
        assert causes(each, run_with(each, mistake)) == {mistake}


@pytest.mark.parametrize("mistake", PLAYS)
def test_a_mistake_costs_points_says_why_and_draws_the_needle(mistake):
    """The finding has its sentence without gaps, its rule, and the needle at that moment."""
    case_ = next(
        c
        for n in range(50)
        if shows_at_bench(
            (c := case("demo", "1_setup_order", f"learner{n}", BOOK))["bench"], mistake
        )
    )
    verdict = mark(case_, "bench", run_with(case_["bench"], mistake), BOOK)
    assert 0 < verdict.earned < points() == verdict.possible
    (finding,) = (f for f in parts(verdict) if not f.met and f.trace)
    assert "{" not in finding.says
    assert sum(f.possible - f.earned for f in parts(verdict)) >= finding.possible > 0
    kept = sum(f.earned for f in watched(verdict))
    harmed = mistake in HARMFUL
    assert kept == (0 if harmed or mistake in NOBODY else watch.worth("bench"))
    assert any(f.critical and f.misconception == finding.misconception for f in watched(verdict)
               ) == harmed  # fmt: skip
    assert finding.source
    table = texts().slip[mistake]
    assert finding.misconception == table.get("belief", "")
    far = mistake == "pip-at-relief"  # by 15 cmH2O or more, in each of these cases
    assert finding.critical == table.get("critical", far)
    assert in_words(finding) in traces(verdict)
    assert from_data(as_data([verdict])) == (verdict,)


def test_every_belief_named_at_the_bench_is_explained():
    """No slip names a misconception that nobody wrote down."""
    named = {slip["belief"] for slip in texts().slip.values() if "belief" in slip}
    assert named <= set(misconceptions())


def test_peep_first_tells_what_the_needle_did():
    """The sentence has what the gauge showed then, and what it shows once PIP is raised."""
    told = []
    for number in range(20):
        drawn = case("demo", "1_setup_order", f"learner{number}", BOOK)
        asked = drawn["bench"]
        (finding,) = mark(drawn, "bench", run_with(asked, "peep-first"), BOOK).unsafe
        assert finding.misconception == "peep-before-pip"
        told.append(f"The needle showed {asked.facts['peep']:g} cmH2O" in finding.says)
    assert any(told)


def test_peep_first_that_moved_no_needle_does_not_say_that_it_did():
    """Where the PIP control stood high enough, the sentence says so: luck, and an unsafe order."""
    seen = set()
    for number in range(20):
        drawn = case("demo", "1_setup_order", f"lucky{number}", BOOK)
        asked = drawn["bench"]
        (finding,) = mark(drawn, "bench", run_with(asked, "peep-first"), BOOK).unsafe
        run = run_of(asked, read_hands(run_with(asked, "peep-first")), BOOK)
        slip = slips(run)["peep"]
        moved = round(slip.then, 1) != round(slip.now, 1)
        assert ("The needle showed" in finding.says) == moved
        assert ("happened to stand high enough" in finding.says) != moved
        seen.add(moved)
    assert seen == {True, False}


@pytest.mark.parametrize("edition", editions())
def test_the_bench_can_be_asked_under_every_edition(edition):
    """Whatever the course's edition, the model run earns everything."""
    book = rulebook(edition)
    made = case("demo", "1_setup_order", "ada", book)
    assert mark(made, "bench", model_run(made["bench"]), book).earned == points()


def test_an_untouched_bench_earns_nothing():
    """A run in which nothing was done is no set-up."""
    blank = {"format": "tpiece-hands", "version": 1, "duration": 5.0, "actions": []}
    verdict = mark(ONE, "bench", blank, BOOK)
    assert verdict.earned == 0
    assert verdict.unsafe


def test_without_gas_nothing_is_said_to_be_set_or_read():
    """With the flow off the needle stands at zero, whatever is turned and looked at."""
    asked = ONE["bench"]
    run = read_hands(model_run(asked))
    dry = replace(run, touches=tuple(t for t in run.touches if t.kind != "flow"))
    found = {f.criterion: f for f in mark(ONE, "bench", dry.to_data(), BOOK).findings}
    for name in ("bench-relief", "bench-pip", "bench-peep", "bench-recheck", "bench-baby"):
        assert not found[name].met, found[name].says
    assert "when every pressure had been set" not in found["bench-baby"].says


def test_setting_everything_again_after_a_flow_change_is_right():
    """Somebody who sees the slip and mends it before the baby has made none."""
    asked = ONE["bench"]
    model = model_run(asked)["actions"]
    again = [["flow", 20], ["flow", 16], *[row[1:] for row in model[1:]]]
    rows = [row[1:] for row in model[:-1]] + again
    actions = [[float(n), *row] for n, row in enumerate(rows, start=1)]
    answer = {"format": "tpiece-hands", "version": 1, "duration": 60.0, "actions": actions}
    assert causes(asked, answer) == set()


@settings(max_examples=150, deadline=None)
@given(runs())
def test_whatever_the_hands_do_is_marked(answer):
    """No run ends in an error, earns more than there is, or leaves a gap in a sentence."""
    verdict = mark(ONE, "bench", answer, BOOK)
    assert 0 <= verdict.earned <= points() == verdict.possible
    assert len(parts(verdict)) == len(PARTS)
    assert sum(f.possible for f in watched(verdict)) == watch.worth("bench")
    assert not any("{" in f.says for f in verdict.findings)


NONSENSE = [
    3,
    {"format": "tpiece-hands", "version": 2},
    {"format": "tpiece-hands", "version": 1, "duration": 3600, "actions": []},
    {"format": "tpiece-hands", "version": 1, "duration": float("nan"), "actions": []},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[2, "cap"], [1, "open"]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[6, "cap"]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[1, "flow", 1e9]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[1, "flow", -1]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[1, "flow", True]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[1, "explode"]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": [[10**400, "cap"]]},
    {"format": "tpiece-hands", "version": 1, "duration": 5, "actions": "cap"},
    {"format": "tpiece-hands", "version": 1, "duration": 9, "actions": [[1, "cap"]] * 2001},
]


@pytest.mark.parametrize("answer", NONSENSE, ids=range(len(NONSENSE)))
def test_a_record_that_cannot_be_read_earns_nothing_and_says_why(answer):
    """Out of order, an hour long, impossible or edited by hand: one sentence, no points."""
    verdict = mark(ONE, "bench", answer, BOOK)
    (finding,) = verdict.findings
    assert verdict.earned == 0
    assert finding.says.startswith("This answer could not be read:")
    assert finding.says.endswith(".")


def test_the_longest_record_is_marked_in_bounded_time():
    """Two thousand turns in ten minutes cost seconds, not minutes."""
    rows = [[0.3 * n, ("relief", "pip", "peep")[n % 3], 40 + n % 90] for n in range(2000)]
    answer = {"format": "tpiece-hands", "version": 1, "duration": 600.0, "actions": rows}
    begun = time.process_time()
    mark(ONE, "bench", answer, BOOK)
    assert time.process_time() - begun < 20


# --- the relief is an upper bound


def relief_at(asked, limit: float) -> dict:
    """Return an expert's run that sets the relief to another limit (cmH2O)."""
    numbers = {**asked.facts, "relief": limit}
    return model_run(replace(asked, facts={**asked.facts, **numbers}))


@pytest.mark.parametrize("edition", editions())
def test_a_lower_relief_that_lies_above_pip_is_right(edition):
    """Safer than the highest allowed is never marked wrong, in any edition."""
    book = rulebook(edition)
    for n in range(40):
        drawn = case("demo", "1_setup_order", f"safe{n}", book)
        asked = drawn["bench"]
        low = asked.facts["pip"] + book["relief.margin"].value
        for limit in (low, (low + asked.facts["relief"]) / 2):
            verdict = mark(drawn, "bench", relief_at(asked, limit), book)
            assert verdict.earned == points(), (edition, n, limit)


@pytest.mark.parametrize("edition", editions())
def test_a_relief_above_the_highest_allowed_is_wrong(edition):
    """The bound still bounds."""
    book = rulebook(edition)
    for n in range(10):
        drawn = case("demo", "1_setup_order", f"high{n}", book)
        asked = drawn["bench"]
        high = asked.facts["relief"] + 2 * book["relief.accept"].value
        (lost,) = [
            f
            for f in mark(drawn, "bench", relief_at(asked, high), book).findings
            if f.earned < f.possible
        ]
        assert lost.criterion == "bench-relief"


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize(("part", "harms"), [("pip", 5), ("peep", 3)])
def test_a_pressure_left_far_above_the_one_asked_for_is_unsafe(part, harms, edition):
    """With the marks' allowance for a reading; nearer to what was asked it is only wrong."""
    book = rulebook(edition)
    met = set()
    for n in range(20):
        drawn = case("demo", "1_setup_order", f"far{n}", book)
        asked = drawn["bench"]
        wanted = asked.facts[part]
        for more in (-6, 3, 4, harms + 3, harms + 6):
            try:
                run = model_run(replace(asked, facts={**asked.facts, part: wanted + more}))
            except ValueError:  # no control reaches it under this relief
                continue
            (lost,) = [
                f for f in parts(mark(drawn, "bench", run, book)) if f.criterion == f"bench-{part}"
            ]
            reads = set_reads(run, asked, part)
            harmful = reads > wanted + harms + 2
            if abs(reads - wanted - harms - 2) > 0.05:
                assert lost.unsafe == harmful, (edition, n, more, lost.says)
            assert ("far above" in lost.says) == lost.unsafe
            met.add(harmful)
    assert met == {True, False}


def set_reads(run, asked, part):
    """Return what PIP or PEEP reads at the end of a run at a question's bench (cmH2O)."""
    last = story(Bench.from_data(asked.facts["bench"]), read_hands(run))[-1]
    return reading(last.positions, held=part == "pip")


@pytest.mark.parametrize("edition", editions())
def test_no_baby_is_drawn_with_a_relief_above_its_highest_pip(edition):
    """The draw knows the baby that the question names, in every edition."""
    book = rulebook(edition)
    for n in range(500):
        draw = Draw("demo", "1_setup_order", f"drawn{n}", "settings")
        made, numbers = setup_order._settings(draw, book)
        top = ceiling(book, made)
        if top is not None:
            assert numbers["relief"] <= one(top), (made, numbers)
        assert numbers["relief"] >= numbers["pip"] + book["relief.margin"].value
