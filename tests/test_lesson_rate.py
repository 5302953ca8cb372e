"""The counting lesson: asked once, right in every edition, and the model shows what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.lesson_screen import RATE, Screen, answer, ask, page
from workbook.cases import Draw
from workbook.cases.rate_counting import questions
from workbook.lesson import LOOKED, texts
from workbook.lesson_rate import PARTS, open_page
from workbook.rate_studies import RATE_STUDIES
from workbook.rules import editions

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
    calls = {"phenomenon": "predict", "tap": "tap", "read_strip": "read", "quiz": "check"}
    for call, kind in calls.items():
        for table in DATA[kind]:
            assert source.count(f'lesson.{call}("{table["id"]}")') == 1, table["id"]
    assert all(source.count(f'practise("{part}")') == 1 for part in PARTS)
    assert all(source.count(f"hear({n})") == 1 for n in (1, 2, 3, 4))


def test_every_prediction_has_four_options_a_result_and_a_reason():
    """Each shows something besides words, and every study is used."""
    for table in DATA["predict"]:
        assert table["shows"] in table["options"]
        assert len(set(table["options"].values())) == len(table["options"]) == 4
        assert table["explain"]
        assert "study" in table or "cards" in table
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
    made.worked_count()
    made.worked_strip()
    made.firsts()
    for table in DATA["predict"]:
        made.phenomenon(table["id"])
        said = [option["text"] for option in screen.control(table["id"]).options]
        assert len(set(said)) == 5, said
        assert "{" not in made._found(table) + made._result(table).text + made._why(table).text
    for part in PARTS:
        made.practise(part)
    for id in ("tap-alone", "read-rate", "check-first"):
        {"t": made.tap, "r": made.read_strip, "c": made.quiz}[id[0]](id)
        assert "{" not in screen.control(id).help
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
    titles = [made.book.edition.title] + [
        e.title for e in editions().values() if e.id not in ("practice", edition)
    ]
    assert all(title in text for title in titles), [t for t in titles if t not in text]
    assert text.count("Source: ") >= 3


def test_an_edition_without_a_rate_says_that_common_practice_stands_in(tmp_path: Path):
    """A blank is never shown as the edition's own number."""
    made = opened("erc-2025", tmp_path)
    assert "states no rate here" in made._rates().text
    assert "asks for:" not in made._rates().text


# --- what the model shows


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
    assert heading.startswith("You expected: ")
    assert rate_lesson.scenes.fill(table["surprise"]) in heading
    assert rate_lesson._why(table).text in screen.text
    assert rate_lesson.file.sheet().latest()[id + LOOKED].value == wrong


# --- nothing of the graded exercise is given away


def test_practice_is_drawn_apart_from_the_graded_exercise(rate_lesson):
    """Strips of the lesson are others than those of the same learner's exercise."""
    file = rate_lesson.file
    graded = questions(file.course, file.learner, rate_lesson.book)
    mine = next(q.facts for q in graded if q.id == "strip-rate")
    drawn = [rate_lesson.strips(part)[0].facts for part in ("worked", "read-rate", "read-ratio")]
    assert mine not in drawn
    assert len({str(facts) for facts in drawn}) == 3


def test_every_part_of_the_practice_has_a_rate_of_its_own(tmp_path: Path, screen: Screen):
    """Worked example and three tasks: four rates, all inside the edition's band."""
    for edition in EDITIONS:
        made = opened(edition, tmp_path)
        rates = {made.count.rate, *(made.drawn_count(part).rate for part in PARTS)}
        assert len(rates) == 1 + len(PARTS), edition


def test_learners_hear_the_four_rhythms_in_orders_of_their_own(rate_lesson):
    """Each order holds all four, and learners do not share one."""
    orders = {
        tuple(Draw("demo", RATE, f"learner{n}", "practice-hear").shuffled(("a", "b", "c", "d")))
        for n in range(50)
    }
    assert len(orders) > 10
