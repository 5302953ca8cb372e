"""What a learner's home page is told: names, counts, times, and what to do next."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import digest
from workbook.course.laying import lay as lay_bytes
from workbook.course.result import Result, own
from workbook.room.home import Home, home

LEARNER = "nurse.one"
COURSE = 'id = "may"\ntitle = "May course"\nunits = ["1_setup_order", "3_pressure_targets"]\n'
SHIPPED = Path(__file__).parent.parent


@pytest.fixture(autouse=True)
def _at_work(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TPIECE_LEARNER", LEARNER)


def lay(path: Path, title: str, **about: Any) -> None:
    """Lay a page of one heading."""
    path.parent.mkdir(parents=True, exist_ok=True)
    cell = {"cell_type": "markdown", "metadata": {}, "source": [f"# {title}\n", "\n", "Words."]}
    told = {"unit": path.stem, **about}
    page = {"cells": [cell], "metadata": {"tpiece": told}, "nbformat": 4, "nbformat_minor": 5}
    path.write_text(json.dumps(page), encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a learner's folder: a start page, four lessons, exercises of two units."""
    (tmp_path / "course.toml").write_text(COURSE, encoding="utf-8")
    lay(tmp_path / "start_here.ipynb", "Start here", minutes=6)
    lay(tmp_path / "1_setup_order.ipynb", "Lesson 1: a safe order", minutes=20)
    lay(tmp_path / "2_bench.ipynb", "The bench", minutes=30)
    lay(tmp_path / "3_pressure_targets.ipynb", "Lesson 3: pressures", minutes=15)
    lay(tmp_path / "4_rate_counting.ipynb", "Lesson 4: counting", minutes=20)
    for unit, title in (("1_setup_order", "order"), ("3_pressure_targets", "targets")):
        lay(tmp_path / unit / f"{unit}.ipynb", f"Exercise {unit[0]}: {title}", minutes=15)
    (tmp_path / "plain.ipynb").write_text("{}", encoding="utf-8")
    return tmp_path


def answer(page: Path, *questions: str, of: int = 4) -> None:
    """Answer some questions of a page that asks ``of``."""
    file = AnswersFile(answers_path(page), "may", page.stem, LEARNER, "aha-2020")
    for n in range(of):
        file.asks(f"q{n}", f"Question {n}")
    for question in questions:
        file.append(question, 1)


def lesson(folder: Path, name: str) -> Path:
    return folder / f"{name}.ipynb"


def exercise(folder: Path, name: str) -> Path:
    return folder / name / f"{name}.ipynb"


def send(folder: Path, name: str, at: str) -> None:
    """Keep what nbgrader keeps of a hand-in."""
    stamp = at.replace(" ", "_")
    kept = folder / ".tpiece" / "handed_in" / "may" / f"{LEARNER}+{name}+{stamp}"
    kept.mkdir(parents=True)
    (kept / "timestamp.txt").write_text(at, encoding="utf-8")
    answers = answers_path(exercise(folder, name))
    (kept / answers.name).write_bytes(answers.read_bytes())


def unit(told: Home, number: str) -> Any:
    return next(unit for unit in told.units if unit.number == number)


def test_the_way_has_the_course_s_units_by_name_and_the_rest_beside_it(folder: Path) -> None:
    """A lesson without an exercise belongs to every course; one of another unit does not."""
    told = home(folder)
    assert told.course == "May course"
    assert told.learner == LEARNER
    assert [(u.number, u.name) for u in told.units] == [
        ("1", "A safe order"), ("2", "The bench"), ("3", "Pressures"),
    ]  # fmt: skip
    assert [page.title for page in told.more] == ["Lesson 4: counting"]
    assert unit(told, "1").exercise.title == "Exercise 1: order"
    assert unit(told, "2").exercise is None
    assert unit(told, "3").lesson.minutes == 15


def test_a_folder_without_a_page_yet_has_an_empty_home(tmp_path: Path) -> None:
    """Nothing is laid there, and nothing breaks."""
    told = home(tmp_path)
    assert (told.units, told.more, told.start, told.next) == ((), (), None, "")


def test_an_exercise_that_the_course_no_longer_asks_for_is_left_out(folder: Path) -> None:
    """Its page may still lie there from before; its lesson stays to be read."""
    lay(exercise(folder, "4_rate_counting"), "Exercise 4: counting")
    told = home(folder)
    assert [u.number for u in told.units] == ["1", "2", "3"]
    assert [page.title for page in told.more] == ["Lesson 4: counting"]


def test_a_name_begins_with_a_large_letter_behind_its_opening_mark(folder: Path) -> None:
    """Spanish asks a question between two marks."""
    lay(folder / "1_setup_order.ipynb", "Lección 1: ¿qué está mal en esta pieza en T?")
    assert unit(home(folder), "1").name == "¿Qué está mal en esta pieza en T?"


def test_what_comes_next_follows_what_was_done(folder: Path) -> None:
    """Start, a lesson until half is answered, the bench, the exercise until it is handed in."""
    one, bench, three = (
        lesson(folder, n) for n in ("1_setup_order", "2_bench", "3_pressure_targets")
    )
    first = exercise(folder, "1_setup_order")
    assert home(folder).next == "start_here.ipynb"
    answer(lesson(folder, "start_here"), "q0")
    assert home(folder).next == "1_setup_order.ipynb"
    answer(one, "q0")
    assert home(folder).next == "1_setup_order.ipynb"
    answer(one, "q1")
    assert home(folder).next == "2_bench.ipynb"
    answer(bench, "q0", "q1", "q2")
    assert home(folder).next == "1_setup_order/1_setup_order.ipynb"
    answer(first, "q0", "q1", "q2", "q3")
    assert home(folder).next == "1_setup_order/1_setup_order.ipynb"
    send(folder, "1_setup_order", "2026-12-01 10:00:00.5 UTC")
    assert home(folder).next == "3_pressure_targets.ipynb"
    answer(exercise(folder, "3_pressure_targets"), "q0")  # whoever begins there may go on there
    assert home(folder).next == "3_pressure_targets/3_pressure_targets.ipynb"
    send(folder, "3_pressure_targets", "2026-12-01 11:00:00 UTC")
    assert home(folder).next == ""
    assert not three.with_suffix(".answers.jsonl").exists()


def test_an_exercise_that_is_begun_comes_before_the_next_lesson(folder: Path) -> None:
    """Whoever stopped in the middle goes on there, whatever lesson would come before it."""
    answer(lesson(folder, "1_setup_order"), "q0", "q1")
    assert home(folder).next == "2_bench.ipynb"
    answer(exercise(folder, "1_setup_order"), "q0")
    assert home(folder).next == "1_setup_order/1_setup_order.ipynb"
    send(folder, "1_setup_order", "2026-12-01 10:00:00 UTC")
    assert home(folder).next == "2_bench.ipynb"


def test_answers_are_counted_against_what_the_page_asks(folder: Path) -> None:
    """A page's own notes, and an answer taken back, are no answers."""
    page = lesson(folder, "1_setup_order")
    answer(page, "q0", "q1", "q0")
    AnswersFile(answers_path(page), "may", page.stem, LEARNER, "aha-2020").append("q1", None)
    AnswersFile(answers_path(page), "may", page.stem, LEARNER, "aha-2020").append("q0+looked", 1)
    told = unit(home(folder), "1").lesson
    assert (told.answered, told.asked) == (1, 4)


def test_the_last_hand_in_counts_and_a_later_answer_is_noticed(folder: Path) -> None:
    """A learner sees when, and that what they changed since is not with the educator yet."""
    page = exercise(folder, "1_setup_order")
    answer(page, "q0")
    send(folder, "1_setup_order", "2026-12-01 10:00:00 UTC")
    answer(page, "q1")
    told = unit(home(folder), "1").exercise
    assert told.handed_in == "2026-12-01T10:00:00+00:00"
    assert told.changed
    send(folder, "1_setup_order", "2026-12-02 10:00:00 UTC")
    told = unit(home(folder), "1").exercise
    assert told.handed_in == "2026-12-02T10:00:00+00:00"
    assert not told.changed


def result(unit: str, standing: str, answers: str) -> Result:
    """Return what marking may find."""
    return Result(
        LEARNER, "may", unit, "Exercise 1: order", "en", answers, 1, "", standing, 3.0, 4.0,
        "Not ready yet.", "Read lesson 1.", (), (), (),
    )  # fmt: skip


def mark(folder: Path, unit: str, standing: str) -> None:
    """Lay a result of what a unit's page holds now."""
    answers = digest(answers_path(exercise(folder, unit)))
    lay_bytes(json.dumps(result(unit, standing, answers).told()).encode(), own(folder, unit))


def test_what_came_back_is_told_in_short(folder: Path) -> None:
    """Where the unit stands, what to do next; and whether a later hand-in waits."""
    page = exercise(folder, "1_setup_order")
    answer(page, "q0")
    assert unit(home(folder), "1").exercise.result is None
    send(folder, "1_setup_order", "2026-12-01 10:00:00 UTC")
    mark(folder, "1_setup_order", "not-yet")
    back = unit(home(folder), "1").exercise.result
    assert (back.path, back.standing, back.next) == (
        "1_setup_order/result", "not-yet", "Read lesson 1.",
    )  # fmt: skip
    assert (back.earned, back.possible, back.earlier) == (3.0, 4.0, False)
    answer(page, "q1")
    send(folder, "1_setup_order", "2026-12-02 10:00:00 UTC")
    assert unit(home(folder), "1").exercise.result.earlier


def test_when_all_is_handed_in_what_could_harm_comes_next(folder: Path) -> None:
    """Then what is not ready; where all is ready, nothing."""
    for page in ("start_here", "1_setup_order", "2_bench", "3_pressure_targets"):
        answer(lesson(folder, page), "q0", "q1", "q2", "q3")
    for n, name in enumerate(("1_setup_order", "3_pressure_targets")):
        answer(exercise(folder, name), "q0", of=n + 2)
        send(folder, name, "2026-12-01 10:00:00 UTC")
    assert home(folder).next == ""
    mark(folder, "1_setup_order", "not-yet")
    mark(folder, "3_pressure_targets", "unsafe")
    assert home(folder).next == "3_pressure_targets/result"
    mark(folder, "3_pressure_targets", "ready")
    assert home(folder).next == "1_setup_order/result"
    mark(folder, "1_setup_order", "ready")
    assert home(folder).next == ""


def test_what_could_harm_comes_before_the_next_lesson(folder: Path) -> None:
    """Everything else can wait, as the result says; a later hand-in on its way is no result."""
    answer(lesson(folder, "1_setup_order"), "q0", "q1", "q2", "q3")
    answer(exercise(folder, "1_setup_order"), "q0", of=2)
    send(folder, "1_setup_order", "2026-12-01 10:00:00 UTC")
    mark(folder, "1_setup_order", "not-yet")
    assert home(folder).next == "2_bench.ipynb"
    mark(folder, "1_setup_order", "unsafe")
    assert home(folder).next == "1_setup_order/result"
    answer(exercise(folder, "1_setup_order"), "q1", of=2)
    send(folder, "1_setup_order", "2026-12-02 10:00:00 UTC")
    assert home(folder).next == "2_bench.ipynb"


def test_a_broken_result_is_a_sentence_and_stops_nothing_else(folder: Path) -> None:
    """It is not shown by half."""
    lay_bytes(b'{"learner": "nurse.one"}', own(folder, "1_setup_order"))
    told = home(folder)
    assert "cannot be shown" in unit(told, "1").exercise.result.trouble
    assert unit(told, "3").exercise.result is None
    json.dumps(told.told())


def test_a_broken_answers_file_is_told_and_stops_nothing_else(folder: Path) -> None:
    """One page in trouble leaves the others to work on."""
    answers_path(lesson(folder, "1_setup_order")).write_text("nonsense", encoding="utf-8")
    told = home(folder)
    assert "is not the head of an answers file" in unit(told, "1").lesson.trouble
    assert unit(told, "3").lesson.trouble == ""
    json.dumps(told.told())


@pytest.mark.parametrize(
    "page",
    sorted(
        [*SHIPPED.glob("workbook/lessons/*.ipynb"), *SHIPPED.glob("source_exercises/*/*.ipynb")]
    ),
    ids=lambda path: f"{path.parent.name}-{path.stem}",
)
def test_minutes_are_those_that_the_page_itself_names(page: Path) -> None:
    """The home page and the page must not tell two times."""
    told = json.loads(page.read_text(encoding="utf-8"))
    text = "\n".join("".join(cell["source"]) for cell in told["cells"][:10])
    said = re.search(r"\b(\w+) minutes", text)
    assert said
    number = {"six": 6}.get(said[1]) or int(said[1])
    assert told["metadata"]["tpiece"]["minutes"] == number
