"""What a person types about a baby or a device is read with its unit, or refused in words."""

from __future__ import annotations

import re

import pytest

from workbook.core.quantities import quantity
from workbook.rules import RuleError, rulebook
from workbook.rules.checkinput import InputError, grams, read, weeks
from workbook.rules.files import file


@pytest.mark.parametrize(
    ("what", "typed", "says"),
    [
        ("gestation", "196 week", "did you mean 196 days, which is 28 weeks?"),
        ("gestation", 196, "196 has no unit.*did you mean 196 days, which is 28 weeks?"),
        ("gestation", "28+9", "has 9 days"),
        ("gestation", "60 week", "the nearest allowed is 46 weeks"),
        ("weight", "1500", "1500 has no unit.*did you mean 1500 g?"),
        ("weight", "-1.5 kg", r"-1\.5 kg is not a weight.*did you mean 1\.5 kg"),
        ("weight", "1.5 g", r"did you mean 1\.5 kg, which is 1500 g?"),
        ("weight", "15000 g", "15000 g is not a weight.*200 to 7000 g.*nearest allowed is 7000 g"),
        ("pressure", "2.5 kPa", r"2\.5 kPa is not in a unit.*2\.5 kPa is 25\.49 cmH2O"),
        ("pressure", "25 kPa", "did you mean 25 cmH2O?"),
        ("pressure", "8 L/min", "8 L/min is not a pressure; write 0 to 60 cmH2O"),
        ("pressure", "25 furlong", "25 furlong is not a pressure"),
        ("pressure", "a lot", "'a lot' is not a pressure; write 0 to 60 cmH2O"),
        ("pressure", float("nan"), "not a number"),
        ("oxygen", "0.3 percent", "the nearest allowed is 21 %"),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_meant_is_refused_in_one_sentence(what, typed, says):
    """The sentence names the value, what is allowed and the nearest sensible reading."""
    with pytest.raises(InputError, match=says) as caught:
        read(what, typed)
    assert "\n" not in str(caught.value)
    assert not re.search(r"[.?] [A-Z]", str(caught.value))


@pytest.mark.parametrize("given", ["28+3", "28 3/7", "199 days", quantity(199, "day")])
def test_gestation_is_read_as_clinicians_write_it(given):
    """Weeks and days, days alone, and a quantity give the same weeks."""
    assert weeks(given) == pytest.approx(28 + 3 / 7)


@pytest.mark.parametrize("given", ["1.5 kg", "1,5 kg", "1500 g", quantity(1.5, "kg")])
def test_weight_is_read_with_its_unit(given):
    """Grams or kilograms, with a point or a comma."""
    assert grams(given) == 1500


def test_a_rule_is_not_found_for_a_baby_that_cannot_be():
    """Days typed as weeks do not pass for a term baby."""
    with pytest.raises(RuleError, match="did you mean 196 days, which is 28 weeks"):
        rulebook("erc-2021").find("pip.start", gestation=196)
    with pytest.raises(RuleError, match="did you mean 2 kg, which is 2000 g"):
        file("sizes").find("tube.weight", weight=2)
