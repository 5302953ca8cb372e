"""Laws that the baby and its monitors must keep, each worked out by hand or in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.baby_base import AIR, APNOEA, BY_HAND, played
from workbook.physics.baby import Course, Drive, State, born, by_leads, by_oximeter, inflated, term
from workbook.physics.baby.delivery import airway

pytestmark = pytest.mark.slow

OXIMETER_LAG, LEADS_LAG = 6.0, 2.0  # s, typed a second time


def leaps() -> Course:
    """Return a heart of 100 and a saturation of 50 % that are 160 and 90 % from 400 s on.

    By then what an oximeter shows too low of a heart rate has gone.
    """
    before = born(term(3))._replace(heart=100.0, saturation=0.5)
    after = before._replace(time=400.0, heart=160.0, saturation=0.9)
    return Course([before, before._replace(time=399.999), after, after._replace(time=600.0)])


def shares(lag: float, seconds: float) -> tuple[float, float]:
    """Return the share of a leap that a lag of first order shows, and that of a second later."""
    return 1 - math.exp(-seconds / lag), 1 - math.exp(-(seconds + 1) / lag)


@pytest.mark.parametrize("lag", [2.0, 6.0, 15.0])
def test_what_is_shown_follows_a_leap_as_a_lag_of_first_order(lag: float) -> None:
    """63 % after one time constant, 86 % after two, 95 % after three; before it nothing."""
    made = leaps()
    assert made.late("heart", 399.0, lag) == 100
    for times in (1, 2, 3):
        low, high = shares(lag, times * lag)
        assert low <= (made.late("heart", 400 + times * lag, lag) - 100) / 60 <= high + 1e-3


def test_each_monitor_lags_by_its_own_time_constant() -> None:
    """Two seconds for leads, six for an oximeter: after each, two thirds of a leap is shown."""
    made = leaps()
    low, high = shares(LEADS_LAG, LEADS_LAG)
    assert low <= (by_leads(made, 402.0) - 100) / 60 <= high + 0.01
    low, high = shares(OXIMETER_LAG, OXIMETER_LAG)
    heart, saturation = by_oximeter(made, 406.0)
    assert low - 0.03 <= (heart - 100) / 60 <= high + 0.03
    assert low - 0.02 <= (saturation - 50) / 40 <= high + 0.02
    assert (by_leads(made, 406.0) - 100) / 60 > 0.95


def test_an_inflation_of_the_dead_space_brings_no_oxygen() -> None:
    """2.2 mL for each kg stay in the airway; one mL more reaches the lung."""
    nature = term(3)
    state = played(nature, [(60, APNOEA), (90, BY_HAND)])[-1]
    assert inflated(nature, state, 2.2, 1.0) == state
    assert inflated(nature, state, 3.2, 1.0).alveolar > state.alveolar + 1


def test_no_inflation_brings_more_oxygen_than_it_carries() -> None:
    """However large and many, the gas in the lung comes to that of the mixture and no further."""
    nature = term(3)
    state = played(nature, [(60, APNOEA), (90, BY_HAND)])[-1]
    for share in (AIR, 0.5, 1.0):
        settled = state
        for _ in range(60):
            settled = inflated(nature, settled, 20.0, share)
        # The alveolar gas equation (mmHg): less water vapour, 40 of carbon dioxide, R of 0.8.
        dry, carbon = 760 - 47, 40 / 0.8
        assert settled.alveolar == pytest.approx(dry * share - carbon, abs=1)


def test_oxygen_widens_the_vessels_of_a_lung_sooner() -> None:
    """Same lung, same time: with pure oxygen they are further open than with air."""
    air, pure = (
        played(term(3), [(60, APNOEA), (120, replace(BY_HAND, oxygen=share))])[-1]
        for share in (AIR, 1.0)
    )
    assert pure.aerated == pytest.approx(air.aerated)
    assert pure.vessels > air.vessels + 0.05


def test_aerating_goes_by_pressure_times_time() -> None:
    """Held at a pressure above what opens a lung, it fills towards its end exponentially."""
    nature = replace(term(3), opens=0.0)
    held = Drive(20.0, 20.0, duty=1.0, oxygen=AIR, effort=0.0, moving=True)

    def opened(pressure: float, until: float) -> float:
        drive = replace(held, pip=pressure, peep=pressure)
        return played(nature, [(until, drive)])[-1].aerated

    shut = 1 - opened(20, 1)
    assert 1 - opened(20, 2) == pytest.approx(shut**2, rel=1e-6)
    assert 1 - opened(40, 1) == pytest.approx(shut**2, rel=1e-6)


def test_a_resistance_of_a_second_is_a_thousandth_for_a_millilitre() -> None:
    """40 cmH2O for a litre a second are 0.04 for a millilitre a second."""
    assert airway(40.0) == pytest.approx(0.04, rel=1e-9)


def test_a_state_says_how_long_the_heart_has_been_fast() -> None:
    """The time grows while the heart is fast, a second a second, and shrinks while it is slow."""
    nature = term(3)
    fast: State = played(nature, [(60, APNOEA), (240, BY_HAND)])[-1]
    later, slow = (
        played(nature, [(60, APNOEA), (240, BY_HAND), (until, drive)])[-1]
        for until, drive in ((250, BY_HAND), (400, APNOEA))
    )
    assert later.roused == pytest.approx(fast.roused + 10, abs=0.11)
    assert slow.heart < 100
    assert slow.roused < fast.roused
