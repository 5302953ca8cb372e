"""Face masks against published face lengths: a chance of fit, never beyond published weeks."""

from __future__ import annotations

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from workbook.rules import Basis, RuleError
from workbook.rules.files import file
from workbook.rules.sizes import mask, mask_fit


@pytest.mark.parametrize(
    ("week", "mean", "sd"), [(24, 32, 2), (26, 36, 3), (28, 38, 4), (30, 41, 2), (32, 43, 4)]
)
@pytest.mark.parametrize("diameter", [35, 42, 50])
def test_the_chance_that_a_mask_fits_agrees_with_scipy(week, mean, sd, diameter):
    """O'Shea 2016, 10.1136/archdischild, 101:F294: mean and SD of face length by gestation."""
    book = file("sizes")
    assert book.find("face.mean", gestation=week).value == mean
    assert book.find("face.sd", gestation=week).value == sd
    expected = 100 * scipy.stats.norm.sf(diameter, mean, sd)
    found = mask_fit(f"{diameter} mm", f"{week} week")["face.mean"]
    assert found.value == pytest.approx(expected, abs=0.051)
    assert found.citation.basis is Basis.COMPUTED


def test_between_published_weeks_the_face_is_interpolated_and_says_so():
    """29 weeks lies half-way between 38 (4) and 41 (2) mm."""
    found = mask_fit("42 mm", "29 week")["face.mean"]
    assert found.value == pytest.approx(100 * scipy.stats.norm.sf(42, 39.5, 3), abs=0.051)
    assert "interpolated" in found.population.says


@pytest.mark.parametrize("gestation", ["23+6", "32+1", "33 week", "42 week"])
def test_outside_published_weeks_there_is_no_chance(gestation):
    """No face length is made up beyond 24 to 32 and 34 to 41 weeks."""
    with pytest.raises(RuleError, match="there are 24 to 32 weeks and 34 to 41 weeks"):
        mask_fit("42 mm", gestation)


def test_a_term_face_is_measured_three_ways():
    """Haase 2020: 46.9 (5.1) flat, 49.9 (4.1) spatial; Haase 2024: 54 (3.3) at birth."""
    found = mask_fit("60 mm", "40 week")
    for id, mean, sd in (("2d", 46.9, 5.1), ("3d", 49.9, 4.1), ("term", 54, 3.3)):
        expected = 100 * scipy.stats.norm.sf(60, mean, sd)
        assert found[f"face.{id}.mean"].value == pytest.approx(expected, abs=0.051)
    assert len(mask_fit("60 mm", "35 week")) == 2


def test_the_published_mask_for_a_term_baby_is_50_and_never_60():
    """Haase 2020, 10.1136/archdischild-2019-317531: 50 mm fits 61 %, 60 mm is too large."""
    found = mask(gestation="40 week")
    assert [rule.value for rule in found] == [50]
    assert found["mask.share.50"].value == 61
    assert found["mask.too-large"].holds(60)
    assert not found["mask.too-large"].holds(50)


def test_a_baby_between_two_masks_is_shown_both():
    """O'Shea 2016: 35 mm below 29 weeks, 42 mm from 27 to 33 weeks; custom decides by the leak."""
    found = mask(gestation="28 week")
    assert {rule.value for rule in found} == {35, 42}
    assert "without leaking" in found["mask.between-sizes"].says
    assert [rule.value for rule in mask(gestation="30 week")] == [42]
    assert {rule.value for rule in mask("900 g")} == {35, 42}
    assert [rule.value for rule in mask(gestation="35 week")] == [42]


@given(st.floats(24, 32), st.floats(25, 60), st.floats(0.1, 10))
def test_a_larger_mask_is_never_more_likely_to_fit(age, diameter, more):
    """The chance falls as the mask grows, and stays between 0 and 100 %."""
    small, large = (
        mask_fit(f"{d} mm", f"{age!r} week")["face.mean"].value for d in (diameter, diameter + more)
    )
    assert 0 <= large <= small <= 100
