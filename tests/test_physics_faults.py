"""Faults as physics: the signs of each, worked out beforehand, and what tells look-alikes apart.

The table below was worked out once, by hand-made changes of the circuit at 8 L/min, 25/5, relief
30 and a lung of 1 mL/cmH2O, and typed from there; `workbook.physics.faults` makes the changes.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from workbook.physics import (
    Action,
    Circuit,
    Lung,
    Passage,
    Record,
    set_peep,
    set_pip,
    set_relief,
    simulate,
    steady_reading,
)
from workbook.physics import coefficients as c
from workbook.physics.faults import FAULTS, NONE, Fault

pytestmark = pytest.mark.slow

SET = set_peep(set_pip(set_relief(Circuit(8), 30), 25), 5)
LUNG = Lung(1.0, c.AIRWAY.value)
RATE = 50

# fault: needle at rest, held, with the mask off (cmH2O); volume of a breath (mL), None: not typed
SIGNS = {
    "none": (5.0, 25.0, 0.4, 20),
    "no-gas": (0.0, 0.0, 0.0, 0),
    "gas-fading": (0.8, 21.7, 0.1, None),
    "hose-off": (0.0, 0.0, 0.0, 0),
    "outlet-open": (0.4, 0.4, 0.4, 0),
    "leak-some": (4.0, 23.7, 0.4, None),
    "leak-large": (1.7, 6.7, 0.4, None),
    "cap-under-finger": (0.6, 25.0, 0.3, None),
    "cap-beside-finger": (1.7, 6.7, 0.3, None),
    "hole-narrow": (22.8, 25.0, 0.4, 2),
    "hose-kinked": (12.7, 25.0, 8.1, 19),
    "hose-blocked": (25.0, 25.0, 25.0, 0),
    "relief-low": (5.0, 20.0, 0.4, 15),
    "pip-fails": (5.0, 30.0, 0.4, None),
    "limits-fail": (5.0, math.inf, 0.4, None),
    "needle-off-zero": (8.0, 28.0, 3.4, 20),
    "gauge-blocked": (0.0, 0.0, 0.0, 20),
    "airway-blocked": (5.0, 25.0, 0.4, None),
    "lung-stiff": (5.0, 25.0, 0.4, 10),
}


def shown(fault: Fault, circuit: Circuit, *, held: bool, outlet: str = "capped") -> float:
    """Return what the needle shows of a fault."""
    at = steady_reading(fault.circuit(circuit), held=held, outlet=outlet)  # type: ignore[arg-type]
    return fault.gauge(circuit).reads(at)


def breath(fault: Fault, circuit: Circuit = SET, lung: Lung = LUNG) -> float:
    """Return the volume (mL) of the eighth breath at the rate, one beat of three held."""
    length = 60 / RATE
    starts = [length * (n + 0.5) for n in range(8)]
    acts = [a for s in starts for a in (Action(s, "occlude"), Action(s + length / 3, "release"))]
    trace = simulate(fault.circuit(circuit), fault.lung(lung), acts, length * 8.5)
    before, after = trace.at([starts[-1], starts[-1] + length / 3], "volume")
    return after - before


@pytest.mark.parametrize("name", SIGNS)
def test_signs_of_a_fault_are_those_worked_out(name: str) -> None:
    """To the last digit that was typed."""
    fault = FAULTS.get(name, NONE)
    rest, held, off, volume = SIGNS[name]
    assert shown(fault, SET, held=False) == pytest.approx(rest, abs=0.05)
    assert shown(fault, SET, held=True) == pytest.approx(held, abs=0.05)
    assert shown(fault, SET, held=False, outlet="open") == pytest.approx(off, abs=0.05)
    if volume is not None:
        assert breath(fault) == pytest.approx(volume, abs=0.5)


def test_every_fault_but_one_is_in_the_table() -> None:
    """A needle that sticks shows what it showed before."""
    assert set(FAULTS) - set(SIGNS) == {"needle-sticks"}


def test_leak_crack_hole_and_kink_are_as_large_as_was_designed() -> None:
    """By sharp openings' own law: 20 = 5 x 2^2, 10 = 0.1 x 10^2, 8 = 2 x 2^2; a kink is linear."""
    made = {name: fault.circuit(SET) for name, fault in FAULTS.items()}
    assert made["leak-some"].leaked(20) == pytest.approx(2)
    assert made["leak-large"].leaked(10) == pytest.approx(10)
    wide = SET.aperture.quadratic / made["cap-under-finger"].aperture.quadratic
    assert wide == pytest.approx(4**2)  # four times as wide lets through four times as much
    assert made["hole-narrow"].aperture.drop(2) == pytest.approx(8)
    assert made["hose-kinked"].limb.drop(8) == pytest.approx(8)


def test_a_low_relief_stops_the_needle_and_does_not_follow_pip() -> None:
    """The test that separates it: PIP is turned and the needle stays."""
    low = [shown(FAULTS["relief-low"], set_pip(SET, pip), held=True) for pip in (25, 27, 29)]
    assert low == pytest.approx([20, 20, 20], abs=0.05)


def test_a_needle_that_sticks_stands_where_it_was_held() -> None:
    """Whatever the gas does, also where nothing limits the pressure."""
    for outlet in ("capped", "open"):
        for held in (True, False):
            assert shown(FAULTS["needle-sticks"], SET, held=held, outlet=outlet) == pytest.approx(
                25
            )
    free = replace(SET, pip_valve=None, relief_valve=None)
    assert FAULTS["needle-sticks"].gauge(free).reads(0) == c.GAUGE_TOP.value


# (one, other, what is looked at): the test that tells two look-alikes apart
LOOK_ALIKES = [
    ("cap-beside-finger", "leak-large", "the outlet capped: a mask that leaks is off"),
    ("hole-narrow", "hose-kinked", "mask off"),
    ("hole-narrow", "hose-blocked", "mask off"),
    ("needle-sticks", "hole-narrow", "mask off"),
    ("needle-sticks", "hose-blocked", "chest"),
    ("gauge-blocked", "no-gas", "chest"),
    ("pip-fails", "none", "needle held"),
    ("cap-under-finger", "none", "needle at rest"),
    ("leak-some", "cap-under-finger", "needle at rest"),
    ("airway-blocked", "none", "chest"),
    ("needle-off-zero", "none", "gas off"),
]


@pytest.mark.parametrize(("one", "other", "by"), LOOK_ALIKES)
@pytest.mark.parametrize("flow", [6, 8, 10])
@pytest.mark.parametrize("pip", [20, 25, 28])
def test_look_alikes_are_told_apart_by_their_test(
    one: str, other: str, by: str, flow: float, pip: float
) -> None:
    """Needles differ by a whole mark of 2 cmH2O or more, chests by half of a right breath."""
    stands = set_peep(set_pip(set_relief(Circuit(flow), pip + 5), pip), 5)
    faults = [FAULTS.get(name, NONE) for name in (one, other)]
    if by == "chest":
        lung = Lung(1.0, c.AIRWAY.value)
        volumes = [breath(fault, stands, lung) for fault in faults]
        assert abs(volumes[0] - volumes[1]) > 0.5 * breath(NONE, stands, lung)
        return
    seen = []
    for fault in faults:
        gas = stands.at(0.0) if by == "gas off" else stands
        outlet = "open" if by == "mask off" else "capped"
        held = by in ("needle held", "the outlet capped: a mask that leaks is off")
        made = fault.circuit(gas)
        if by.startswith("the outlet capped"):
            made = replace(made, leak=None)  # a cap on the T leaves the mask out
        seen.append(fault.gauge(gas).reads(steady_reading(made, held=held, outlet=outlet)))  # type: ignore[arg-type]
    assert abs(seen[0] - seen[1]) >= 2


# --- the new part of the circuit: a crack at the T


def test_a_crack_and_the_aperture_are_two_sharp_openings_side_by_side() -> None:
    """Closed form: flows through sharp openings add up, k = (k1^-1/2 + k2^-1/2)^-2."""
    crack, hole = Passage(quadratic=0.3), Passage(quadratic=0.08)
    cracked = Circuit(8, aperture=hole, limb=Passage(), crack=crack)
    both = (hole.quadratic**-0.5 + crack.quadratic**-0.5) ** -2
    assert steady_reading(cracked, held=False) == pytest.approx(both * 64)
    assert steady_reading(cracked, held=True) == pytest.approx(crack.quadratic * 64)
    opening = cracked.opening(held=False)
    assert opening is not None
    assert opening.quadratic == pytest.approx(both)


def test_a_crack_lets_out_what_a_leak_of_its_size_would() -> None:
    """With the mask on, the two are the same to the gas: the trace is, too."""
    size = Passage(quadratic=0.3)
    acts = [Action(0.5, "occlude"), Action(1.0, "release")]
    cracked = simulate(replace(SET, crack=size), LUNG, acts, 2)
    leaked = simulate(replace(SET, leak=size), LUNG, acts, 2)
    times = [n / 50 for n in range(100)]
    assert cracked.at(times) == pytest.approx(leaked.at(times), abs=0.02)
    assert cracked.at(times, "volume") == pytest.approx(leaked.at(times, "volume"), abs=0.02)


def test_peep_is_set_with_a_crack_too() -> None:
    """By the gauge, as ever."""
    made = set_peep(replace(SET, crack=Passage(quadratic=1.0)), 4)
    assert steady_reading(made, held=False) == pytest.approx(4)
    with pytest.raises(ValueError, match="cannot reach"):
        set_peep(replace(SET, crack=Passage(quadratic=0.05)), 8)


def test_only_sharp_openings_stand_side_by_side() -> None:
    """Said, and not guessed."""
    odd = Circuit(8, aperture=Passage(1.0, 0.1), crack=Passage(quadratic=0.1))
    with pytest.raises(ValueError, match="sharp openings"):
        odd.opening(held=False)


def test_a_record_keeps_a_crack() -> None:
    """There and back."""
    record = Record(replace(SET, crack=Passage(quadratic=0.3)), LUNG, 1.0, ())
    assert Record.from_data(record.to_data()) == record
