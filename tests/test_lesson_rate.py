"""The counting lesson: asked once, right in every edition, and the model shows what it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.lesson_screen import RATE, Screen, answer, ask, page, prose, strings
from tests.rate_base import BEGIN
from workbook.cases import Draw
from workbook.lesson.page import LOOKED, texts
from workbook.rules import editions, rulebook
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import questions
from workbook.units.rate.lesson import open_page
from workbook.units.rate.rhythm import HEAR, PARTS
from workbook.units.rate.studies import RATE_STUDIES
from workbook.widgets import Control

pytestmark = pytest.mark.slow

DATA = texts(RATE)
PREDICTIONS = [table["id"] for table in DATA["predict"]]
EDITIONS = list(editions())


def opened(edition: str, folder: Path):
    (folder / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    return open_page(folder=folder)


# --- the page and its data


def test_the_page_asks_everything_the_data_holds_once():
    """Nothing in the data is left out of the page, nothing is asked twice."""
    source = "\n".join(c.source for c in page(RATE).cells if c.cell_type == "code")
    for call, kind in {"phenomenon": "predict", "tap": "tap", "quiz": "check"}.items():
        for table in DATA[kind]:
            once = 0 if table.get("begins") else 1  # that one is tapped where it is taught
            assert source.count(f'lesson.{call}("{table["id"]}")') == once, table["id"]
    assert source.count("lesson.firsts()") == 1
    assert all(source.count(f'practise("{part}")') == 1 for part in PARTS)
    assert all(source.count(f"hear({n})") == 1 for n in range(1, HEAR + 1))


def test_every_prediction_has_four_options_a_result_and_a_reason():
    """Each shows something besides words, and every study is used."""
    for table in DATA["predict"]:
        assert table["shows"] in table["options"]
        assert len(set(table["options"].values())) == len(table["options"]) == 4
        assert table["explain"]
        assert "study" in table or "cards" in table or "table" in table
    assert {t["study"] for t in DATA["predict"] if "study" in t} == set(RATE_STUDIES)


def test_every_check_has_one_right_option_and_says_what_each_leads_to():
    """Feedback is one sentence and one next step, whatever was chosen."""
    for table in DATA["check"]:
        assert table["right"] in table["options"]
        assert all(option["says"].count("Next: ") == 1 for option in table["options"].values())


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_lesson_can_be_shown_in_every_edition(edition: str, tmp_path: Path, screen: Screen):
    """Every number and card it names exists, options differ, and nothing is left unfilled."""
    made = opened(edition, tmp_path)
    made.say("practice")
    made.worked_strip()
    made.firsts()
    for table in DATA["predict"]:
        made.phenomenon(table["id"])
        said = [option["text"] for option in screen.control(table["id"]).options]
        assert len(set(said)) == 5, said
        assert "{" not in made._found(table) + made._result(table).text + made._why(table).text
    for part in PARTS:
        made.practise(part)
    for n in range(1, HEAR + 1):
        made.hear(n)
    for id in ("tap-alone", "check-first"):
        {"t": made.tap, "c": made.quiz}[id[0]](id)
    for control in (thing for thing in screen.shown if isinstance(thing, Control)):
        assert "{" not in control.label + control.help
    assert "{" not in screen.text


# --- which rate


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_courses_own_rate_comes_first_and_every_other_edition_is_named(
    edition: str, tmp_path: Path
):
    """No edition is left out, and each card shows its source."""
    made = opened(edition, tmp_path)
    text = made._rates().text
    own = text.index(made.scenes.said["own"])
    others = DATA["rates"]["others"]
    assert own < text.index(others)
    assert made.scenes.said["other"] in text[text.index(others) :]
    silent = made._silent()
    titles = [made.book.edition.named] + [
        e.named for e in editions().values() if e.id not in ("practice", edition)
    ]
    assert [t for t in titles if t not in text + silent] == []
    assert "memory" in text


def test_an_edition_without_a_rate_says_that_common_practice_stands_in(tmp_path: Path):
    """A blank is never shown as the edition's own number."""
    made = opened("erc-2025", tmp_path)
    assert "We have read no rate in" in made._rates().text
    assert "asks for:" not in made._rates().text


# --- how an edition begins


@pytest.mark.parametrize("edition", EDITIONS)
def test_long_first_inflations_are_taught_and_tapped_where_the_edition_has_them(
    edition: str, tmp_path: Path, screen: Screen
):
    """Where they are none that is said; where nothing is held nothing is claimed of it."""
    opened(edition, tmp_path).firsts()
    tapped = [thing.question for thing in screen.shown if isinstance(thing, Control)]
    book = rulebook(edition)
    assert tapped == (["tap-first"] if edition in BEGIN else [])
    if edition in BEGIN:
        assert "begins with long inflations" in screen.text
        assert "Give this many long first inflations" in screen.text
    elif rhythms.begins_at_once(book):
        assert "has no long first inflations" in screen.text
    else:
        assert "we have not read how it begins" in screen.text
        assert "begins at once" not in screen.text
    others = [title for e in BEGIN if e != edition for title in [rulebook(e).edition.named]]
    assert edition in BEGIN or all(title in screen.text for title in others)


def test_no_sentence_calls_long_inflations_useless():
    """A linear lung cannot show what a fluid-filled one does, so nothing of it is claimed."""
    told = " ".join([prose(RATE), *strings(DATA)]).lower()
    for claim in (
        "no better",
        "useless",
        "does not open",
        "opens no",
        "they are few, and they end",
    ):
        assert claim not in told


def test_the_spoken_count_is_in_the_projects_own_words():
    """The beats are “On, off, off”; nobody is told to say numbers in a row."""
    told = " ".join([prose(RATE), *strings(DATA)]).lower()
    assert "on, off, off" in told
    assert not re.search(r"one,? two,? three", told)


# --- what the model shows


def test_a_long_hold_on_a_soft_lung_leaves_most(tmp_path: Path):
    """What the page says of two hands and two lungs is so in every edition's own rate."""
    for edition in EDITIONS:
        said = opened(edition, tmp_path).scenes.said
        left = {k: float(v.split()[0]) for k, v in said.items() if k.startswith("left_")}
        assert max(left, key=left.__getitem__) == "left_long_soft"
        assert left["left_long_soft"] > 2 * left["left_short_soft"]
        assert left["left_short_soft"] > left["left_long_stiff"]


def test_a_faster_count_leaves_more_gas_and_adds_less(rate_lesson):
    """In the model what stays rises with the rate, and what is added falls."""
    words = rate_lesson.study("trapped").words
    left, taken = (
        [float(words[f"{rate}_{what}"].split()[0]) for rate in ("slow", "middle", "fast")]
        for what in ("left", "taken")
    )
    assert left == sorted(left)
    assert left[2] > left[0] + 2
    assert taken == sorted(taken, reverse=True)
    peep = rate_lesson.scenes.numbers["peep"]
    assert float(words["fast_rest"].split()[0]) > float(words["fast_gauge"].split()[0]) > peep


def test_the_pictures_end_where_the_settled_rhythm_does(rate_lesson):
    """The curve's last trough is what the words say stays in the lung."""
    study = rate_lesson.study("trapped")
    low = min(study.panels[2].lines[0].ys[-60:])
    assert low == pytest.approx(float(study.words["fast_rest"].split()[0]), abs=0.5)


def test_the_needle_is_up_for_the_first_beat_and_down_for_the_others(rate_lesson):
    """Along the beats, PIP stands in the first and PEEP at the end of the third."""
    (panel,) = rate_lesson.study("beats").panels
    line, numbers = panel.lines[0], rate_lesson.scenes.numbers
    at = {round(beat, 1): value for beat, value in zip(line.xs, line.ys, strict=True)}
    assert at[1.9] == pytest.approx(numbers["pip"], abs=0.5)
    assert at[3.9] == pytest.approx(numbers["peep"], abs=0.5)


# --- predictions


@pytest.mark.parametrize("id", PREDICTIONS)
def test_nothing_is_shown_before_the_prediction_and_then_all_of_it(id: str, rate_lesson, screen):
    """The result and the surprise come after a saved guess, which is kept as it was."""
    table = rate_lesson._table("predict", id)
    rate_lesson.phenomenon(id)
    assert DATA["words"]["folded"] in screen.text
    assert rate_lesson._why(table).text not in screen.text
    control = screen.control(id)
    wrong = next(option for option in table["options"] if option != table["shows"])
    answer(control, wrong)
    heading = ask(control)["heading"]
    assert heading.startswith("Your answer: ")
    assert rate_lesson.scenes.fill(table["surprise"]) in heading
    assert rate_lesson._why(table).text in screen.text
    assert rate_lesson.file.sheet().latest()[id + LOOKED].value == wrong


# --- nothing of the graded exercise is given away


def test_practice_is_drawn_apart_from_the_graded_exercise(rate_lesson):
    """Strips of the lesson are others than that of the same learner's exercise."""
    file = rate_lesson.file
    graded = questions(file.course, file.learner, rate_lesson.book)
    mine = next(q.facts for q in graded if q.id == "strip-rate")
    drawn = [rate_lesson.strip_of(part) for part in ("worked", *PARTS)]
    assert dict(mine) not in drawn


def test_learners_hear_rhythms_in_orders_of_their_own():
    """Each hears different kinds, and learners do not share one order."""
    kinds = ("a", "b", "c", "d", "e", "f")
    orders = {
        tuple(Draw("demo", RATE, f"learner{n}", "practice-hear").some(kinds, HEAR))
        for n in range(50)
    }
    assert all(len(set(order)) == HEAR for order in orders)
    assert len(orders) > 10
