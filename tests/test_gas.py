"""Gas: cylinders with a named factor, blenders, and pressures exact in every unit."""

from __future__ import annotations

from fractions import Fraction

import pytest
import scipy.constants as constants
from hypothesis import example, given
from hypothesis import strategies as st

from workbook.core import quantities as units
from workbook.rules import Basis, RuleError
from workbook.rules.checkinput import InputError
from workbook.rules.files import file
from workbook.rules.gas import UNITS, blend, cylinder, exactly, mixed, pressures


@pytest.mark.parametrize(
    ("size", "psi", "reserve", "flow", "minutes"),
    [
        # worked examples of respiratory care teaching pages
        ("E", 1200, 200, 4, 70),
        ("E", 2200, 0, 2, 308),
        ("D", 2000, 200, 0.5, 576),
        ("H", 1100, 0, 5, 690.8),
        # arithmetic with the published factors: transport at 10 L/min of pure oxygen
        ("E", 2200, 200, 10, 56),
        ("E", 2200, 0, 10, 61.6),
        ("D", 2200, 200, 10, 32),
        ("E", 500, 0, 6, 23.33),
    ],
)
def test_a_cylinder_lasts_as_long_as_worked_examples_say(size, psi, reserve, flow, minutes):
    """(Gauge - reserve) times the factor, divided by the flow."""
    made = cylinder(size, f"{psi} psi", reserve=f"{reserve} psi")
    assert made.minutes(f"{flow} L/min") == pytest.approx(minutes, abs=0.1)


def test_another_published_factor_is_named_and_its_answer_shown():
    """Size E: 0.28 or 0.35 (660 L at 1900 psi); size H: 3.14 or 3."""
    said = cylinder("E", "500 psi", reserve="0 psi").told("6 L/min")
    assert "0.28 L for each psi: 23 min" in said
    assert "With 0.35 L for each psi: 29 min" in said
    other = cylinder("H", "1100 psi", reserve="0 psi", factor="cylinder.H.other")
    assert other.minutes("5 L/min") == pytest.approx(660)
    assert "lasts less long than computed" in said


def test_the_reserve_is_never_assumed():
    """Leaving it out is an error of the call; one above the gauge is refused in words."""
    with pytest.raises(TypeError):
        cylinder("E", "1200 psi")
    with pytest.raises(RuleError, match="reserve, 1300 psi, is above the gauge, 1200 psi"):
        cylinder("E", "1200 psi", reserve="1300 psi")
    said = cylinder("E", "1200 psi", reserve="200 psi").told("4 L/min")
    assert "with a reserve of 200 psi" in said


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: cylinder("Q", "1200 psi", reserve="0 psi"), "'Q' is not a cylinder size"),
        (lambda: cylinder("E", "1200", reserve="0 psi"), "1200 has no unit.*mean 1200 psi?"),
        (lambda: cylinder("E", "9000 psi", reserve="0 psi"), "did you mean 9000 kPa"),
        (lambda: cylinder("E", "1200 psi", reserve="0 psi", factor="cylinder.H"),
         "not a factor of size E; there are cylinder.E, cylinder.E.other"),
        (lambda: blend("10 L/min", "15 percent"), "nearest allowed is 21 %"),
        (lambda: mixed(-1, 2), "neither is below zero"),
        (lambda: exactly(1, "furlong", "psi"), "'furlong' is not a unit of pressure here"),
    ],
)  # fmt: skip
def test_a_mistake_is_answered_in_one_sentence(ask, says):
    """Each names the value and what there is."""
    with pytest.raises(RuleError, match=says):
        ask()


def test_what_is_left_after_a_time_agrees_with_how_long_it_lasts():
    """After the whole duration exactly the reserve is left; soon after, nothing."""
    made = cylinder("E", "1200 psi", reserve="200 psi")
    assert made.after("70 min", "4 L/min") == pytest.approx(200)
    assert made.after("0 min", "4 L/min") == 1200
    with pytest.raises(RuleError, match="empty after 84 min"):
        made.after("85 min", "4 L/min")


@pytest.mark.parametrize(
    ("share", "oxygen", "air", "ratio"),
    # mixing law with air counted as 21 %: 10 L/min in all
    [(25, 0.506, 9.494, 18.75), (30, 1.139, 8.861, 7.78), (40, 2.405, 7.595, 3.158),
     (60, 4.937, 5.063, 1.026), (100, 10, 0, 0)],
)  # fmt: skip
def test_a_blender_mixes_by_the_law_of_shares(share, oxygen, air, ratio):
    """Oxygen is flow times (share - 21) over 79; the rest is air."""
    made = blend("10 L/min", f"{share} percent")
    assert made.oxygen == pytest.approx(oxygen, abs=1e-3)
    assert made.air_flow == pytest.approx(air, abs=1e-3)
    assert made.ratio == pytest.approx(ratio, abs=5e-3)
    assert "air counted as 21 % oxygen" in made.text


def test_air_alone_needs_no_oxygen():
    """At 21 % the ratio is without end, and says so as infinity."""
    made = blend("10 L/min", "21 percent")
    assert made.oxygen == 0
    assert made.ratio == float("inf")


def test_a_cylinder_of_oxygen_lasts_longer_behind_a_blender():
    """Size E, 2000 psi above reserve, 30 %: 560 L over 1.139 L/min is 492 min."""
    drawn = blend("10 L/min", "30 percent").oxygen
    made = cylinder("E", "2200 psi", reserve="200 psi")
    assert made.minutes(f"{drawn!r} L/min") == pytest.approx(492, abs=0.5)


@example(1.7528964010149508, 100.0)  # whose air came to less than none by a rounding
@given(st.floats(1, 20), st.floats(21, 100))
def test_mixing_undoes_blending(flow, share):
    """The two flows of a blend meet again as the share they were made for."""
    made = blend(f"{flow!r} L/min", f"{share!r} percent")
    assert mixed(made.oxygen, made.air_flow) == pytest.approx(share)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (1, "cmH2O", "hPa", "0.980665"),  # 98.0665 Pa: 1000 kg/m3 times standard gravity, SP 811
        (1, "mmHg", "hPa", "1.33322387415"),  # conventional millimetre of mercury, SP 811
        (1, "kPa", "mbar", "10"),
        (1, "hPa", "mbar", "1"),
        (30, "cmH2O", "hPa", "29.41995"),
        (40, "cmH2O", "hPa", "39.2266"),
    ],
)
def test_a_pressure_is_exact_in_another_unit(value, unit, to, expected):
    """Not nearly: the very decimal number."""
    assert exactly(value, unit, to) == Fraction(expected)


@pytest.mark.parametrize(
    ("unit", "expected", "tolerance"),
    [("mmHg", 1.35951, 1e-5), ("psi", 70.30696, 1e-4), ("kPa", 10.19716, 1e-5),
     ("mbar", 1.019716, 1e-6)],
)  # fmt: skip
def test_one_of_each_unit_in_centimetres_of_water(unit, expected, tolerance):
    """Computed from the definitions of NIST SP 811."""
    assert float(exactly(1, unit, "cmH2O")) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("to", UNITS)
def test_every_conversion_agrees_with_pint(unit, to):
    """Pint is the outside reference."""
    assert float(exactly(25, unit, to)) == pytest.approx(units.convert(25, unit, to), rel=1e-8)


@pytest.mark.parametrize(
    ("unit", "pascal"),
    [("mmHg", constants.mmHg), ("psi", constants.psi), ("bar", constants.bar),
     ("cmH2O", 10 * constants.g)],
)  # fmt: skip
def test_units_that_scipy_knows_have_the_same_size(unit, pascal):
    """scipy.constants, and standard gravity for the centimetre of water."""
    assert float(exactly(1, unit, "hPa")) * 100 == pytest.approx(pascal, rel=2e-7)


@given(st.floats(0.01, 5000), st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_there_and_back_is_the_same_number(value, unit, to):
    """No digit is lost on the way."""
    there = exactly(value, unit, to)
    assert there * exactly(1, to, unit) == exactly(value, unit, unit)


def test_one_pressure_is_told_in_every_unit_with_its_definition():
    """The conventional centimetre of water is named; the one at 4 degrees is not used."""
    said = {rule.unit: rule for rule in pressures(50, "psi")}
    assert set(said) == set(UNITS)
    assert said["kPa"].value == pytest.approx(344.74, abs=5e-3)
    assert "conventional" in said["cmH2O"].says
    other = file("gas")["unit.cmH2O-4C"]
    assert other.citation.basis is Basis.MEMORY
    assert float(exactly(1, "cmH2O", "hPa")) / other.value == pytest.approx(1.00003, abs=1e-5)


def test_a_flow_given_as_a_pressure_is_refused():
    """The sentence says what was wanted."""
    with pytest.raises(InputError, match="4 psi is not a flow"):
        cylinder("E", "1200 psi", reserve="0 psi").minutes("4 psi")
