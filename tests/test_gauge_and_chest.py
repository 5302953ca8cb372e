"""Reading a needle, predicting it, and telling a leak from a block by gauge and chest."""

from __future__ import annotations

from collections import Counter

import pytest

from graders.marking.exercise import mark
from graders.units.targets.marks import needle_slips
from tests.drawn_targets import cases, drawn
from workbook.bench import circuit_at
from workbook.core.quantities import convert
from workbook.physics import Lung, settled_breath
from workbook.rules import rulebook
from workbook.units.targets.case import predictions, seal
from workbook.units.targets.case.questions import needles

pytestmark = pytest.mark.slow

BOOK = rulebook()


def reading(id: str, text: str, unit: str, n: int = 0):
    return mark(drawn(n), id, {"text": text, "unit": unit}, BOOK).findings[0]


def test_a_needle_counts_to_within_one_and_a_careful_eye():
    """One cmH2O beside the needle is right, and what an eye is off by; a whole mark is not."""
    stands, mark_apart = drawn()["gauge"].facts["value"], BOOK["gauge.mark"].value
    eye = BOOK["gauge.accept"].value + BOOK["tolerance.read"].value
    assert eye < mark_apart
    assert reading("gauge", f"{stands + 1}", "cmH2O").met
    assert reading("gauge", f"{stands + eye}", "cmH2O").met
    assert not reading("gauge", f"{stands + eye + 0.1}", "cmH2O").met
    assert not reading("gauge", f"{stands + mark_apart}", "cmH2O").met
    assert reading("gauge", f"{(stands - 0,)}".strip("(),"), "cmH2O").met


@pytest.mark.parametrize("unit", ["hPa", "kPa", "mmHg"])
def test_a_reading_counts_in_any_unit_of_pressure(unit):
    """Whoever reads in another unit is right; the number of one unit in another is told as that."""
    stands = drawn()["gauge"].facts["value"]
    right = convert(stands, "cmH2O", unit)
    assert reading("gauge", f"{right:.3f}".replace(".", ","), unit).earned == 1
    if unit != "hPa":
        other = reading("gauge", f"{stands}", unit)
        assert other.earned == 0
        assert "would be right in cmH2O" in other.says


def test_misread_marks_can_be_told_from_a_right_reading():
    """No needle stands where a misread scale gives a reading that counts."""
    accept = BOOK["gauge.accept"].value
    assert len(needles(BOOK)) >= 6
    for stands in needles(BOOK):
        assert stands % BOOK["gauge.mark"].value != 0
        slips = list(needle_slips(stands, BOOK).values())
        assert all(abs(slip - stands) > accept for slip in slips)
        assert abs(slips[0] - slips[1]) > accept


def test_choices_of_a_prediction_can_be_told_apart():
    """Any two pairs differ by at least what the rule asks, in PIP or in PEEP."""
    apart = BOOK["predict.apart"].value
    for each in cases()[:100]:
        for id in (*predictions.TURNS, predictions.LEAK):
            pairs = [tuple(map(float, o.id.split("-"))) for o in each[id].options]
            for n, one in enumerate(pairs):
                assert all(
                    max(abs(one[0] - two[0]), abs(one[1] - two[1])) >= apart for two in pairs[:n]
                )


def test_the_chest_moves_as_the_model_breathes():
    """The first inflation agrees with a breath that repeats itself; a large one less so."""
    for each in cases()[:15]:
        for id in seal.QUESTIONS:
            facts = each[id].facts
            at = {**predictions.positions(facts), "leak": facts["leak"]}
            lung = Lung(facts["compliance"], seal.c.AIRWAY.value)
            breath = settled_breath(circuit_at(at), lung, facts["rate"], 20 / facts["rate"])
            told = seal.volume(facts) * facts["kg"]
            # A large lung has not quite emptied when the next inflation comes.
            near = 0.25 if seal.found(facts, BOOK) == "over" else 0.1
            assert told == pytest.approx(breath.tidal_volume, rel=near, abs=0.1)


def test_the_picture_shows_what_the_model_does():
    """A leak stays short of PIP, the others reach it; the chest line has the model's volume."""
    seen = Counter()
    for each in cases()[:100]:
        kinds = [seal.found(each[id].facts, BOOK) for id in seal.QUESTIONS]
        seen.update(kinds)
        assert len(set(kinds)) == 3
        for id, kind in zip(seal.QUESTIONS, kinds, strict=True):
            figure, facts = each[id].shows["figure"], each[id].facts
            top, chest = max(figure["pressure"]), figure["chest"]
            assert (top < facts["pip"] - 1.5) == (kind == "leak")
            taken = seal.volume(facts)
            assert max(chest["volume"]) == pytest.approx(taken, rel=0.25, abs=0.1)
            assert len(chest["volume"]) == len(figure["time"])
            flat = seal.moves(facts, BOOK) == "still"
            assert ("stays flat" in chest["says"]) == flat
    assert set(seen) == set(seal.KINDS)


def test_the_chest_is_told_as_it_is_seen_and_not_as_what_it_means():
    """Neither the question nor the picture's words say how the chest moves in a diagnosis."""
    for each in cases()[:60]:
        for id in seal.QUESTIONS:
            told = each[id].context + each[id].shows["figure"]["chest"]["says"]
            assert not any(
                word in told for word in ("leak", "block", "stiff", "too little", "much")
            )
