"""The sizing lesson: what it draws, that what it says is shown is right, and what it answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.lesson_screen import SIZES, Screen, answer, ask, page, strings
from workbook.cases import Draw
from workbook.face import fit as face
from workbook.face.mask import Face, Mask, best_masks, best_place, offered
from workbook.lesson.page import LOOKED, texts
from workbook.rules import editions
from workbook.rules.files import file
from workbook.units.sizing.case import tubes
from workbook.units.sizing.lesson import DRAWN, SizesLesson, open_page
from workbook.units.sizing.practice import PRACTICE, judged

pytestmark = pytest.mark.slow

DATA = texts(SIZES)
PREDICTIONS = [each["id"] for each in DATA["predict"]]
CHOICES = [each["id"] for each in DATA["predict"] if each["kind"] == "choice"]
LEARNERS = [f"learner{n}" for n in range(20)]


def drawn_for(lesson: SizesLesson, name: str) -> list:
    """Return what a part of the lesson draws for many learners."""
    draws = [Draw("demo", SIZES, learner, name) for learner in LEARNERS]
    return [DRAWN[name](draw, lesson.scenes.numbers, lesson.book) for draw in draws]


def asked(lesson: SizesLesson, screen: Screen, id: str):
    """Ask a prediction and return its control."""
    lesson.phenomenon(id)
    return screen.control(id)


# --- the page and its data


def test_the_page_asks_everything_the_data_holds_once():
    """Nothing in the data is left out of the page, nothing is asked twice."""
    source = "\n".join(c.source for c in page(SIZES).cells if c.cell_type == "code")
    assert all(source.count(f'phenomenon("{id}")') == 1 for id in PREDICTIONS)
    assert all(source.count(f'quiz("{each["id"]}")') == 1 for each in DATA["check"])
    parts = [part for part in DATA["practice"] if part != "says"]
    assert all(source.count(f'practise("{part}")') == 1 for part in parts)


def test_every_prediction_is_complete():
    """Each has a reason and a rule, and a choice has four options, one of them the one shown."""
    for table in DATA["predict"]:
        assert table["explain"]
        assert table["rules"]
        assert table.get("draws") in {None, *DRAWN}
        if table["kind"] == "choice":
            shown = table.get("results", {table["shows"]: ""})
            assert set(shown) <= set(table["options"])
            assert len(table["options"]) == 4


def test_the_option_shown_is_not_always_in_the_same_place():
    """Whoever chooses by place learns nothing from it."""
    fixed = [t for t in DATA["predict"] if "shows" in t and "results" not in t]
    at = [[*t["options"]].index(t["shows"]) for t in fixed]
    assert len(set(at)) >= 3


@pytest.mark.parametrize("edition", list(editions()))
def test_the_lesson_can_be_shown_in_every_edition(edition: str, tmp_path: Path, screen: Screen):
    """Every number, rule and table it names exists in each edition a course may choose."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    lesson = open_page(folder=tmp_path)
    lesson.say("practice")
    lesson.worked_example()
    for id in PREDICTIONS:
        table = lesson._table("predict", id)
        assert lesson._why(table).text
        assert not any("{" in text for text in strings(dict(table)))
        lesson._result(table)
    named = lesson._table("predict", "predict-fails")["context"]
    assert lesson.book.edition.named in named
    assert "a laryngeal mask from 34 weeks" in named or "A review of 2024 says" in named


@pytest.mark.parametrize("id", CHOICES)
def test_no_two_options_read_the_same_for_anybody(id: str, tmp_path: Path, monkeypatch):
    """Whatever is drawn, the four options differ."""
    for learner in LEARNERS[:5]:
        monkeypatch.setenv("TPIECE_LEARNER", learner)
        folder = tmp_path / learner
        folder.mkdir()
        table = open_page(folder=folder)._table("predict", id)
        assert len(set(table["options"].values())) == 4, table["options"]


# --- what is drawn, and whether what is said of it is so


def test_a_face_between_two_sizes_takes_the_mask_that_is_said(sizes_lesson):
    """The shorter face takes the smaller mask and the longer face the larger one."""
    for drawn in drawn_for(sizes_lesson, "between"):
        masks = [best_masks(Face(length)) for length in drawn.facts["lengths"]]
        assert [f"{size:g} mm" for (size,) in masks] == [drawn.words["small"], drawn.words["large"]]


def test_flow_that_hides_a_leak_makes_peep_jump(sizes_lesson):
    """Once the mask seals the needle is far above the PEEP that was set."""
    drawn = sizes_lesson.drawn("seal")
    assert drawn.facts["jump"] > 1.5 * sizes_lesson.scenes.numbers["peep"]
    assert drawn.shown["figure"]["value"] < sizes_lesson.scenes.numbers["peep"] - 1


def test_a_baby_small_for_its_weeks_gets_the_smaller_tube(sizes_lesson):
    """By weight it is smaller than by weeks, and there is a smaller one to lay beside it."""
    for drawn in drawn_for(sizes_lesson, "growth"):
        assert drawn.facts["smaller"] < drawn.facts["own"] < drawn.facts["old"]


def test_what_follows_a_failed_mask_goes_by_the_baby(sizes_lesson):
    """Old and heavy enough by every rule: a laryngeal mask; neither: two people at the mask."""
    drawn = drawn_for(sizes_lesson, "fails")
    assert {d.words["right"] for d in drawn} == {"laryngeal", "two"}
    for each in drawn:
        old = each.facts["weeks"] >= 34 and each.facts["grams"] > 2000
        small = each.facts["weeks"] < 34 and each.facts["grams"] < 1500
        assert old if each.words["right"] == "laryngeal" else small


def test_the_editions_really_differ_on_the_laryngeal_mask(sizes_lesson):
    """Some name it first and some after failure; each that speaks names a gestation."""
    table = sizes_lesson._table("predict", "predict-fails")
    (shown,) = sizes_lesson.drawn("fails").parts(table)
    assert "may be the first interface" in shown.html
    assert "when mask ventilation or intubation fails" in shown.html
    assert len(sizes_lesson.drawn("fails").facts["stated"]) >= 3


def test_almost_half_is_what_the_study_found(sizes_lesson):
    """Schilleman 2010: 46 % of inflations with little leak."""
    assert 40 <= sizes_lesson.scenes.numbers["blocked"] < 50


def test_the_evidence_on_depth_is_told_with_the_caution(sizes_lesson):
    """Both rules, their shares in all and in the smallest babies; neither is called right."""
    table = sizes_lesson._table("predict", "predict-deep")
    why = " ".join(table["explain"])
    for words in ("51 %", "14 %", "56.3 %", "8.3 %", "1000 g or less", "below 750 g"):
        assert words in sizes_lesson._fill(why, sizes_lesson.drawn("small"))
    for drawn in drawn_for(sizes_lesson, "small"):
        assert drawn.facts["plus"] > drawn.facts["table"]
    assert table["shows"] == "either"


# --- predictions and practice, as a learner meets them


@pytest.mark.parametrize("id", CHOICES)
def test_a_prediction_is_set_beside_what_is_so(id: str, sizes_lesson, screen):
    """Agreement and surprise are told apart, and the reason opens with its source."""
    control = asked(sizes_lesson, screen, id)
    table = sizes_lesson._table("predict", id)
    assert "Source: " not in screen.text
    for seq, option in enumerate(table["options"], start=1):
        answer(control, option, seq)
        heading = ask(control)["heading"]
        assert table["agreed" if option == table["shows"] else "surprise"] in heading
        assert sizes_lesson._found(table) in heading
    assert "Source: " in screen.text


def test_a_mask_well_laid_is_told_so_and_the_gauge_shows_peep(sizes_lesson, screen):
    """Each thing that is right is named, and the needle stands at PEEP."""
    control = asked(sizes_lesson, screen, "place-mask")
    here = Face(sizes_lesson.drawn("face").facts["length"])
    answer(control, face.answer(best_place(here, best_masks(here)[0])))
    feedback = ask(control)
    assert all(line["met"] for line in feedback["lines"])
    assert "would show 5 cmH2O" in feedback["heading"]
    assert "Source: " in screen.text


def slips(here: Face) -> dict[str, Mask]:
    """Return a mask for each thing that can be wrong with it."""
    best = best_place(here, best_masks(here)[0])
    return {
        "size": best_place(here, offered()[-1]),
        "covers": Mask(best.diameter, best.x + 8, best.y),
        "eyes": Mask(best.diameter, best.x, best.y - 12),
        "chin": Mask(best.diameter, best.x, best.y + 8),
        "turn": Mask(best.diameter, best.x, best.y, 90.0),
    }


@pytest.mark.parametrize("id", ["size", "covers", "eyes", "chin", "turn"])
def test_what_is_wrong_with_a_mask_is_named_with_what_to_do(id: str, sizes_lesson, screen):
    """One slip gives its own line, and the seal and the gauge say what comes of it."""
    control = asked(sizes_lesson, screen, "place-mask")
    answer(control, face.answer(slips(Face(sizes_lesson.drawn("face").facts["length"]))[id]))
    feedback = ask(control)
    missed = [line["says"] for line in feedback["lines"] if not line["met"]]
    assert sizes_lesson._table("predict", "place-mask")["finds"][id]["not"] in missed
    assert "With this seal the needle would show" in feedback["heading"]


def test_the_prediction_is_kept_as_it_was_at_the_first_look(sizes_lesson, screen):
    """A second thought after the result does not become the prediction."""
    control = asked(sizes_lesson, screen, "predict-suction")
    for seq, option in enumerate(("harder", "second"), start=1):
        answer(control, option, seq)
        ask(control)
    kept = sizes_lesson.file.sheet().latest()
    assert kept["predict-suction" + LOOKED].value == "harder"
    assert kept["predict-suction"].value == "second"


@pytest.mark.parametrize("part", ["last", "all"])
def test_each_depth_is_told_apart_from_each_slip(part: str, sizes_lesson, screen):
    """Right, right in millimetres, unreadable, a slip of unit, too deep, not deep enough."""
    sizes_lesson.practise(part)
    control, right = screen.control(f"practice-{part}"), sizes_lesson.drawn(part).answer
    tries = {"right": (f"{right:g}", "cm"), "unreadable": ("about six", "cm"),
             "far": (f"{10 * right:g}", "cm"), "deep": (f"{right + 2.5:g}", "cm"),
             "shallow": (f"{right - 2:g}", "cm")}  # fmt: skip
    for seq, (how, (text, unit)) in enumerate(
        [*tries.items(), ("right", (f"{10 * right:g}", "mm"))]
    ):
        answer(control, {"text": text, "unit": unit}, seq + 1)
        (line,) = ask(control)["lines"]
        assert line["says"] == sizes_lesson._fill(DATA["practice"]["says"][how], _nothing())
        assert line["met"] == (how == "right")
        assert line["source"]
    assert "Hint 3 of 3" in screen.text


def _nothing():
    from workbook.units.sizing.draws import Drawn

    return Drawn({})


def test_every_depth_within_the_rules_is_right(sizes_lesson):
    """Also in the smallest: the table's depth, weight plus the constant, and what lies between."""
    for drawn in drawn_for(sizes_lesson, "all"):
        depths = tubes.depths(drawn.facts["grams"]).values()
        assert all(judged(depth, drawn) == "right" for depth in (*depths, sum(depths) / 2))
        assert judged(max(depths) + 0.5, drawn) == "deep"
        assert judged(min(depths) - 0.5, drawn) == "shallow"


def test_practice_gives_less_help_the_second_time_and_draws_new_babies(sizes_lesson):
    """One step is missing, then all; the parts are drawn apart, and both kinds of baby occur."""
    given = [len(DATA["practice"][part].get("steps", ())) for part in ("last", "all")]
    assert given[0] > given[1] == 0
    whole = drawn_for(sizes_lesson, "all")
    assert len({d.facts["grams"] for d in whole}) > 8
    caution = file("sizes")["depth.weight-plus.caution"]
    assert {caution.holds(d.facts["grams"]) for d in whole} == {True, False}
    assert set(PRACTICE) == {"trolley", "last", "all"}


def test_the_worked_example_answers_the_question_at_the_start(sizes_lesson, screen):
    """The same baby is asked about and worked out, its depth below no caution."""
    sizes_lesson.worked_example()
    drawn = sizes_lesson.drawn("trolley")
    said = sizes_lesson._filled(DATA["text"]["practice"])["says"]
    assert drawn.words["weight"] in said
    assert drawn.words["weeks"] in said
    for name in ("fitting", "tube", "smaller", "plus", "table"):
        assert drawn.words[name] in screen.text
    caution = file("sizes")["depth.weight-plus.caution"]
    assert not any(caution.holds(d.facts["grams"]) for d in drawn_for(sizes_lesson, "trolley"))
