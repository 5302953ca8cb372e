"""Equal draws and gains: planted differences are found, libraries agree, edges are defined."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from graders.items.draws import compare, grouped, holm, observed
from graders.items.forms import FormStudy, Played, sample, simulate
from graders.items.gains import Gain, gains, summary
from graders.items.scores import UnitScores
from graders.learner.history import keep
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded
from graders.marking.personas import answers_of, played
from graders.marks.verdict import Finding, Verdict
from workbook.cases import case
from workbook.course.settings import Course
from workbook.rules import rulebook

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2020")
SURE = BOOK["item.confidence"].value / 100
UNIT = "1_setup_order"
COURSE = Course("test", "Invented", units=(UNIT,))


# --- simulated


@pytest.fixture(scope="module")
def study() -> FormStudy:
    return simulate(COURSE, UNIT, 4)


def test_who_knows_everything_earns_everything_in_every_case(study):
    """The draw costs a learner without a misconception nothing, and makes nobody unready."""
    knows = study.players[0]
    assert knows.belief == ""
    assert knows.shares == (1.0,) * 4
    assert knows.ready == (True,) * 4


def test_every_known_misconception_is_played_through_every_case(study):
    """All scripted learners, each in each case; a belief costs points wherever it can show."""
    assert {p.belief for p in study.players} == {"", *played(UNIT)}
    assert study.cases == 4
    for player in study.players[1:]:
        assert sum(share == 1 for share in player.shares) <= player.hidden


def test_marking_only_what_a_belief_changes_gives_the_whole_marks(study):
    """The same share as marking every answer of the scripted learner anew."""
    for n in (0, 3):
        drawn = case(COURSE.id, UNIT, f"form-{n + 1:03d}", COURSE.book)
        for player in study.players:
            every = mark_all(drawn, answers_of(drawn, COURSE.book, player.belief), COURSE.book)
            share = sum(v.earned for v in every) / sum(v.possible for v in every)
            assert player.shares[n] == pytest.approx(share, abs=1e-12)


def test_the_study_is_the_same_every_time(study):
    """Nothing is drawn anew."""
    assert simulate(COURSE, UNIT, 4) == study


def test_an_unequal_draw_shows_as_spread_and_as_changed_readiness():
    """By hand: two cases, in one of which the same learner passes."""
    knows = Played("", (1.0, 1.0), (True, True), 0)
    slips = Played("falls-to-zero", (0.9, 0.7), (True, False), 0)
    made = FormStudy(UNIT, (knows, slips))
    assert made.by_case == pytest.approx((0.95, 0.85))
    assert made.sd == pytest.approx(0.1 / math.sqrt(2))
    assert slips.sd == pytest.approx(0.2 / math.sqrt(2))
    assert made.depends == (slips,)
    assert (FormStudy(UNIT, ()).cases, FormStudy(UNIT, ()).sd) == (0, 0)
    assert FormStudy(UNIT, (Played("", (1.0,), (True,), 0),)).sd == 0


def test_a_sample_is_the_same_every_time_and_no_larger_than_asked():
    """By the id's digest, so that neither the first nor the last in a list are preferred."""
    ids = [f"l{n}" for n in range(50)]
    assert sample(ids, 100) == tuple(ids)
    assert sample(ids, 10) == sample(ids[::-1], 10)
    assert len(set(sample(ids, 10))) == 10
    assert sample((), 10) == ()


# --- observed

RANDOM = np.random.default_rng(11)
LABELS = ["a"] * 20 + ["b"] * 25 + ["c"] * 15


def test_the_one_way_f_agrees_with_scipy():
    """F to 1e-9, and the chance by shuffling near the one by the bell curve."""
    values = RANDOM.normal(size=60) + np.repeat([0.0, 0.4, 0.1], [20, 25, 15])
    ours = compare(values, LABELS, 5)
    theirs = scipy.stats.f_oneway(values[:20], values[20:45], values[45:])
    assert ours.f == pytest.approx(theirs.statistic, abs=1e-9)
    assert ours.chance == pytest.approx(theirs.pvalue, abs=0.03)


def test_the_chance_by_shuffling_agrees_with_scipys():
    """Right-or-wrong scores, where the bell curve is no guide."""
    values = np.repeat([1.0, 0, 1, 0], [18, 2, 25, 15])
    two = ["a"] * 20 + ["b"] * 40
    theirs = scipy.stats.permutation_test(
        (values[:20], values[20:]),
        lambda x, y: abs(x.mean() - y.mean()),
        n_resamples=9999,
        alternative="greater",
        rng=np.random.default_rng(3),
    )
    assert compare(values, two, 5).chance == pytest.approx(theirs.pvalue, abs=0.02)


@given(st.lists(st.floats(0.0005, 1), min_size=1, max_size=12))
@settings(max_examples=25, deadline=None)
def test_holms_correction_agrees_with_statsmodels(chances):
    """To 1e-9, in the order given."""
    theirs = multipletests(chances, method="holm")[1]
    assert holm(chances) == pytest.approx(list(theirs), abs=1e-9)


def test_groups_too_small_are_not_compared():
    """Below the size asked nothing is said, and no small group shows."""
    values = np.array([1.0, 0, 1, 1, 0, 1])
    assert compare(values, ["a"] * 4 + ["b"] * 2, 3) is None
    made = compare(values, ["a"] * 3 + ["b"] * 3, 3)
    assert [(g.label, g.learners) for g in made.groups] == [("a", 3), ("b", 3)]
    assert compare(np.array([]), [], 3) is None


@pytest.mark.parametrize(
    ("values", "f", "chance"),
    [([1.0] * 6, 0.0, 1.0), ([1.0, 1, 1, 0, 0, 0], math.inf, None)],
)
def test_groups_without_spread_have_defined_outcomes(values, f, chance):
    """All alike, or alike within each group: no division by zero."""
    made = compare(np.array(values), ["a"] * 3 + ["b"] * 3, 3)
    assert made.f == f
    assert chance is None or made.chance == chance


def test_a_missing_score_counts_in_no_group():
    """NaN is left out, not spread."""
    made = compare(np.array([1.0, math.nan, 0, 1, 0, 1]), ["a"] * 3 + ["b"] * 3, 2)
    assert [g.learners for g in made.groups] == [2, 3]


def test_many_numbers_go_into_thirds_and_words_stay():
    """Few values keep their names; of many, a third each."""
    assert grouped(["x", None, "y"]) == ["x", "", "y"]
    assert grouped([1.0, 2.0, 1.0]) == ["1", "2", "1"]
    labels = grouped([float(n) for n in range(30)])
    assert [labels.count(name) for name in dict.fromkeys(labels)] == [10, 10, 10]


def scores_of(learners: list[str], hard: str) -> UnitScores:
    """Return scores of learners who mostly miss one described set-up, wherever it is drawn."""
    drawn = [case(COURSE.id, UNIT, id, BOOK) for id in learners]
    rng = np.random.default_rng(5)
    names = tuple(q.id for q in drawn[0].questions)
    points = (rng.random((len(learners), len(names))) < 0.8).astype(float)
    for n, each in enumerate(drawn):
        if each["setup-1"].facts["setup"] == hard:
            points[n, names.index("setup-1")] = float(rng.random() < 0.2)
    return UnitScores(UNIT, names, (1.0,) * len(names), tuple(learners), points, {}, {})


def test_a_planted_hard_draw_is_found_and_no_other():
    """Of every part of every question's draw, the one that was made hard stands out."""
    learners = [f"learner{n}" for n in range(240)]
    scores = scores_of(learners, "uncapped")
    cases = {id: case(COURSE.id, UNIT, id, BOOK) for id in learners}
    made = observed(scores, cases, BOOK)
    unequal = made.unequal(BOOK)
    assert [(c.question, c.part) for c in unequal] == [("setup-1", "setup")]
    hardest = min(unequal[0].groups, key=lambda g: g.share)
    assert hardest.label == "uncapped"
    assert made.learners == 240
    assert len(made.comparisons) > 10


def test_nobody_and_few_learners_give_no_comparison():
    """Too few to compare is counted; nobody is nothing."""
    nobody = UnitScores(UNIT, ("setup-1",), (1.0,), (), np.empty((0, 1)), {}, {})
    assert observed(nobody, {}, BOOK).comparisons == ()
    few = [f"learner{n}" for n in range(4)]
    made = observed(scores_of(few, ""), {id: case("test", UNIT, id, BOOK) for id in few}, BOOK)
    assert made.comparisons == ()
    assert made.too_few > 0


# --- gains


def attempt(learner: str, earned: float, when: str, digest: str = "") -> Graded:
    finding = Finding("q", earned == 10, "Said.", earned, 10)
    print_of = digest or f"{learner}{when}{earned}".replace("-", "").replace(" ", "")[-16:]
    return Graded(learner, UNIT, COURSE.edition, (Verdict("q", (finding,)),), (), when,
                  print_of, "1.0")  # fmt: skip


def test_first_and_latest_attempt_make_the_gain(tmp_path):
    """By when they were handed in; what lies between and a single attempt count for nothing."""
    for earned, when in ((9, "2026-03-01"), (4, "2026-01-01"), (2, "2026-02-01")):
        keep(tmp_path, attempt("ann", earned, when), Course())
    keep(tmp_path, attempt("ben", 5, "2026-01-01"), Course())
    found = list(gains(tmp_path, UNIT))
    assert found == [Gain("ann", UNIT, 0.4, 0.9, 3, "2026-03-01")]
    assert found[0].normalised == pytest.approx(0.5 / 0.6)
    assert list(gains(tmp_path, "no_such_unit")) == []
    assert list(gains(tmp_path / "nowhere", UNIT)) == []


def test_an_attempt_that_could_not_be_read_is_no_first(tmp_path):
    """A broken file is kept in the history, and is no zero to rise from."""
    broken = replace(attempt("ann", 0, "2026-01-01"), digest="")
    for one in (broken, attempt("ann", 8, "2026-02-01")):
        keep(tmp_path, one, Course())
    assert list(gains(tmp_path, UNIT)) == []


@pytest.mark.parametrize(
    ("first", "latest", "normalised"),
    [
        (0.5, 0.75, 0.5),
        (0.0, 1.0, 1.0),
        (0.0, 0.0, 0.0),
        (1.0, 1.0, None),
        (1.0, 0.75, -0.25),
        (0.5, 0.0, -1.0),
        (0.5, 0.5, 0.0),
    ],
)
def test_the_normalised_gain_is_defined_at_every_edge(first, latest, normalised):
    """(latest - first) over what was left; a loss over what there was to lose."""
    assert Gain("a", UNIT, first, latest, 2).normalised == normalised


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=20))
@settings(deadline=None)
def test_gains_add_up_and_stay_in_bounds(pairs):
    """Risen, unchanged and fallen are everyone; each normalised gain lies within -1 and 1."""
    found = [Gain(f"l{n}", UNIT, a, b, 2) for n, (a, b) in enumerate(pairs)]
    made = summary(UNIT, found, SURE)
    assert made.rose + made.same + made.fell == made.learners == len(pairs)
    assert all(g.normalised is None or -1 <= g.normalised <= 1 + 1e-9 for g in found)
    assert (made.change.value is None) == (not pairs)


def test_the_mean_gain_agrees_with_scipys_paired_test():
    """Its interval is that of the paired t test, to 1e-9."""
    first, latest = RANDOM.random(30), RANDOM.random(30)
    found = [Gain(str(n), UNIT, a, b, 2) for n, (a, b) in enumerate(zip(first, latest))]  # noqa: B905
    made = summary(UNIT, found, SURE).change
    theirs = scipy.stats.ttest_rel(latest, first).confidence_interval(SURE)
    assert (made.low, made.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_a_question_the_case_lacks_has_no_parts():
    """A verdict of another version names a question the draw does not know."""
    scores = UnitScores(UNIT, ("gone",), (1.0,), ("a", "b"), np.ones((2, 1)), {}, {})
    empty = SimpleNamespace(questions=())
    assert observed(scores, {"a": empty, "b": empty}, BOOK).comparisons == ()
