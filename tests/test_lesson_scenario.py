"""The lesson from birth to stabilised: what it asks and says, its practice, and both its pages."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

import graders.units.scenario as unit
import workbook.lesson.page as lessons
from graders.units.scenario import marks
from workbook.cases import Kind
from workbook.lesson.unit import control
from workbook.rules import editions, rulebook
from workbook.scenario import Played
from workbook.scenario.debrief import Said
from workbook.scenario.expert import expert
from workbook.units.scenario.case.questions import questions
from workbook.units.scenario.lesson import ScenarioLesson, open_page
from workbook.units.scenario.practice import on_case, on_note
from workbook.widgets import Debrief

ROOT = Path(lessons.__file__).parents[2]
PAGES = {
    "lesson": lessons.FOLDER / "7_from_birth.ipynb",
    "exercise": ROOT / "source_exercises" / "7_from_birth" / "7_from_birth.ipynb",
}
GUIDELINES = [edition for edition in editions() if edition != "practice"]


@pytest.fixture
def lesson(tmp_path, monkeypatch) -> ScenarioLesson:
    monkeypatch.setenv("TPIECE_LEARNER", "ada")
    return open_page(folder=tmp_path)


def cells(name: str) -> list[dict[str, Any]]:
    return json.loads(PAGES[name].read_text("utf-8"))["cells"]


def source(cell: dict[str, Any]) -> str:
    return "".join(cell["source"])


def headings() -> list[str]:
    lines = "\n".join(source(c) for c in cells("lesson") if c["cell_type"] == "markdown")
    return [line.lstrip("# ") for line in lines.splitlines() if line.startswith("#")]


# --- what it asks


def test_every_question_is_filled_in_and_its_answer_is_one_of_its_options(lesson):
    """No brace is left over; what it says next is a part of the page."""
    for table in lesson.data["predict"]:
        made = lesson._table("predict", table["id"])
        assert made["shows"] in made["options"]
        said = [made["context"], made["result"], *made["options"].values(), *made["explain"]]
        assert not [text for text in said if "{" in text]
        assert len(set(made["options"].values())) == len(made["options"])
        assert all(rule in lesson.book for rule in made["fold"])
    told = json.dumps(lesson.data, ensure_ascii=False)
    for heading in re.findall("read “([^”]+)”", told):
        assert heading in headings()


def test_the_beats_counted_are_a_rate_that_no_limit_is_near(lesson):
    """Counted for six seconds, times ten; the wrong ones are told apart."""
    made = lesson._table("predict", "predict-count")
    counted = int(re.search(r"counts (\d) beats", made["context"])[1])
    assert made["options"]["right"] == f"{10 * counted} a minute"
    assert 60 < 10 * counted < 100


def test_its_cases_are_drawn_and_told_by_nothing_of_their_course(lesson):
    """A head that lies wrong, then a leak; with prompts, then with fewer."""
    made = [lesson.asked(table) for table in lesson.data["case"]]
    assert [q.kind for q in made] == [Kind.CASE, Kind.CASE]
    assert [q.facts["course"] for q in made] == ["position", "leak"]
    assert [q.shows["prompts"] for q in made] == ["guided", "faded"]
    assert all(q.context.startswith("A baby of ") for q in made)


def test_each_case_has_its_control_and_the_note_too(lesson):
    """Practised with prompts in the lesson; live, and without any, in the exercise."""
    made = [control(lesson.asked(table)) for table in lesson.data["case"]]
    assert [(one.mode, one._prompts) for one in made] == [
        ("practice", "guided"), ("practice", "faded"),
    ]  # fmt: skip
    asked = questions("may", "ada", lesson.book)
    live = [control(each) for each in asked]
    assert [type(one).__name__ for one in live] == ["CaseControl", "NoteControl"] * 2
    assert [one.mode for one in live[::2]] == ["live", "live"]


@pytest.mark.parametrize("edition", GUIDELINES)
def test_what_an_edition_does_not_state_is_said_beside_those_that_do(lesson, edition):
    """A rule that stands in is not shown as its own."""
    book = rulebook(edition)
    said = {id: lesson._stated(book, id) for id in lesson.data["editions"]["rules"]}
    stated = {id for id, text in said.items() if text != "not stated"}
    own = {
        id for id in said if id in book
        and any(rule.stated and rule.edition == edition for rule in book.all(id))
    }  # fmt: skip
    assert stated == own
    if edition == "who-2012":
        assert lesson._stated(book, "spo2.5min") == "not stated"
    if edition == "aha-2025":
        assert said["ppv.within"] == "up to 60 s"


# --- practising


def test_feedback_on_a_case_says_what_was_missing_first(lesson):
    """Nothing done: nobody ventilated. An expert's: all of it was there."""
    asked = lesson.asked(lesson.data["case"][0])
    made, says = asked.facts["case"], lesson._said["went"]
    idle = Played(made.id, 90.0, ()).to_data()
    (missed,) = on_case(made, idle, lesson.book, says)["lines"]
    assert missed["says"].startswith("Nobody ventilated within 60 s.")
    whole = on_case(made, expert(made, lesson.book).to_data(), lesson.book, says)["lines"]
    assert [line["met"] for line in whole] == [True] * 5
    assert re.fullmatch(r"You ventilated \d+ s after birth\.", whole[0]["says"])
    assert (
        "back in time"
        in on_case(made, {**idle, "acts": [[2000, "rub"], [10, "call"]]}, lesson.book, says)[
            "heading"
        ]
    )


def test_a_note_is_compared_with_the_case_it_is_of(lesson):
    """Before the case was played it says so; then each entry is told."""
    made = lesson.asked(lesson.data["case"][1]).facts["case"]
    done = expert(made, lesson.book)
    right = marks.note.of(marks.facts_of(made, done.to_data(), lesson.book))
    says = lesson.data["note"]
    assert on_note(made, right, None, lesson.book, says)["heading"] == says["first"]
    found = on_note(made, right, done.to_data(), lesson.book, says)["lines"]
    assert all(line["met"] for line in found)
    wrong = on_note(made, {**right, "oxygen": 99.0}, done.to_data(), lesson.book, says)["lines"]
    (missed,) = [line["says"] for line in wrong if not line["met"]]
    assert missed.startswith("Highest oxygen")


# --- its pages


def test_the_pages_are_locked_and_their_cells_have_the_ids_of_what_they_ask():
    """As those of the other units are."""
    for name in ("lesson", "exercise"):
        for cell in cells(name):
            assert cell["metadata"]["deletable"] is False
            assert cell["metadata"]["editable"] is False
            assert not cell.get("outputs")
    ids = [cell["id"] for cell in cells("exercise")]
    assert len(ids) == len(set(ids))


def test_the_lesson_calls_what_there_is(lesson):
    """Every question of the data stands on the page, and nothing else is called."""
    code = "\n".join(source(c) for c in cells("lesson") if c["cell_type"] == "code")
    called = re.findall(r"lesson\.(\w+)\((?:\"([\w-]+)\")?\)", code)
    assert all(callable(getattr(lesson, name)) for name, _id in called)
    asked = {id for _name, id in called if id}
    tables = [table["id"] for kind in ("predict", "case", "check") for table in lesson.data[kind]]
    assert asked == set(tables)


def test_the_exercise_gives_the_points_that_are_marked():
    """Each question once, with its own points."""
    points = {
        cell["metadata"]["nbgrader"]["grade_id"]: cell["metadata"]["nbgrader"]["points"]
        for cell in cells("exercise")
        if cell["metadata"].get("nbgrader", {}).get("grade")
    }
    assert points == dict(marks.POINTS)
    asked = [source(c) for c in cells("exercise") if c["id"].startswith("ask-")]
    assert asked == [f'unit.ask("{id}")' for id in points]


def test_each_belief_says_where_its_truth_is_read():
    """At a heading that the lesson has."""
    text = Path(unit.__file__).with_name("misconceptions.toml").read_text("utf-8")
    tables = tomllib.loads(text)
    assert tables.pop("unit") == marks.EXERCISE
    for id, table in tables.items():
        file, _comma, heading = table["read"].partition(", ")
        assert (file, heading in headings()) == (f"{marks.EXERCISE}.ipynb", True), id


# --- talking it over


def saved(lesson, id: str, value: Any) -> None:
    lesson.file.append(id, value)


def played(lesson, n: int = 0) -> tuple[str, dict[str, Any]]:
    """Return a case of the lesson, and an expert's record of it."""
    table = lesson.data["case"][n]
    return table["id"], expert(lesson.asked(table).facts["case"], lesson.book).to_data()


def test_a_case_that_was_played_is_talked_over_before_it_is_said_how_it_went(lesson):
    """Nothing of an expert's and no finding until the learner has said all three things."""
    id, record = played(lesson)
    lesson.debrief(id)
    talk = lesson.talks[id]
    assert talk.shown is None
    assert talk.open(record)["heading"] == lesson.data["words"]["talk_below"]
    debrief = talk.shown
    assert isinstance(debrief, Debrief)
    assert "expert" not in debrief.course
    assert debrief._told({"format": "tpiece-debrief", "version": 1, "at": 3})["lines"] == []
    found = debrief._told(Said(65.0, "reposition", "Early").to_data())
    assert len(found["lines"]) == 5
    assert "expert" in found["compare"]


def test_the_same_baby_begins_again_from_that_second_and_is_talked_over_again(lesson):
    """By turns, in one place; each run is kept for itself."""
    id, record = played(lesson)
    lesson.debrief(id)
    talk = lesson.talks[id]
    talk.open(record)
    talk.shown._give_feedback(lambda _value: {"heading": "", "lines": [], "compare": {"own": 1}})
    talk.shown.feedback = {"compare": {"own": 1}}
    talk.shown._hear(None, {"kind": "again", "at": 40}, [])
    again = talk.shown
    assert (again.mode, again.begins["at"], again.arrives) == ("practice", 40_000, True)
    assert again.begins["acts"] == [row for row in record["acts"] if row[0] <= 40_000]
    again._reply({**record, "ended": "whole"}, "page", 1)
    assert f"{id}.again" in lesson.file.sheet().latest()
    assert id not in lesson.file.sheet().latest()
    again._hear(None, {"kind": "check"}, [])
    assert isinstance(talk.shown, Debrief)


def test_a_page_that_is_opened_again_has_what_was_said_of_that_very_record(lesson):
    """A case that broke off waits to go on; what was said of an earlier run is no word on this."""
    id, record = played(lesson)
    saved(lesson, id, {**record, "ended": "midway"})
    lesson.debrief(id)
    assert lesson.talks[id].shown is None
    saved(lesson, id, record)
    lesson.debrief(id)
    assert lesson.talks[id].shown.value is None
    said = Said(65.0, "reposition", "Early").to_data()
    saved(lesson, f"{id}.debrief", said)
    lesson.debrief(id)
    assert lesson.talks[id].shown.value == said
    saved(lesson, id, {**record, "acts": record["acts"][:-1]})
    lesson.debrief(id)
    assert lesson.talks[id].shown.value is None


def test_a_record_that_cannot_be_read_is_refused_in_one_sentence(lesson):
    """The place stays as it was."""
    id, record = played(lesson)
    lesson.debrief(id)
    told = lesson.talks[id].open({**record, "acts": [[2000, "rub"], [10, "call"]]})
    assert "back in time" in told["heading"]
    assert lesson.talks[id].shown is None


def test_nothing_of_an_exercise_is_talked_over_before_hand_in(lesson):
    """Its page asks for cases and notes alone."""
    code = "\n".join(source(c) for c in cells("exercise") if c["cell_type"] == "code")
    assert "debrief" not in code
