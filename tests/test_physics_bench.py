"""What the bench must be able to show: each phenomenon with its numbers."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.physics_base import BASE, LUNG, TWO
from workbook.physics import (
    Action,
    Circuit,
    Effort,
    Lung,
    Tube,
    breaths,
    leak_of,
    set_peep,
    set_pip,
    set_relief,
    settled_auto_peep,
    settled_breath,
    simulate,
    simulate_many,
    steady_reading,
    steady_state,
)
from workbook.physics.breaths import inflations


def test_the_needle_jumps_to_pip_and_falls_to_peep_not_to_zero():
    """Base case: 19.9 of 20 after half a second, then 5.3; the lung takes 14.9 mL."""
    breath = breaths(simulate(BASE, LUNG, TWO[:2], 3), TWO[:2])[0]
    assert breath.pip == pytest.approx(20, abs=0.1)
    assert breath.peep == pytest.approx(5.3, abs=0.05)
    assert breath.tidal_volume == pytest.approx(14.9, abs=0.1)


@pytest.mark.parametrize(("compliance", "volume"), [(0.3, 4.5), (0.6, 9.0), (1.0, 14.9)])
def test_the_same_pip_fills_a_softer_lung_more(compliance, volume):
    """Tidal volumes at 20/5 while neither supply nor time limits them."""
    breath = settled_breath(BASE, Lung(compliance, 40), 50, 0.5)
    assert breath.tidal_volume == pytest.approx(volume, abs=0.1)


def test_supply_and_time_limit_a_soft_lung():
    """At C 3 the needle stays short of PIP and the volume far short of C times pressure."""
    breath = settled_breath(BASE, Lung(3, 40), 50, 0.5)
    assert breath.pip < 19.2
    assert breath.tidal_volume < 0.8 * 3 * 15


@pytest.mark.parametrize(
    ("k", "pip", "peep"), [(0.6, 16.0, 3.0), (0.3, 14.9, 2.5), (0.18, 11.1, 2.1), (0.1, 6.6, 1.7)]
)
def test_a_leak_lowers_both_pressures(k, pip, peep):
    """The needle never reaches the setting, and PEEP falls too."""
    breath = settled_breath(replace(BASE, leak=leak_of(k)), LUNG, 50, 0.5)
    assert breath.pip == pytest.approx(pip, abs=0.1)
    assert breath.peep == pytest.approx(peep, abs=0.05)


def test_a_large_leak_still_fills_the_lung_nearly():
    """Three quarters of the gas leak and the volume is still 13 of 15 mL: a late sign."""
    breath = settled_breath(replace(BASE, leak=leak_of(0.6)), LUNG, 50, 0.5)
    assert breath.leak_percent > 70
    assert breath.tidal_volume == pytest.approx(13.1, abs=0.1)


@pytest.mark.parametrize(
    ("rate", "alveolar", "volume"), [(40, 7.7, 32), (70, 9.9, 21), (110, 11.2, 14)]
)
def test_a_fast_rate_traps_gas(rate, alveolar, volume):
    """C 3 behind a 3.0 mm tube, as long in as out: the lung no longer empties."""
    breath = settled_breath(BASE, Lung(3, 40, Tube(3)), rate, 30 / rate)
    assert breath.end_expiratory_alveolar == pytest.approx(alveolar, abs=0.1)
    assert breath.tidal_volume == pytest.approx(volume, abs=0.5)


def test_a_blocked_outlet_without_any_limit_rises_in_a_straight_line():
    """Pressure rises at Q/(C + Cc), once the lung keeps up with the circuit."""
    bare = Circuit(8, None, None, BASE.aperture)
    trace = simulate(bare, LUNG, [Action(0, "occlude")], 1)
    low, high = trace.at((0.4, 0.9))
    assert (high - low) / 0.5 == pytest.approx(8000 / 60 / 1.1, rel=1e-3)


def test_relief_and_pip_hold_a_blocked_outlet():
    """After half a second: 70 with no limit, 39.7 with the relief, 19.9 with both."""
    shut = [Action(0.0, "occlude")]
    bare = Circuit(8, None, None, BASE.aperture)
    seen = [
        simulate(each, LUNG, shut, 0.5).manometer[-1]
        for each in (bare, replace(bare, relief_valve=BASE.relief_valve), BASE)
    ]
    assert seen == pytest.approx([70, 39.7, 19.9], abs=0.5)


def test_a_turn_while_held_is_one_long_inflation_at_rising_pressure():
    """PIP turned from 20 to 30 over 4 s held: the needle climbs the whole way."""
    actions = [
        Action(0.5, "occlude"),
        Action(1.0, "pip", BASE.pip_valve.opens_at + 10, 4.0),
        Action(5.15, "release"),
    ]
    trace = simulate(BASE, LUNG, actions, 7)
    needle = trace.at([1, 2, 3, 4, 5.1])
    assert needle == pytest.approx([20, 22.4, 24.9, 27.4, 29.9], abs=0.3)
    assert len(breaths(trace, actions)) == 1


def test_an_aperture_already_held_is_not_held_again():
    """Occluded twice before it is released, it is one inflation, from the first on."""
    twice = [Action(0.5, "occlude"), Action(1.0, "occlude"), Action(1.5, "release")]
    assert inflations(twice) == [(0.5, 1.5)]
    assert inflations([*twice, Action(2.0, "release")]) == [(0.5, 1.5)]


def test_off_the_baby_the_gauge_falls_and_the_lung_empties():
    """Open to air almost nothing is read; capped it reads as set up; the lung goes to zero."""
    actions = [Action(0.5, "open"), Action(1.5, "cap"), Action(2.5, "occlude")]
    trace = simulate(BASE, LUNG, actions, 3.5)
    assert trace.at((1.4, 2.4, 3.4)) == pytest.approx(
        [steady_reading(BASE, held=False, outlet="open"), 5.3, 20.0], abs=0.02
    )
    assert trace.volume[-1] == pytest.approx(0, abs=0.01)


def test_breathing_swings_the_pressure_less_at_more_flow():
    """An effort of 6 swings the T by 3.5 at 8 L/min and by less at 12, PEEP being the same."""
    swings = []
    for flow in (8, 12):
        circuit = set_peep(set_pip(set_relief(Circuit(flow), 40), 20), 5.3)
        trace = simulate(circuit, LUNG, (), 6, effort=Effort(6, 50, 0.4))
        i = trace.between(3, 6)[0]
        swings.append(max(trace.pressure_t[i:]) - min(trace.pressure_t[i:]))
    assert swings[1] < swings[0] < 6


def test_many_cases_give_what_each_gives_alone():
    """A batch is its cases, in order."""
    lungs = [Lung(0.5, 50), Lung(2, 40)]
    made = simulate_many([BASE, BASE], lungs, [60, 40], [0.4, 0.5])
    assert made == [
        settled_breath(BASE, lungs[0], 60, 0.4),
        settled_breath(BASE, lungs[1], 40, 0.5),
    ]


@pytest.mark.parametrize("rate", [40, 60, 110])
@pytest.mark.parametrize("lung", [Lung(0.5, 50), Lung(3, 40), Lung(3, 40, Tube(2.5))])
def test_the_settled_breath_is_where_breathing_on_and_on_leads(lung, rate):
    """A hundred breaths end with the gas in the lung that the settled breath has."""
    held = 20 / rate
    begins = [n * 60 / rate for n in range(100)]
    actions = [Action(time, "occlude") for time in begins]
    actions += [Action(time + held, "release") for time in begins]
    end = simulate(BASE, lung, actions, 100 * 60 / rate).end
    rest = steady_state(BASE, held=False).at_t
    left = settled_auto_peep(BASE, lung, rate, held)
    assert left == pytest.approx(lung.recoil(end.volume) - rest, rel=1e-3, abs=1e-3)
    assert settled_breath(BASE, lung, rate, held).auto_peep == pytest.approx(
        left, rel=1e-3, abs=1e-3
    )


def test_breaths_add_up():
    """Mean pressures lie between PEEP and PIP, and what went in comes out once settled."""
    breath = settled_breath(BASE, LUNG, 50, 0.5)
    assert breath.peep < breath.mean_airway < breath.pip
    assert breath.volume_in == pytest.approx(breath.volume_out, rel=1e-3)
    assert breath.inflation_time + breath.expiration_time == pytest.approx(1.2)
    assert breath.leak_percent == pytest.approx(0, abs=0.1)
