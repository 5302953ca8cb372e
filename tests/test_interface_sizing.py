"""The sizing exercise's cases: whole, of one best answer or a declared tie, and by the rules."""

from __future__ import annotations

import random

import pytest

from graders.interface_right import choice
from graders.interface_sizing import CHOICES, POINTS, key
from graders.marking import mark_all, model_answers
from tests.sizing_base import BOOK, CASES, ONE, total
from workbook.cases import Kind, case
from workbook.cases import interface_tubes as tubes
from workbook.cases.babies import babies, faces, one_mask, published_masks
from workbook.cases.interface_sizing import EXERCISE, airway_book, on_airway
from workbook.facemask import Face, best_masks, best_place, covers, offered
from workbook.physics import Tube
from workbook.rules import RuleError, editions, rulebook
from workbook.rules.files import file
from workbook.rules.sizes import blade, depth, lumen, tube

# --- the cases


def test_a_case_has_sixteen_questions_each_whole():
    """Different texts to choose from, nothing left to fill in, facts that say no right answer."""
    for each in CASES:
        assert [q.id for q in each.questions] == list(dict.fromkeys(q.id for q in each.questions))
        assert len(each.questions) == 16
        for question in each.questions:
            said = [option.text for option in question.options]
            assert len(set(said)) == len(said)
            assert (question.kind is Kind.CHOICE) == (len(said) >= 3)
            words = " ".join([question.label, question.context, question.help, *said])
            assert "{" not in words
            assert "0.0 " not in words


def test_the_same_learner_meets_the_same_case_and_others_another():
    """A case follows from course, exercise and learner alone."""
    assert case("demo", EXERCISE, "learner0", BOOK) == ONE
    assert len({str(each.questions) for each in CASES}) == len(CASES)


@pytest.mark.parametrize("edition", editions())
def test_every_edition_can_be_asked_about(edition):
    """Whatever the course's edition is, a case can be drawn and fully solved."""
    book = rulebook(edition)
    each = case("demo", EXERCISE, "ada", book)
    assert total(mark_all(each, model_answers(each, book), book)) == sum(POINTS.values())


def test_every_choice_that_is_right_is_offered():
    """The marker's own answer stands among the options of each case."""
    for each in CASES:
        for id in CHOICES:
            assert choice(each[id], BOOK, key()) in [o.id for o in each[id].options]


# --- one best answer, or a declared tie


def test_500_babies_have_one_best_answer_or_a_declared_tie():
    """From 23 to 42 weeks and 0.4 to 5 kg: tube, blade, catheter, depth and mask."""
    chance = random.Random(5)  # noqa: S311 (babies for a test)
    for _ in range(500):
        week, grams = chance.randint(23, 42), chance.randint(400, 5000)
        sizes = tubes.sizes_by_weight(grams)
        assert len(sizes) == (2 if grams > 4000 else 1)  # the published sources differ above 4 kg
        assert tubes.by_weight(grams) == (None if grams > 4000 else sizes[0])
        assert len([r for r in tube(gestation=f"{week} week") if r.id == "tube.gestation"]) == 1
        assert len(blade(f"{week} week").rules) == 1
        rules = [rule.id for rule in depth(f"{grams} g", f"{week} week")]
        assert len(rules) == len(set(rules))
        for length in faces(week)[:: max(1, len(faces(week)) // 3)]:
            best = best_masks(Face(length))
            assert 1 <= len(best) <= 2
            neighbours = [offered().index(size) for size in best]
            assert max(neighbours) - min(neighbours) == len(best) - 1


def test_a_drawn_face_has_the_published_mask_as_its_only_fit():
    """Table and geometry agree in every case, so that one mask is right."""
    for each in CASES:
        facts = each["mask-place"].facts
        baby = next(b for b in babies() if (b.weeks, b.grams) == (facts["weeks"], facts["grams"]))
        assert best_masks(Face(facts["length"])) == published_masks(baby)


def test_between_two_sizes_the_gauge_or_the_cover_tells_them_apart():
    """One of the two published masks fits the drawn face, the other does not."""
    for each in CASES:
        facts = each["mask-between"].facts
        face = Face(facts["length"])
        baby = next(b for b in babies() if (b.weeks, b.grams) == (facts["weeks"], facts["grams"]))
        fits = [d for d in published_masks(baby) if covers(face, best_place(face, d)).fits]
        assert len(published_masks(baby)) == 2
        assert len(fits) == 1
        assert each["mask-between"].context.count("covers nose and mouth") == 1


def test_a_missing_mask_has_a_smaller_one_that_does():
    """On the trolley the smaller mask fits and the larger lies over the eyes."""
    for each in CASES:
        facts = each["wrong-trolley"].facts
        face = Face(facts["length"])
        assert covers(face, best_place(face, facts["small"])).fits
        assert covers(face, best_place(face, facts["missing"])).fits
        assert not covers(face, best_place(face, facts["large"])).spares_eyes


def test_the_gauge_tells_a_good_seal_from_a_leak():
    """A good seal shows the PEEP that was set; a leak shows clearly less."""
    accept = BOOK["peep.accept"].value
    for each in CASES:
        asked = each["seal-check"]
        low = asked.facts["peep"] - asked.facts["reading"]
        assert (low <= accept) == (asked.facts["cause"] == "sealed")
        figure = asked.shows["figure"]
        assert figure["kind"] == "gauge"
        assert figure["hide_value"]
        assert figure["value"] == asked.facts["reading"] < figure["top"]


# --- against the rules of sizes


@pytest.mark.parametrize(
    ("id", "value", "basis", "publication"),
    [
        ("tube.downsized-all", 5.0, "primary", "7,293 newborn intubations, Pediatrics"),
        ("tube.upsized-all", 1.5, "primary", "7,293 newborn intubations, Pediatrics"),
        ("nostril", 5.3, "primary", "10.1186/s12887-021-02889-5"),
        ("depth.weight-plus.hit", 51, "primary", "10.3389/fped.2020.00367"),
        ("depth.ntl-plus.hit", 57, "primary", "10.3389/fped.2020.00367"),
        ("depth.table-gestation.hit", 15, "primary", "10.3389/fped.2020.00367"),
        ("depth.table-weight.hit", 14, "primary", "10.3389/fped.2020.00367"),
        ("depth.ntl-plus.add-nasal", 2, "primary", "10.3389/fped.2020.00367"),
        ("french", 1, "primary", "ISO 8836"),
        ("french.in-millimetre", 3, "primary", "ISO 8836"),
        ("laryngeal-mask.first-try", 94.4, "primary", "PMC4727391"),
        ("tube.first-try", 90.6, "primary", "PMC4727391"),
        ("mask.share.42", 72, "primary", "10.1136/archdischild-2019-317531"),
        ("mask.share.50", 61, "primary", "10.1136/archdischild-2019-317531"),
    ],
)
def test_a_published_size_is_the_published_number(id, value, basis, publication):
    """What the other tests of sizes leave out: number, basis, and a source that can be found by."""
    rule = file("sizes").all(id)[0]
    assert rule.value == value
    assert rule.citation.basis == basis
    source = rule.citation.source
    assert publication in f"{source.doi} {source.title}"


def test_published_limits_and_bands_are_the_published_ones():
    """AARC 2010: below 50 % in a child; a 3.5 mm tube is 4.8 to 5.3 mm wide (BMC Pediatr 2021)."""
    assert file("sizes")["lumen.limit.aarc-2010.child"].band[1] == 50
    assert file("sizes")["lumen.limit.aarc-2010"].band[1] == 70
    assert file("sizes")["tube.outside.3.5"].band == (4.8, 5.3)
    assert file("sizes")["laryngeal-mask.weight-later"].low == 1500


def test_tubes_of_the_cases_are_those_of_the_rules():
    """Bands of weight and gestation, a tenth of the weeks, and where the two differ."""
    assert tubes.made() == (2.5, 3.0, 3.5, 4.0)
    assert tubes.weeks_that_differ() == (28, 29, 40, 41, 42)  # secondary table and textbook
    assert tubes.by_gestation(28) == (3.0, 2.5)
    assert tubes.by_gestation(40) == (3.5, 4.0)
    assert tubes.blades() == (0, 1)


def test_weight_and_gestation_of_a_baby_share_a_row_of_the_depth_table():
    """Kempley 2008: 28 weeks go with 0.9 to 1.0 kg, 38 to 40 weeks with 2.5 to 3.1 kg."""
    assert {b.grams for b in babies() if b.weeks == 28} == {850, 900, 950, 1000}
    term = [b.grams for b in babies() if b.weeks == 40]
    assert (min(term), max(term)) == (2450, 3100)


def test_a_growth_restricted_baby_is_shallower_and_smaller_by_weight():
    """Tube and depth by weight are less than by gestation, for every baby that is drawn."""
    for baby in tubes.growth_restricted():
        (size, deep), (old_size, old_deep) = tubes.laid_out(baby)
        assert (size, deep) < (old_size, old_deep)
        assert deep < old_deep


def test_weight_plus_6_is_deeper_than_the_table_in_every_small_baby():
    """Below 750 g, the textbook's caution: 6.5 against 5.5 cm at 0.5 kg."""
    assert min(tubes.small_weights()) == 500
    assert max(tubes.small_weights()) < 750
    for grams in tubes.small_weights():
        depths = tubes.small_depths(grams)
        assert depths["plus"] - depths["table"] >= file("sizes")["depth.too-deep"].value
    assert tubes.small_depths(500) == {"plus": 6.5, "table": 5.5}


@pytest.mark.parametrize(
    ("french", "size", "diameter", "area"),
    # 1 Fr is 1/3 mm, ISO 8836; the shares are arithmetic
    [(6, 2.5, 80, 64), (5, 2.5, 67, 44), (8, 3.0, 89, 79), (8, 3.5, 76, 58), (8, 4.0, 67, 44)],
)
def test_catheters_of_the_cases_fill_what_the_rules_say(french, size, diameter, area):
    """The same shares as the rules' own function, without a unit registry."""
    share = tubes.fills(french, size)
    assert (round(share.diameter), round(share.area)) == (diameter, area)
    assert share.diameter == pytest.approx(lumen(f"{french} Fr", f"{size} mm").diameter)
    assert (french, size) in tubes.passing()
    assert tubes.millimetres(6) == pytest.approx(2.0)


def test_the_pressure_for_a_tube_is_the_models():
    """Laminar part by the fourth power of the bore; a smaller tube needs more and fills later."""
    assert Tube(2.5).linear / Tube(3.5).linear == pytest.approx((3.5 / 2.5) ** 4)
    for facts in tubes.off_by_one():
        sizes = facts["size"], facts["other"]
        assert abs(sizes[0] - sizes[1]) == 0.5
        narrow, wide = min(sizes), max(sizes)
        assert tubes.drop(narrow, 5) > 1.5 * tubes.drop(wide, 5)
        assert tubes.filling(narrow, facts["grams"]) > tubes.filling(wide, facts["grams"])


def test_the_airway_is_asked_by_an_edition_that_states_it():
    """AHA/AAP 2023: may be first, from 34 weeks; RCUK 2021: after mask or tube has failed."""
    said = on_airway(BOOK)
    assert len(said) == len({rule.says for rule in said.values()}) >= 3
    for each in CASES:
        facts = each["supraglottic"].facts
        named = airway_book(facts, BOOK)
        assert named["supraglottic"].stated
        assert named.edition.title in each["supraglottic"].label
        young = facts["weeks"] < named["supraglottic.from"].value
        best = choice(each["supraglottic"], BOOK, key())
        assert best == ("young" if young else facts["edition"])
    own = case("demo", EXERCISE, "ada", rulebook("erc-2021"))
    assert own["supraglottic"].facts["edition"] == "erc-2021"


def test_a_baby_that_cannot_be_meant_is_refused_in_words():
    """Grams typed as kilograms, and 52 weeks."""
    with pytest.raises(RuleError, match="did you mean 1200 g"):
        tube("1200 kg")
    with pytest.raises(RuleError, match="52 weeks is not a gestation"):
        blade("52 week")


def test_one_mask_is_none_where_two_fit():
    """A tie is no single answer: 42 mm of face lies between two masks."""
    baby = next(b for b in babies() if b.weeks == 32)
    assert one_mask(type(baby)(32, baby.grams, 42.5)) is None
