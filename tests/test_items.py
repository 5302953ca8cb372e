"""Item quality: published data sets, independent libraries, and every group there can be."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pandas as pd
import pingouin
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from statsmodels.stats.proportion import proportion_confint

from graders.items.flags import flags, reliability
from graders.items.intervals import feldt, mean, wilson
from graders.items.quality import ScoreStatistics, alpha_of, statistics
from tests.items_base import BOOK, FIVE_MADE, FOUR_MADE, SURE, made

pytestmark = pytest.mark.slow

# item: p, correlation with the total, with the rest, alpha without it
FIVE_ITEMS = {
    "1": (0.924, 0.3620, 0.1128, 0.2754),
    "2": (0.709, 0.5668, 0.1532, 0.2376),
    "3": (0.553, 0.6184, 0.1728, 0.2168),
    "4": (0.763, 0.5344, 0.1444, 0.2459),
    "5": (0.870, 0.4354, 0.1216, 0.2663),
}
FOUR_ITEMS = {
    "1": (0.4380, 0.6673),
    "2": (0.5937, 0.7541),
    "3": (0.6359, 0.7737),
    "4": (0.6174, 0.7025),
}


# --- published data


@pytest.mark.parametrize("id", FIVE_ITEMS)
def test_each_question_of_the_first_data_set(id):
    """Difficulty, both correlations and alpha without it, of the published patterns."""
    item = FIVE_MADE.items[int(id) - 1]
    found = (item.difficulty, item.uncorrected, item.corrected, item.alpha_without)
    assert [f.value for f in found] == pytest.approx(FIVE_ITEMS[id], abs=1e-4)
    assert item.id == id


def test_the_whole_of_the_first_data_set():
    """Totals, mean, KR-20, alpha, KR-21 and the standard error of measurement."""
    assert FIVE_MADE.learners == 1000
    assert list(FIVE_MADE.totals.items()) == list(enumerate([3, 20, 85, 237, 357, 298]))
    assert FIVE_MADE.mean.value == pytest.approx(3.819, abs=1e-4)
    assert FIVE_MADE.kr20.value == pytest.approx(0.294997, abs=1e-6)
    assert FIVE_MADE.alpha.value == pytest.approx(0.294997, abs=1e-6)
    assert FIVE_MADE.kr21.value == pytest.approx(0.196441, abs=1e-6)
    assert FIVE_MADE.sem.value == pytest.approx(0.869, abs=1e-4)
    variance = FIVE_MADE.sd.value**2 * 999 / 1000
    assert variance == pytest.approx(1.070239, abs=1e-6)
    p = np.array([item.difficulty.value for item in FIVE_MADE.items])
    assert (p * (1 - p)).sum() == pytest.approx(0.817665, abs=1e-6)


def test_the_divisor_trap_is_avoided():
    """A total variance with divisor n - 1 over pq with divisor n gives 0.295952, not 0.294997."""
    p = np.array([item.difficulty.value for item in FIVE_MADE.items])
    trapped = 5 / 4 * (1 - (p * (1 - p)).sum() / FIVE_MADE.sd.value**2)
    assert trapped == pytest.approx(0.295952, abs=1e-6)
    assert FIVE_MADE.kr20.value < trapped - 9e-4


@pytest.mark.parametrize("id", FOUR_ITEMS)
def test_each_question_of_the_second_data_set(id):
    """Share and corrected correlation of the published counts."""
    item = FOUR_MADE.items[int(id) - 1]
    found = (item.difficulty.value, item.corrected.value)
    assert found == pytest.approx(FOUR_ITEMS[id], abs=1e-4)


def test_the_whole_of_the_second_data_set():
    """Alpha of 379 people."""
    assert FOUR_MADE.learners == 379
    assert FOUR_MADE.alpha.value == pytest.approx(0.870672, abs=1e-6)


def test_a_published_summary_gives_its_alpha():
    """Bland and Altman 1997, BMJ 314:572: k 10, n 249, sums 11.16 and 77.44, alpha 0.951."""
    assert alpha_of(10, 11.16, 77.44, 249, SURE).value == pytest.approx(0.951, abs=5e-4)


# --- independent libraries on random data

RANDOM = np.random.default_rng(1957)
LEVELS = RANDOM.normal(size=(300, 1)) + RANDOM.normal(size=(300, 6))
ONES, PARTS = (LEVELS > 0.2).astype(float), np.clip(np.round(LEVELS * 2 + 4), 0, 8)
SETS = {"0/1": (ONES, 1.0), "part credit": (PARTS, 8.0)}


@pytest.mark.parametrize(("scores", "most"), SETS.values(), ids=SETS)
def test_alpha_agrees_with_pingouin(scores, most):
    """Alpha to 1e-9, also without each question; its interval to the three digits given there."""
    ours = made(scores, [most] * 6)
    value, interval = pingouin.cronbach_alpha(pd.DataFrame(scores), ci=SURE)
    assert ours.alpha.value == pytest.approx(value, abs=1e-9)
    assert (ours.alpha.low, ours.alpha.high) == pytest.approx(tuple(interval), abs=5.1e-4)
    for k, item in enumerate(ours.items):
        without = pingouin.cronbach_alpha(pd.DataFrame(np.delete(scores, k, axis=1)))[0]
        assert item.alpha_without.value == pytest.approx(without, abs=1e-9)


@pytest.mark.parametrize(("scores", "most"), SETS.values(), ids=SETS)
def test_correlations_and_their_intervals_agree_with_scipy(scores, most):
    """Pearson's r of question with total and rest, and Fisher's interval, to 1e-9."""
    for k, item in enumerate(made(scores, [most] * 6).items):
        total = scores.sum(axis=1)
        pairs = ((item.uncorrected, total), (item.corrected, total - scores[:, k]))
        for ours, other in pairs:
            theirs = scipy.stats.pearsonr(scores[:, k], other)
            interval = theirs.confidence_interval(SURE)
            assert ours.value == pytest.approx(theirs.statistic, abs=1e-9)
            assert (ours.low, ours.high) == pytest.approx((interval.low, interval.high), abs=1e-9)


@pytest.mark.parametrize(("right", "n"), [(0, 7), (7, 7), (1, 2), (33, 40), (924, 1000)])
def test_a_proportion_agrees_with_statsmodels(right, n):
    """Wilson's interval to 1e-9, also where all or none are right."""
    ours = wilson(right, n, SURE)
    theirs = proportion_confint(right, n, alpha=1 - SURE, method="wilson")
    assert (ours.low, ours.high) == pytest.approx(theirs, abs=1e-9)


def test_a_mean_agrees_with_scipy():
    """Student's interval to 1e-9."""
    totals = PARTS.sum(axis=1)
    ours = mean(totals, SURE)
    theirs = scipy.stats.t.interval(SURE, 299, totals.mean(), scipy.stats.sem(totals))
    assert (ours.low, ours.high) == pytest.approx(theirs, abs=1e-9)


def test_the_interval_of_alpha_agrees_with_scipys_distribution():
    """Feldt, Woodruff and Salih 1987, formulas 6 and 7, on F's quantiles, to 1e-9."""
    ours = feldt(0.8, 41, 26, SURE)
    law = scipy.stats.f(40, 40 * 25)
    wanted = (1 - 0.2 * law.ppf((1 + SURE) / 2), 1 - 0.2 * law.ppf((1 - SURE) / 2))
    assert (ours.low, ours.high) == pytest.approx(wanted, abs=1e-9)


# --- every group there can be

GROUPS = {
    "nobody": np.empty((0, 3)),
    "one learner": [[1, 0, 1]],
    "two learners": [[1, 0, 1], [0, 0, 1]],
    "all right": np.ones((5, 3)),
    "all wrong": np.zeros((5, 3)),
    "one question": [[1], [0], [1]],
    "one question, one learner": [[1]],
    "every total the same": [[1, 0], [0, 1], [1, 0]],
    "a perfect pair": [[1, 1], [0, 0], [1, 1], [0, 0]],
    "nobody has every score": [[1, np.nan], [np.nan, 1]],
    "a question nobody has": [[1, np.nan], [0, np.nan]],
    "no questions": np.empty((3, 0)),
}


def estimates(stats: ScoreStatistics) -> list:
    whole = [stats.mean, stats.sd, stats.alpha, stats.kr20, stats.kr21, stats.sem]
    of_items = [
        e for i in stats.items for e in (i.difficulty, i.uncorrected, i.corrected, i.alpha_without)
    ]
    return whole + of_items


@pytest.mark.parametrize("scores", GROUPS.values(), ids=GROUPS)
def test_every_figure_is_a_number_or_says_why_there_is_none(scores):
    """No division by zero, no NaN, no infinity, and no warning, in the least of groups."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        stats = made(scores)
    for each in estimates(stats):
        numbers = [x for x in (each.value, each.low, each.high) if x is not None]
        assert all(math.isfinite(x) for x in numbers)
        assert each.value is not None or each.why.endswith(".")
    for item in stats.items:
        flags(item, {}, BOOK)
    assert all(says.endswith(".") for says in reliability(stats, BOOK))


def test_a_perfect_pair_has_alpha_one_and_no_error():
    """Two questions that always agree: alpha 1, whatever the sample, and no standard error."""
    stats = made(GROUPS["a perfect pair"])
    assert stats.alpha.value == pytest.approx(1)
    assert (stats.alpha.low, stats.alpha.high) == (1, 1)
    assert stats.sem.value == pytest.approx(0)
    assert stats.items[0].corrected.value == 1


def test_missing_scores_are_reported_and_count_for_the_rest():
    """A learner without one score counts in the difficulty of the others, not in alpha."""
    stats = made([[1, 1, 0], [0, 0, 1], [1, np.nan, 1], [0, 0, 0]])
    assert (stats.learners, stats.left_out) == (3, 1)
    assert [(i.answered, i.missing) for i in stats.items] == [(4, 0), (3, 1), (4, 0)]
    assert stats.items[0].difficulty.value == 0.5
    assert stats.alpha.value == made([[1, 1, 0], [0, 0, 1], [0, 0, 0]]).alpha.value


def test_part_credit_has_alpha_and_no_kr20():
    """KR-20 and KR-21 are for questions of one point, right or wrong."""
    stats = made(PARTS, [8.0] * 6)
    assert stats.kr20.value is None
    assert stats.kr21.value is None
    assert "alpha" in stats.kr20.why
    assert not stats.items[0].right_or_wrong
    assert made(ONES * 2, [2.0] * 6).kr20.value is None


@pytest.mark.parametrize(
    ("scores", "maxima"),
    [([[2.0]], [1.0]), ([[-1.0]], [1.0]), ([[1.0]], [0.0]), ([[math.inf]], [1.0])],
)
def test_scores_out_of_bounds_are_refused(scores, maxima):
    """A score beyond its points, below 0, or of no points is a mistake, not a statistic."""
    with pytest.raises(ValueError, match="must"):
        made(scores, maxima)


def test_columns_and_ids_must_fit():
    """Each question has its column."""
    with pytest.raises(ValueError, match="column"):
        statistics(np.ones((2, 2)), ["only one"], SURE)


# --- what must hold for any scores

TABLES = hnp.arrays(
    float,
    st.tuples(st.integers(0, 12), st.integers(1, 6)),
    elements=st.sampled_from([0.0, 0.25, 0.5, 1.0, math.nan]),
)


@given(TABLES)
@settings(deadline=None)
def test_figures_stay_in_their_bounds(table):
    """Shares within 0 and 1, correlations within -1 and 1, intervals around their value."""
    stats = made(table)
    for item in stats.items:
        for each, low in ((item.difficulty, 0), (item.uncorrected, -1), (item.corrected, -1)):
            if each.value is not None:
                assert low <= each.value <= 1
            if each.low is not None and each.high is not None:
                assert low - 1e-12 <= each.low <= each.value + 1e-12
                assert each.value - 1e-12 <= each.high <= 1 + 1e-12
    assert stats.alpha.value is None or stats.alpha.value <= 1 + 1e-9
    assert sum(stats.totals.values()) == stats.learners


@given(TABLES, st.randoms(use_true_random=False))
@settings(deadline=None)
def test_the_order_of_learners_does_not_matter(table, random):
    """Shuffled rows give the same figures."""
    order = list(range(len(table)))
    random.shuffle(order)
    for one, other in zip(estimates(made(table)), estimates(made(table[order])), strict=True):
        assert (one.value is None) == (other.value is None)
        if one.value is not None:
            assert one.value == pytest.approx(other.value, abs=1e-9)


@given(TABLES, st.sampled_from([0.5, 3.0, 10.0]))
@settings(deadline=None)
def test_points_of_another_size_change_no_share_and_no_correlation(table, size):
    """Alpha, difficulty and discrimination do not depend on how many points there are."""
    small, large = made(table), made(table * size, [size] * table.shape[1])
    for one, other in zip(small.items, large.items, strict=True):
        for name in ("difficulty", "corrected", "alpha_without"):
            a, b = getattr(one, name).value, getattr(other, name).value
            assert (a is None) == (b is None)
            assert a is None or a == pytest.approx(b, abs=1e-6)


@given(hnp.arrays(float, st.tuples(st.integers(2, 15), st.integers(2, 6)),
                  elements=st.sampled_from([0.0, 1.0])))  # fmt: skip
@settings(deadline=None)
def test_kr20_is_alpha_of_right_or_wrong(table):
    """For 0/1 scores both formulas are one (divisor n above and below)."""
    stats = made(table)
    if stats.kr20.value is not None:
        p = table.mean(axis=0)
        k, var = table.shape[1], table.sum(axis=1).var()
        assert stats.kr20.value == pytest.approx(k / (k - 1) * (1 - (p * (1 - p)).sum() / var))
