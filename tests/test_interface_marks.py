"""Marking the sizing exercise: full marks, zero, each belief found alone, what could do harm."""

from __future__ import annotations

import random
from typing import Any

import pytest

from graders.marking.exercise import mark, mark_all, model_answers, points
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import EITHER, misconceptions
from graders.units.sizing.marks import CHOICES, CRITICAL, FACES, POINTS, key
from graders.units.sizing.right import choices, situation
from tests.sizing_base import BOOK, CASES, ONE, beliefs, cases, total
from workbook.cases import case, spoken
from workbook.face.fit import answer
from workbook.face.mask import Face, Mask, best_masks, best_place
from workbook.rules import editions, rulebook
from workbook.rules.files import file
from workbook.units.sizing.case import tubes
from workbook.units.sizing.case.questions import EXERCISE

pytestmark = pytest.mark.slow

FULL = sum(POINTS.values())


@pytest.mark.parametrize("edition", editions())
def test_an_expert_earns_everything_and_a_blank_nothing(edition):
    """In every edition: full marks and nothing unsafe; zero and a kind sentence."""
    book = rulebook(edition)
    for each in cases(edition, 30):
        full = mark_all(each, model_answers(each, book), book)
        assert total(full) == FULL
        assert not any(v.unsafe for v in full)
        assert not beliefs(full)
        blank = mark_all(each, {}, book)
        assert total(blank) == 0
        assert {v.question for v in blank if v.unsafe} == set(CRITICAL)


@pytest.mark.parametrize("edition", editions())
def test_every_belief_is_recognised_in_every_edition(edition):
    """One case for each belief that can show it: found, alone, and it costs points."""
    book = rulebook(edition)
    for belief in played(EXERCISE):
        each = next(c for c in cases(edition, 30) if shows(c, belief))
        marked = mark_all(each, answers_of(each, book, belief), book)
        assert beliefs(marked) == {belief}
        assert total(marked) < FULL


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_is_the_one_named(belief):
    """In each of 200 cases the belief that was played is found, and no other."""
    able = [each for each in CASES if shows(each, belief)]
    assert len(able) > 40
    found = [beliefs(mark_all(c, answers_of(c, BOOK, belief), BOOK)) for c in able]
    assert sum(each == {belief} for each in found) >= 0.99 * len(able)


def test_every_misconception_can_be_played_and_rests_on_a_rule():
    """Nobody lists a belief that no answer can show, or that no rule contradicts."""
    place = f"{EXERCISE}.ipynb, "
    own = {id: each for id, each in misconceptions().items() if place in each.read}
    assert set(played(EXERCISE)) == set(own)
    assert len(own) >= 8
    for each in own.values():
        assert each.rule in BOOK or each.rule in file("sizes"), each.id
        assert all(".ipynb, " in read for read in each.read.split(EITHER)), each.id


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
    """The marker's data speaks of questions, options, situations and beliefs that are there."""
    given = {id: {o.id for o in ONE[id].options} for id in CHOICES}
    for part in ("shows", "critical"):
        for id, table in key()[part].items():
            assert set(table) <= given[id], id
            told = {at for each in table.values() for at in each}
            assert told <= set(key()["right"].get(id, {"within", "deep", "shallow"}))
    for id, table in key()["right"].items():
        assert {o for right in table.values() for o in right} <= given[id]
        assert set(key()["why"][id]) == set(table)
    assert set(key()["why"]) == set(CHOICES)


def test_points_are_those_of_the_notebook():
    """Twenty in all, most where a hand lays a mask."""
    assert points(EXERCISE) == POINTS
    assert sum(POINTS.values()) == 20


# --- the mask on the face


def laid(each, question="mask-place", **changed: Any):
    face = Face(each[question].facts["length"])
    best = best_place(face, best_masks(face)[0])
    made = {"diameter": best.diameter, "x": best.x, "y": best.y, "turn": 0.0} | changed
    return mark(each, question, answer(Mask(**made)), BOOK)


@pytest.mark.parametrize("question", FACES)
def test_a_hand_loses_nothing_by_its_precision_alone(question):
    """A hand that misses by 1 mm and 3 degrees (SD) keeps every point in 98 % of 200 cases."""
    chance, kept = random.Random(7), 0  # noqa: S311 (a hand for a test)
    for each in CASES:
        given = model_answers(each, BOOK)[question]
        off = {"x": given["x"] + chance.gauss(0, 1), "y": given["y"] + chance.gauss(0, 1)}
        verdict = laid(each, question, turn=chance.gauss(0, 3), **off)
        kept += verdict.earned == POINTS[question]
    assert kept >= 0.98 * len(CASES)


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


def test_between_two_sizes_size_and_place_are_judged_apart():
    """The other published size costs its point; a well sized mask laid wrong costs the other."""
    face = Face(ONE["mask-between"].facts["length"])
    given = laid(ONE, "mask-between", y=face.length)
    assert [f.criterion for f in given.findings if not f.met] == ["between-lies"]
    assert given.earned == 1
    other = laid(ONE, "mask-between", diameter=68)
    assert "between-size" in [f.criterion for f in other.findings if not f.met]
    assert "bigger-seals-better" in other.misconceptions


def test_a_mask_is_repeated_in_words():
    """The receipt says size, place and turn; nonsense is named as that."""
    asked = ONE["mask-place"]
    assert spoken(asked, answer(Mask(44, 0.5, 24, -5))).startswith("a mask of 44 mm")
    assert spoken(asked, {"x": 1}) == "a mask whose place cannot be read"


# --- what was graded wrong once, and is right now


def drawn(question: str, *where: str, edition: str = BOOK.edition.id, count: int = 500):
    """Yield questions of a class that drew one of some situations."""
    book = rulebook(edition)
    for n in range(count):
        asked = case("safe", EXERCISE, f"learner{n}", book)
        if situation(asked[question]) in where:
            yield asked


def test_a_full_needle_is_never_a_proof_in_500_draws():
    """That the mask seals is wrong whatever the needle; "nothing certain" is right when full."""
    for each in drawn("seal-check", "full"):
        assert mark(each, "seal-check", "unsure", BOOK).earned == POINTS["seal-check"]
        sealed = mark(each, "seal-check", "sealed", BOOK)
        assert sealed.earned == 0
        assert sealed.misconceptions == ("full-needle-seals",)
        assert not sealed.unsafe


def test_no_depth_within_the_rules_is_unsafe_in_500_draws():
    """Weight plus the constant, the table, and all between: right; only deeper than both harms."""
    for n in range(500):
        each = case("safe", EXERCISE, f"learner{n}", BOOK)
        facts = each["depth-small"].facts
        low, high = sorted(tubes.depths(facts["grams"]).values())
        verdict = mark(each, "depth-small", "within", BOOK)
        if low <= facts["held"] <= high:
            assert verdict.earned == POINTS["depth-small"]
        assert bool(verdict.unsafe) == (facts["held"] > high)
        assert not mark(each, "depth-small", "deep", BOOK).unsafe
        # To advance a tube that is too deep already harms; elsewhere it is only wrong.
        assert bool(mark(each, "depth-small", "shallow", BOOK).unsafe) == (facts["held"] > high)


@pytest.mark.parametrize("edition", editions())
def test_what_works_is_kept_and_what_failed_is_changed(edition):
    """In every edition: the mask that works is right; the mask that failed is unsafe."""
    book = rulebook(edition)
    for each in cases(edition, 60):
        kept = mark(each, "interface-next", "mask", book)
        works = situation(each["interface-next"]) == "works"
        assert (kept.earned == POINTS["interface-next"]) == works
        assert bool(kept.unsafe) != works
        assert not mark(each, "interface-next", "laryngeal", book).unsafe


def test_a_tube_without_carbon_dioxide_is_taken_out():
    """Whatever the mist says, leaving it is unsafe; with carbon dioxide nothing here is."""
    for each in CASES:
        none = situation(each["confirm"]) == "none"
        assert (mark(each, "confirm", "out", BOOK).earned > 0) == none
        assert bool(mark(each, "confirm", "hold", BOOK).unsafe) == none


def test_a_crying_baby_is_not_suctioned_and_a_falling_heart_rate_stops_suction():
    """Three situations, three acts; more vacuum is unsafe in each."""
    right = {"cries": "none", "blocked": "short", "slow": "stop"}
    for each in CASES:
        assert choices(each["suction"], key()) == (right[situation(each["suction"])],)
        assert mark(each, "suction", "harder", BOOK).unsafe
        slow = situation(each["suction"]) == "slow"
        assert bool(mark(each, "suction", "short", BOOK).unsafe) == slow
        cries = situation(each["suction"]) == "cries"
        assert bool(mark(each, "suction", "none", BOOK).unsafe) != cries


@pytest.mark.parametrize("edition", editions())
def test_leaving_a_baby_without_ventilation_is_unsafe(edition):
    """Waiting ten minutes for a tube, and holding on to a hold that moves no chest."""
    book = rulebook(edition)
    for each in cases(edition, 40):
        alone = situation(each["interface-next"]) in ("alone", "small-alone")
        assert bool(mark(each, "interface-next", "tube", book).unsafe) == alone
        works = situation(each["mask-hold"]) == "works"
        assert bool(mark(each, "mask-hold", "keep", book).unsafe) != works
        in_place = situation(each["confirm"]) != "none"
        assert bool(mark(each, "confirm", "out", book).unsafe) == in_place
        assert mark(each, "confirm", "wait", book).unsafe


@pytest.mark.parametrize("edition", editions())
def test_what_is_safe_and_not_best_earns_half(edition):
    """Two hands on a mask that was pressed; the right tube with the other blade."""
    book = rulebook(edition)
    for each in cases(edition, 40):
        if situation(each["mask-hold"]) == "pressed":
            assert mark(each, "mask-hold", "two", book).earned == POINTS["mask-hold"] / 2
        (best,) = choices(each["tube-weight"], key())
        tube = best.split("/")[0]
        for option in each["tube-weight"].options:
            share = 1.0 if option.id == best else 0.5 if option.id.split("/")[0] == tube else 0.0
            earned = mark(each, "tube-weight", option.id, book).earned
            assert earned == POINTS["tube-weight"] * share


def test_the_vacuum_limit_is_the_published_one():
    """AARC 2022: below 120 mmHg, so 120 itself is over."""
    assert not BOOK["suction.limit"].holds(120)


# --- the depth


def depth(rule: str):
    """Return the first case whose depth is asked by a rule, and the right depth (cm)."""
    each = next(c for c in CASES if rule in c["depth"].facts)
    facts = each["depth"].facts
    return each, facts["ntl"] + 1 if rule == "ntl" else facts["grams"] / 1000 + 6


def typed(each, text: str, unit: str = "cm"):
    return mark(each, "depth", {"text": text, "unit": unit}, BOOK)


def test_both_rules_of_depth_are_asked():
    """Weight plus 6 (Tochen 1979) of some learners, nasal septum to tragus plus 1 of others."""
    by_ntl = sum("ntl" in each["depth"].facts for each in CASES)
    assert 0.3 * len(CASES) < by_ntl < 0.7 * len(CASES)


@pytest.mark.parametrize("rule", ["grams", "ntl"])
def test_a_depth_counts_in_any_unit_of_length_and_with_a_comma(rule):
    """The same depth in millimetres or with a decimal comma earns the point."""
    each, right = depth(rule)
    assert typed(each, f"{10 * right:.1f}", "mm").earned == 1
    assert typed(each, f"{right:.2f}".replace(".", ",")).earned == 1
    assert typed(each, f"{right + 0.2:.2f}").earned == 1


@pytest.mark.parametrize("rule", ["grams", "ntl"])
def test_a_tube_deeper_than_every_rule_is_unsafe_and_one_too_shallow_is_not(rule):
    """Beyond the distance the rules name, deeper is critical."""
    each, right = depth(rule)
    assert typed(each, f"{right + 1:.2f}").unsafe
    assert "too deep" in typed(each, f"{right + 1:.2f}").findings[0].says
    assert not typed(each, f"{right - 1:.2f}").unsafe


def test_a_depth_is_called_harmful_from_half_a_centimetre_beyond_the_deepest_rule_on():
    """Weight plus 6, or the table where that is deeper: what one of them gives harms nobody."""
    apart = 0
    for each in (one for one in CASES if "grams" in one["depth"].facts):
        grams = each["depth"].facts["grams"]
        plus, table = grams / 1000 + 6, tubes.by_table(grams)
        apart += abs(plus - table) >= 0.3
        deepest = max(plus, table)
        assert not typed(each, f"{deepest + 0.44:.2f}").unsafe, grams
        assert typed(each, f"{deepest + 0.56:.2f}").unsafe, grams
    assert apart > 20


def test_the_number_of_the_rule_is_not_in_the_question():
    """It is what is asked: the constant stands in the rules, not in the words."""
    for each in CASES:
        added = {"grams": "plus 6", "ntl": "plus 1"}
        assert not any(words in each["depth"].context for words in added.values())


def test_grams_typed_as_kilograms_are_told_as_that():
    """Somebody who adds the constant to the grams hears which unit the rule takes."""
    each, _ = depth("grams")
    says = typed(each, str(each["depth"].facts["grams"] + 6)).findings[0].says
    assert "looks like grams plus the constant; the rule takes kilograms" in says
    assert "plus 6 gives" in says


# --- answers of another shape


@pytest.mark.parametrize(
    ("question", "value"),
    [
        *((id, value) for id in FACES for value in (
            {}, [44, 0, 20], answer(Mask(40, 0, 20)), answer(Mask(44, float("nan"), 20)),
            answer(Mask(44, 400, 20)),
        )),
        *((id, value) for id in CHOICES for value in ("no-such-choice", 3, ["larger"], {})),
        ("depth", 7),
        ("depth", {"text": "deep", "unit": "cm"}),
        ("depth", {"text": "7", "unit": "cmH2O"}),
        ("depth", {"text": "nan", "unit": "cm"}),
        ("depth", {"text": "1e400", "unit": "mm"}),
        ("depth", {"text": 2, "unit": "mm"}),
        ("depth", {"text": "2", "unit": "furlong"}),
    ],
)  # fmt: skip
def test_an_answer_of_another_shape_earns_nothing_and_says_why(question: str, value: Any):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = mark(ONE, question, value, BOOK)
    assert verdict.earned == 0
    assert verdict.possible == POINTS[question]
    assert "could not be read" in verdict.findings[0].says
    assert bool(verdict.unsafe) is (question in CRITICAL)  # as one that was left open
