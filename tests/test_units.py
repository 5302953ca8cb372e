"""Units: one registry, exact conversions, plain words."""

from __future__ import annotations

import pytest
import scipy.constants as constants

from workbook.core import quantities as units


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected", "tolerance"),
    [
        # NIST SP 811: conventional centimetre of water, 98.0665 Pa
        (1, "cmH2O", "hPa", 0.980665, 1e-12),
        (1, "kPa", "cmH2O", 10.19716, 1e-5),
        (30, "cmH2O", "hPa", 29.42, 5e-3),
        # NIST SP 811: conventional millimetre of mercury, 133.322387415 Pa
        (1, "mmHg", "cmH2O", 1.35951, 1e-5),
        (1, "psi", "cmH2O", 70.30696, 1e-4),
        (50, "psi", "kPa", 344.74, 5e-3),
        (1, "L/min", "mL/s", 16.6667, 1e-4),
        # ISO 8836: one French is a third of a millimetre
        (6, "Fr", "mm", 2.0, 1e-12),
        (1, "inch", "mm", 25.4, 1e-12),
    ],
)
def test_conversions_agree_with_published_factors(value, unit, to, expected, tolerance):
    """Each conversion equals the published factor."""
    assert units.convert(value, unit, to) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(("unit", "pascal"), [("mmHg", constants.mmHg), ("psi", constants.psi),
                                              ("bar", constants.bar)])  # fmt: skip
def test_pressures_agree_with_scipy(unit, pascal):
    """Pressures that scipy knows have the same size here."""
    assert units.convert(1, unit, "hPa") * 100 == pytest.approx(pascal, rel=1e-6)


def test_every_unit_measures_what_the_table_says():
    """Each unit of the table is known to pint and has the dimension of its fellows."""
    first: dict[str, str] = {}
    for unit, measure in units.MEASURES.items():
        mine = units.quantity(1, unit)
        other = units.quantity(1, first.setdefault(measure, unit))
        assert mine.dimensionality == other.dimensionality, unit


def test_another_measure_is_refused_in_words():
    """A flow is not accepted where a pressure is wanted."""
    with pytest.raises(units.UnitError, match="measures flow, but pressure in cmH2O"):
        units.convert(8, "L/min", "cmH2O")


@pytest.mark.parametrize("text", ["", "cmH2O", "five cmH2O", "5 furlong"])
def test_a_text_that_is_no_quantity_is_refused(text):
    """Anything but a number and a known unit raises UnitError."""
    with pytest.raises(units.UnitError):
        units.quantity(text) if text != "5 furlong" else units.quantity(5, "furlong")


def test_values_are_said_as_a_person_would():
    """No trailing zeros, a per cent sign, a rate in words."""
    assert units.plain(25.0, "cmH2O") == "25 cmH2O"
    assert units.plain(4.5, "cmH2O") == "4.5 cmH2O"
    assert units.plain(21, "percent") == "21 %"
    assert units.plain(40, "1/min") == "40 a minute"
