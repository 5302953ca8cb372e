"""Closed forms of the model: each against its formula, a definition or the root it stands for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.physics import (
    Circuit,
    LimitValve,
    Lung,
    Passage,
    Stiffening,
    Tube,
    aperture_for,
    emptying_time_constant,
    leak_of,
    peep,
    periodic_breath,
    pip,
    refill_time_constant,
    steady_reading,
)

FLOWS = st.floats(5, 15)


def test_closed_form_of_peep_with_the_pip_valve_open():
    """A linear PIP valve and no limb: x = sqrt(P) solves x^2/a + x/sqrt(k) = Q + P_p/a."""
    a, k, q, opens = 0.7, 0.4, 9.0, 6.0
    x = a / 2 * (-1 / math.sqrt(k) + math.sqrt(1 / k + 4 * (q + opens / a) / a))
    circuit = Circuit(q, LimitValve(opens, a), None, Passage(quadratic=k), limb=Passage())
    assert steady_reading(circuit, held=False) == pytest.approx(x * x, rel=1e-6)


def test_peep_by_its_formula():
    """PEEP = k Q^2: 5 at 8 L/min is k 0.078."""
    assert aperture_for(5, 8).quadratic == pytest.approx(0.078, abs=5e-4)
    assert peep(8, aperture_for(5, 8)) == pytest.approx(5, rel=1e-12)


@given(FLOWS, st.floats(0.02, 1), st.floats(0.02, 3))
def test_peep_with_a_leak_has_its_closed_form(flow, k, leak):
    """Conductances 1/sqrt(k) add; the root of the balance agrees to a millionth."""
    circuit = Circuit(flow, None, None, Passage(quadratic=k), Passage(), leak_of(leak))
    wanted = peep(flow, Passage(quadratic=k), Passage(quadratic=leak))
    assert steady_reading(circuit, held=False) == pytest.approx(wanted, rel=1e-6)


@given(FLOWS, st.floats(5, 20), st.floats(20.1, 40), st.floats(0.1, 2), st.floats(0.1, 2))
def test_two_linear_valves_open_share_the_flow(flow, one, two, a, b):
    """(Q + P_p/a + P_r/b)/(1/a + 1/b) while both are open, else the first valve's own line."""
    circuit = Circuit(flow, LimitValve(one, a), LimitValve(two, b), limb=Passage())
    both = (flow + one / a + two / b) / (1 / a + 1 / b)
    alone = one + a * flow
    wanted = both if alone > two else alone
    assert steady_reading(circuit, held=True) == pytest.approx(wanted, rel=1e-6)


def test_pip_in_the_ideal_limit_is_the_lowest_curve():
    """Valve, relief and leak: whichever is lowest at the flow."""
    valves = [LimitValve(15, 0.5), LimitValve(30, 0.5)]
    assert pip(8, valves) == 19
    assert pip(8, valves, Passage(quadratic=0.1)) == pytest.approx(6.4)


def test_time_constants_by_their_formulas():
    """The aperture adds 75 cmH2O/(L/s) at PEEP 5 and 8 L/min; a linear valve adds its own."""
    lung = Lung(1, 40)
    assert emptying_time_constant(lung, 5, 8) == pytest.approx(0.115, rel=1e-9)
    assert emptying_time_constant(lung, 5, 15) == pytest.approx(0.080, rel=1e-9)
    assert refill_time_constant(lung, LimitValve(14, 0.5)) == pytest.approx(0.070, rel=1e-9)


def test_after_three_time_constants_95_percent_have_left():
    """A definition, held as one: what is left is exp(-3)."""
    breath = periodic_breath(1, 1, 0, (100, 0.1), (0.3, 0.1))
    assert 1 - breath.excess == pytest.approx(0.950, abs=1e-3)


@given(
    st.floats(0.3, 3), st.floats(10, 40), st.floats(0.2, 1), st.floats(0.2, 2), st.floats(0.05, 0.5)
)
def test_the_periodic_breath_repeats_itself(compliance, rise, ti, te, tau):
    """Filling from its end-expiratory pressure and emptying again leads back to it."""
    breath = periodic_breath(compliance, 5 + rise, 5, (ti, tau), (te, tau * 1.5))
    full = 5 + rise + (breath.end_expiratory - 5 - rise) * math.exp(-ti / tau)
    empty = 5 + (full - 5) * math.exp(-te / tau / 1.5)
    assert breath.end_inspiratory == pytest.approx(full, rel=1e-9)
    assert breath.end_expiratory == pytest.approx(empty, rel=1e-9)
    assert breath.tidal_volume == pytest.approx(compliance * (full - empty), rel=1e-6, abs=1e-9)
    assert breath.trapped_volume == pytest.approx(compliance * (empty - 5), rel=1e-6, abs=1e-9)
    assert empty <= breath.mean_alveolar <= full


@given(
    st.floats(0.3, 3), st.floats(10, 40), st.floats(0.2, 1), st.floats(0.2, 2), st.floats(0.05, 1)
)
def test_a_resistance_that_is_the_same_both_ways_shifts_no_mean_pressure(c, rise, ti, te, tau):
    """What flows in flows out, so that over a breath no pressure is lost in a linear airway."""
    breath = periodic_breath(c, 5 + rise, 5, (ti, tau), (te, tau))
    assert breath.mean_alveolar == pytest.approx(breath.mean_at_t, rel=1e-9)


def test_mean_alveolar_pressure_is_the_mean_of_the_curve():
    """The closed form against the curve summed in small steps."""
    breath = periodic_breath(1, 20, 5, (0.5, 0.1), (0.7, 0.2))
    n = 20000
    rising = (20 - (20 - breath.end_expiratory) * math.exp(-(i + 0.5) / n * 5) for i in range(n))
    falling = (5 + (breath.end_inspiratory - 5) * math.exp(-(i + 0.5) / n * 3.5) for i in range(n))
    mean = (sum(rising) * 0.5 + sum(falling) * 0.7) / n / 1.2
    assert breath.mean_alveolar == pytest.approx(mean, rel=1e-6)


@pytest.mark.parametrize(
    ("diameter", "linear", "quadratic"),
    [(2.0, 67, 1524), (2.5, 27.5, 624), (3.0, 13.3, 301), (3.5, 7.2, 162)],
)
def test_a_tubes_resistance_comes_from_its_bore(diameter, linear, quadratic):
    """Laminar in the bore, a loss at the ends: computed, not a measured table."""
    tube = Tube(diameter)
    assert tube.linear == pytest.approx(linear, rel=0.005)
    assert tube.quadratic == pytest.approx(quadratic, rel=0.005)


@given(st.floats(0, 60), st.floats(0.3, 3), st.floats(0, 0.1), st.floats(0, 30))
def test_recoil_and_volume_are_each_others_inverse(recoil, compliance, factor, above):
    """The volume at a recoil pressure recoils with that pressure, stiffening or not."""
    lung = Lung(compliance, 40, None, Stiffening(factor, above))
    assert lung.recoil(lung.volume(recoil)) == pytest.approx(recoil, rel=1e-6, abs=1e-9)
