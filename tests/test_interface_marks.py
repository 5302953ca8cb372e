"""Marking the sizing exercise: full marks, zero, each belief found alone, what could do harm."""

from __future__ import annotations

from typing import Any

import pytest

from graders.interface_right import pair
from graders.interface_sizing import CHOICES, CRITICAL, NUMBERS, POINTS, key
from graders.marking import mark, mark_all, model_answers, points
from graders.misconceptions import misconceptions
from graders.personas import answers_of, played, shows
from tests.sizing_base import BOOK, CASES, ONE, beliefs, total
from workbook.cases import spoken
from workbook.cases.interface_sizing import EXERCISE
from workbook.face import answer
from workbook.facemask import Face, Mask, best_masks, best_place
from workbook.rules import rulebook
from workbook.rules.files import file


def test_an_expert_earns_everything_and_a_blank_nothing():
    """For 100 cases: full marks and nothing unsafe; zero and a kind sentence."""
    for each in CASES:
        full = mark_all(each, model_answers(each, BOOK), BOOK)
        assert total(full) == sum(POINTS.values())
        assert not any(v.unsafe for v in full)
        assert not beliefs(full)
        blank = mark_all(each, {}, BOOK)
        assert total(blank) == 0
        assert {v.question for v in blank if v.unsafe} == set(CRITICAL)


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_is_the_one_named(belief):
    """In each of the cases the belief that was played is found, and no other."""
    cases = [each for each in CASES if shows(each, belief)]
    assert len(cases) > 30
    found = [beliefs(mark_all(c, answers_of(c, BOOK, belief), BOOK)) for c in cases]
    assert sum(each == {belief} for each in found) >= 0.99 * len(cases)
    assert total(mark_all(cases[0], answers_of(cases[0], BOOK, belief), BOOK)) < sum(
        POINTS.values()
    )


def test_every_misconception_can_be_played_and_rests_on_a_rule():
    """Nobody lists a belief that no answer can show, or that no rule contradicts."""
    own = {id: each for id, each in misconceptions().items() if each.unit == EXERCISE}
    assert set(played(EXERCISE)) == set(own)
    assert len(own) >= 8
    for each in own.values():
        assert each.rule in BOOK or each.rule in file("sizes"), each.id
        assert each.read.startswith(f"{EXERCISE}.ipynb, ")


def test_every_wrong_finding_carries_its_rule_and_source():
    """No learner is told they are wrong without the rule that says so."""
    for belief in played(EXERCISE):
        each = next(c for c in CASES if shows(c, belief))
        for verdict in mark_all(each, answers_of(each, BOOK, belief), BOOK):
            for finding in verdict.findings:
                assert "{" not in finding.says
                if not finding.met:
                    assert finding.rule
                    assert finding.source


def test_the_key_names_only_what_exists():
    """The marker's data speaks of questions, options and beliefs that are there."""
    for id, table in key()["shows"].items():
        options = {o.id for each in CASES for o in each[id].options}
        assert set(table) <= options, id
        assert set(table.values()) <= set(misconceptions())
    for id, harmful in key()["critical"].items():
        assert set(harmful) <= {o.id for each in CASES for o in each[id].options}
    assert set(key()["why"]) == set(CHOICES)
    assert set(key()["number"]) == set(NUMBERS)


def test_points_are_those_of_the_notebook():
    """Five for the mask on the face, one for every other question."""
    assert points(EXERCISE) == POINTS
    assert sum(POINTS.values()) == 20


# --- the mask on the face


def laid(each, **changed: Any):
    face = Face(each["mask-place"].facts["length"])
    best = best_place(face, best_masks(face)[0])
    made = {"diameter": best.diameter, "x": best.x, "y": best.y, "turn": 0.0} | changed
    return mark(each, "mask-place", answer(Mask(**made)), BOOK)


def test_a_mask_is_placed_right_with_a_millimetre_to_spare():
    """A hand that is half a millimetre off to any side, or ten degrees turned, loses nothing."""
    for each in CASES[:30]:
        face = Face(each["mask-place"].facts["length"])
        best = best_place(face, best_masks(face)[0])
        for x, y, turn in ((0.5, 0, 0), (-0.5, 0, 0), (0, 0.5, 0), (0, -0.5, 0), (0, 0, 10)):
            assert laid(each, x=x, y=best.y + y, turn=turn).earned == POINTS["mask-place"]


def test_a_mask_over_the_eyes_is_unsafe_whatever_else_is_right():
    """The finding says by how much, and is critical."""
    length = ONE["mask-place"].facts["length"]
    verdict = laid(ONE, y=length / 2 - 8)
    (finding,) = verdict.unsafe
    assert finding.criterion == "mask-eyes"
    assert finding.misconception == "mask-over-eyes"
    assert "over an eye" in finding.says


def test_each_part_of_a_placed_mask_is_judged_by_itself():
    """A quarter turn costs the seal alone; a mask past the chin does not cost the eyes."""
    turned = laid(ONE, turn=90.0)
    assert [f.criterion for f in turned.findings if not f.met] == ["mask-seal"]
    low = laid(ONE, y=ONE["mask-place"].facts["length"])
    assert {"mask-chin", "mask-covers"} <= {f.criterion for f in low.findings if not f.met}
    assert not low.unsafe


def test_a_mask_is_repeated_in_words():
    """The receipt says size, place and turn; nonsense is named as that."""
    asked = ONE["mask-place"]
    assert spoken(asked, answer(Mask(42, 0.5, 24, -5))).startswith("a mask of 42 mm")
    assert spoken(asked, {"x": 1}) == "a mask whose place cannot be read"


# --- numbers


def typed(question: str, text: str, unit: str, each=ONE):
    return mark(each, question, {"text": text, "unit": unit}, BOOK)


def test_a_depth_counts_in_any_unit_of_length_and_with_a_comma():
    """The same depth in millimetres or with a decimal comma earns the point."""
    right = ONE["depth-plus"].facts["grams"] / 1000 + 6
    assert typed("depth-plus", f"{10 * right:.1f}", "mm").earned == 1
    assert typed("depth-plus", f"{right:.2f}".replace(".", ","), "cm").earned == 1


def test_a_tube_too_deep_is_unsafe_and_one_too_shallow_is_not():
    """Beyond the distance the rules name, deeper is critical."""
    for question in ("depth-plus", "depth-ntl"):
        facts = ONE[question].facts
        right = facts["ntl"] + 1 if "ntl" in facts else facts["grams"] / 1000 + 6
        assert typed(question, f"{right + 1:.2f}", "cm").unsafe
        assert "too deep" in typed(question, f"{right + 1:.2f}", "cm").findings[0].says
        assert not typed(question, f"{right - 1:.2f}", "cm").unsafe
        assert typed(question, f"{right + 0.2:.2f}", "cm").earned == 1


def test_grams_typed_as_kilograms_are_told_as_that():
    """Somebody who adds 6 to the grams hears which unit the rule takes."""
    grams = ONE["depth-plus"].facts["grams"]
    says = typed("depth-plus", str(grams + 6), "cm").findings[0].says
    assert "looks like grams plus 6; the rule takes kilograms" in says


def test_french_taken_for_millimetres_is_named():
    """The number on the package, in millimetres."""
    french = ONE["catheter-mm"].facts["french"]
    assert typed("catheter-mm", f"{french:g}", "mm").misconceptions == ("french-is-mm",)
    assert typed("catheter-mm", f"{french / 30:.4f}", "cm").earned == 1


@pytest.mark.parametrize("edition", ["aha-2020", "erc-2021"])
def test_a_vacuum_at_the_limit_is_already_too_much(edition):
    """AARC 2022: below 120 mmHg, so 120 itself is over; every vacuum that is right is below."""
    assert not rulebook(edition)["suction.limit"].holds(120)
    for each in CASES:
        harmful = [o.id for o in each["suction"].options if pair(o.id)[1] >= 120]
        assert len(harmful) == 2
        for id in harmful:
            verdict = mark(each, "suction", id, BOOK)
            assert verdict.unsafe
            assert verdict.misconceptions == ("suction-harder",)


# --- answers of another shape


@pytest.mark.parametrize(
    ("question", "value"),
    [
        ("mask-place", {}),
        ("mask-place", [42, 0, 20]),
        ("mask-place", answer(Mask(40, 0, 20))),
        ("mask-place", answer(Mask(42, float("nan"), 20))),
        ("mask-place", answer(Mask(42, 400, 20))),
        *((id, value) for id in CHOICES for value in ("no-such-choice", 3, ["larger"], {})),
        ("depth-plus", 7),
        ("depth-plus", {"text": "deep", "unit": "cm"}),
        ("depth-plus", {"text": "7", "unit": "cmH2O"}),
        ("depth-ntl", {"text": "nan", "unit": "cm"}),
        ("catheter-mm", {"text": "1e400", "unit": "mm"}),
        ("catheter-mm", {"text": 2, "unit": "mm"}),
        ("catheter-mm", {"text": "2", "unit": "furlong"}),
    ],
)
def test_an_answer_of_another_shape_earns_nothing_and_says_why(question: str, value: Any):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = mark(ONE, question, value, BOOK)
    assert verdict.earned == 0
    assert verdict.possible == POINTS[question]
    assert "could not be read" in verdict.findings[0].says
