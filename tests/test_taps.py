"""Tapped inflations: what is read, what a rhythm is, and how sure its rate is."""

from __future__ import annotations

import math
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.taps_base import record, rhythm, uneven
from workbook.taps import TapsError, read_taps, steady, timing
from workbook.taps.student import quantile

# --- what is read


def test_presses_and_releases_pair_up():
    """Each inflation has its press and its release, in order."""
    taps = read_taps(record([1, 2, 3], held=0.4))
    assert taps.presses == (1, 2, 3)
    assert [each.release for each in taps.inflations] == [1.4, 2.4, 3.4]
    assert taps.says == "3 inflations in 60 seconds"


def test_a_held_key_counts_once():
    """Presses without a release between them are key repeats: ignored, and said."""
    taps = read_taps(record([1, 2.5], held=0.6, more=[(1.2, "press"), (1.4, "press")]))
    assert taps.presses == (1, 2.5)
    assert taps.repeats == 2
    assert "do not count" in timing(taps).notes[-1]


def test_a_press_open_when_the_focus_goes_is_not_counted():
    """A lost window ends a press as not counted, and its late release is a stray."""
    taps = read_taps(record([1, 2, 3], held=0.5, more=[(2.1, "blur")]))
    assert taps.presses == (1, 3)
    assert (taps.cut, taps.strays, taps.blurs) == (1, 1, (2.1,))


def test_the_gap_at_a_lost_focus_is_no_interval():
    """A window lost between two beats takes that one interval out, nothing else."""
    presses = [0.5 + n for n in range(10)]
    found = rhythm(presses, more=[(4.9, "blur")])
    assert len(found.intervals) == 8
    assert found.rate == pytest.approx(60)
    assert any("lost the focus once" in note for note in found.notes)


def test_a_press_still_held_at_the_end_counts_without_a_time():
    """The last press has a place in the rhythm, though its inflation never ended."""
    data = record([1, 2, 3])
    data["events"].pop()
    found = timing(read_taps(data))
    assert found.counted == 3
    assert len(found.held) == 2


def test_what_was_chosen_while_tapping_is_kept():
    """The option and its time belong to the record."""
    taps = read_taps(record([1], answered="leak", answered_at=12.5))
    assert (taps.answered, taps.answered_at) == ("leak", 12.5)


GOOD = [[1.0, "press"]]


@pytest.mark.parametrize(
    "change",
    [
        {"format": "other"},
        {"version": 2},
        {"duration": 0},
        {"duration": 121},
        {"duration": math.nan},
        {"duration": "30"},
        {"duration": True},
        {"duration": None},
        {"duration": 10**400},
        {"events": None},
        {"events": {"0": GOOD}},
        {"events": [1.0]},
        {"events": [[1.0]]},
        {"events": [[1.0, "press", 2]]},
        {"events": [[1.0, "tap"]]},
        {"events": [[1.0, ["press"]]]},
        {"events": [["1.0", "press"]]},
        {"events": [[True, "press"]]},
        {"events": [[math.nan, "press"]]},
        {"events": [[math.inf, "press"]]},
        {"events": [[-0.1, "press"]]},
        {"events": [[10**400, "press"]]},
        {"events": [[61.5, "press"]]},
        {"events": [[2.0, "press"], [1.9, "release"]]},
        {"events": [[1.0, "press"], [1.1, "release"]] * 2501},
        {"answered": 4},
        {"answered": "x" * 101},
        {"answered": "leak", "answered_at": 99},
        {"answered": "leak", "answered_at": "soon"},
    ],
)
def test_a_record_that_cannot_be_read_says_why(change):
    """One sentence and what to do, whatever is wrong."""
    with pytest.raises(TapsError, match=r"Tap again|tap again") as error:
        read_taps({**record([1]), **change})
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("nothing", [None, [], "taps", 3, {}])
def test_what_is_no_record_says_so(nothing):
    """Any other answer is refused in one sentence."""
    with pytest.raises(TapsError, match="not a record of taps"):
        read_taps(nothing)


TIMES = st.floats(allow_nan=True, allow_infinity=True) | st.integers()
EVENTS = st.lists(
    st.tuples(TIMES, st.sampled_from(["press", "release", "blur", "x"])).map(list), max_size=30
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | TIMES | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=10,
)


@given(ANYTHING, EVENTS | ANYTHING, ANYTHING)
def test_nothing_but_its_own_error_ever_comes_out(duration, events, answered):
    """Whatever a record holds, it is read or refused with a sentence."""
    data = {"format": "tpiece-taps", "version": 1, "duration": duration, "events": events}
    for each in (data, {**data, "duration": 30, "answered": answered}, events):
        try:
            found = timing(read_taps(each))
        except TapsError:
            continue
        assert found.counted >= 0


MANY = st.lists(st.tuples(st.floats(0, 1.5), st.sampled_from(["press", "release", "blur"])))


@given(MANY)
def test_any_order_of_real_events_has_a_rhythm(steps):
    """Times that step forward always give a rhythm, with finite or missing figures."""
    times = accumulate(step for step, _ in steps)
    events = [[t, kind] for t, (_, kind) in zip(times, steps, strict=True) if t < 60]
    found = timing(read_taps({**record([]), "events": events}))
    assert all(0.2 <= each <= 4 for each in found.intervals)
    assert found.counted <= sum(kind == "press" for _, kind in events)
    assert found.verdict(30, 60) in ("inside", "outside", "not yet sure")
    assert found.drift_says
    for figure in (found.rate, found.shown_rate, found.variation, found.robust_variation):
        assert figure is None or math.isfinite(figure)


@given(st.floats(20, 90), st.floats(0.2, 0.6), st.floats(0, 0.15))
def test_a_steady_hand_is_read_as_what_it_does(rate, share, start):
    """Rate, inflation time and I:E of a steady record are those it was made with."""
    held = share * 60 / rate
    found = timing(read_taps(steady(rate, held, 60, start=start)))
    assert found.rate == pytest.approx(rate, rel=1e-3)
    assert found.inflation_time == pytest.approx(held, abs=2e-4)
    assert found.held_share == pytest.approx(share, abs=1e-3)
    assert found.verdict(rate - 1, rate + 1) == "inside"
    assert found.verdict(rate + 1, rate + 2) == "outside"
    assert found.drift_says == "steady"


@given(st.floats(0.5, 2), st.integers(0, 1000))
def test_a_slower_clock_scales_the_rate(factor, seed):
    """Every interval times a factor gives the rate over that factor, and the same CV."""
    presses = uneven(seed, count=10, period=0.8, spread=0.05)
    one, two = rhythm(presses), rhythm([each * factor for each in presses], held=0.15)
    assert two.rate == pytest.approx(one.rate / factor)
    assert two.variation == pytest.approx(one.variation)
    assert two.robust_variation == pytest.approx(one.robust_variation)


# --- flaws of a rhythm


def test_a_double_strike_counts_once_and_ends_with_its_last_release():
    """A bounce within 0.2 s is dropped from the rhythm, not from the inflation time."""
    presses = [0.5 + n for n in range(8)]
    data = record(presses, held=0.05)
    data["events"] += [[3.6, "press"], [3.9, "release"]]
    data["events"].sort(key=lambda event: event[0])
    found = timing(read_taps(data))
    assert (found.doubles, found.counted, found.rate) == (1, 8, pytest.approx(60))
    assert max(found.held) == pytest.approx(0.4)


def test_a_missed_beat_is_counted_and_left_out_of_the_rate():
    """A gap of two intervals says one missed beat; the rate stays as it was."""
    presses = [0.5 + n for n in range(12) if n not in (4, 7, 8)]
    found = rhythm(presses)
    assert found.missed == 3
    assert found.rate == pytest.approx(60)
    assert found.variation == pytest.approx(0, abs=1e-9)


def test_only_what_follows_the_last_pause_counts():
    """A hand that stopped for over 4 s begins anew."""
    slow = [0.5 + 2 * n for n in range(5)]
    found = rhythm(slow + [13 + n for n in range(10)])
    assert (found.pauses, found.counted, found.rate) == (1, 10, pytest.approx(60))
    assert "only the taps that follow count" in found.notes[0]


def test_five_thousand_events_are_taken_and_are_all_bounces():
    """2,500 taps in 60 s are no rhythm: each 0.2 s holds one, and nothing breaks."""
    presses = [n * 0.024 for n in range(2500)]
    found = rhythm(presses, held=0.01)
    assert found.doubles > 2000
    assert found.rate < 60 / 0.2 + 1


def test_nothing_tapped_has_a_kind_sentence():
    """An empty record has no figures and is not yet sure."""
    found = rhythm([])
    assert (found.rate, found.ratio, found.rate_interval) == (None, None, None)
    assert found.verdict(40, 60) == "not yet sure"
    assert "Nothing was tapped" in found.notes[0]


def test_three_taps_fail_nobody():
    """With two uneven intervals far from the band the verdict still waits."""
    assert rhythm([1, 1.6, 2.4]).verdict(40, 60) == "not yet sure"
    assert rhythm([1, 1.6]).verdict(40, 60) == "not yet sure"


def test_a_count_that_slows_down_is_told():
    """The sign of the drift has its word; a steady count has none."""
    slowing = list(accumulate((1 + 0.02 * n for n in range(15)), initial=0.5))
    assert rhythm(slowing).drift_says == "slowing"
    quick = list(accumulate((1.3 - 0.02 * n for n in range(15)), initial=0.5))
    assert rhythm(quick).drift_says == "quickening"
    assert rhythm([1, 2, 3]).drift_says == "not yet sure"


# --- against scipy


@pytest.mark.parametrize("share", [0.5, 0.9, 0.95, 0.99])
def test_students_t_is_that_of_scipy(share):
    """The finite sums agree with scipy for every degree of freedom up to 600."""
    for freedom in range(1, 601):
        assert quantile(share, freedom) == pytest.approx(stats.t.ppf((1 + share) / 2, freedom))


@pytest.mark.parametrize(("share", "freedom"), [(0, 5), (1, 5), (0.95, 0)])
def test_students_t_refuses_what_it_is_not_defined_for(share, freedom):
    """No share of nothing or everything, and no spread of one value."""
    with pytest.raises(ValueError, match="Student's t needs"):
        quantile(share, freedom)


@pytest.mark.parametrize("seed", range(20))
def test_every_figure_is_that_of_scipy(seed):
    """Rate interval, median, CV, MAD and drift agree with scipy's own."""
    presses = uneven(seed)
    found, gaps = rhythm(presses), np.diff(presses)
    low, high = stats.t.interval(0.95, len(gaps) - 1, gaps.mean(), stats.sem(gaps))
    assert found.rate_interval == pytest.approx((60 / high, 60 / low))
    assert found.rate == pytest.approx(60 / gaps.mean())
    assert found.shown_rate == pytest.approx(60 / np.median(gaps))
    assert found.variation == pytest.approx(stats.variation(gaps, ddof=1))
    robust = stats.median_abs_deviation(gaps, scale="normal") / np.median(gaps)
    assert found.robust_variation == pytest.approx(robust, rel=1e-4)
    line = stats.linregress(presses[1:], gaps)
    assert found.drift == pytest.approx((line.slope, line.stderr))
    surely = line.pvalue < 0.05
    assert (found.drift_says != "steady") == surely
    assert found.share_inside(45, 55) == np.mean((60 / gaps >= 45) & (60 / gaps <= 55))
