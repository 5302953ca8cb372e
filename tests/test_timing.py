"""Timing: the three-beat count and compressions with inflations."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.rules import RuleError, rulebook
from workbook.rules.checkinput import InputError
from workbook.rules.timing import compressions, count, count_of_beat


@pytest.mark.parametrize(
    ("rate", "beat"), [(30, 0.667), (40, 0.500), (45, 0.444), (50, 0.400), (60, 0.333)]
)
def test_a_beat_is_a_minute_shared_by_three_beats_of_each_inflation(rate, beat):
    """By definition 60 / (3 times the rate); the rules carry the same beats as data."""
    made = count(f"{rate} 1/min")
    assert made.beat == pytest.approx(beat, abs=0.001)
    assert made.inflation == made.beat
    assert made.release == pytest.approx(2 * made.beat)
    assert rulebook("aha-2020")[f"beat.{rate}"].value == pytest.approx(made.beat, abs=1e-4)


@given(st.floats(10, 120))
def test_a_rate_comes_back_from_its_beat(rate):
    """Rate to beat to rate changes nothing."""
    beat = count(f"{rate!r} 1/min").beat
    assert count_of_beat(f"{beat!r} s").rate == pytest.approx(rate)


def test_the_count_is_said_in_a_sentence():
    """Rate, beat, inflation time and their ratio."""
    assert count("40 a minute").text == (
        "At 40 a minute one beat is 0.500 s, an inflation 0.500 s, and inflation to release 1:2."
    )


def test_three_to_one_is_120_events_of_half_a_second():
    """Solevåg 2012, SJTREM 20:73: 90 compressions and 30 inflations."""
    made = compressions()
    assert (made.compressions, made.inflations, made.events) == (90, 30, 120)
    assert made.slot == 0.5
    assert made.cycle == 2.0
    assert rulebook("aha-2020")["compressions.slot"].value == made.slot
    assert rulebook("aha-2020")["compressions.cycle"].value == made.cycle
    assert "120 events of 0.5 s" in made.text


def test_an_edition_that_states_no_events_says_so():
    """No default steps in for the edition of 2025."""
    assert compressions(rulebook("erc-2021")).slot == 0.5
    with pytest.raises(RuleError, match="not stated here"):
        compressions(rulebook("aha-2025"))


@pytest.mark.parametrize("rate", ["40", "0 1/min", "-40 1/min", "40 s"])
def test_a_rate_that_cannot_be_meant_is_refused(rate):
    """A rate needs its unit and a sane size."""
    with pytest.raises(InputError, match="rate"):
        count(rate)
