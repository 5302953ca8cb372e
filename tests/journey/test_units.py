"""Every unit after the first: both ways to grade agree, and the report shows what was found."""

from __future__ import annotations

import shutil

import nbformat
import pytest

from graders.course.coursefolder import exercise_source
from graders.marking.exercise import points
from graders.marking.personas import answers_of, played, shows
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

UNITS = ("3_pressure_targets", "4_rate_counting", "5_interface_sizing", "6_fault_finding",
         "7_from_birth")  # fmt: skip


@pytest.fixture(scope="module")
def course(tmp_path_factory):
    """Return a course of the units, with right and mistaken work handed in."""
    path = tmp_path_factory.mktemp("course") / "may"
    made = work.assign(path, course_id="may", title="May", units=UNITS)
    book = made.course.book
    for unit in UNITS:
        for learner in ("right", "mistaken"):
            drawn = case("may", unit, learner, book)
            belief = next(b for b in played(unit) if shows(drawn, b)) if learner != "right" else ""
            target = made.submitted(learner, unit)
            shutil.copytree(made.exchange / "may" / "outbound" / unit, target)
            told = ("may", unit, learner, made.course.edition)
            file = AnswersFile(answers_path(target / f"{unit}.ipynb"), *told)
            for question, value in answers_of(drawn, book, belief).items():
                file.append(question, value)
    work.grade(path)
    return made


def in_gradebook(course) -> dict[tuple[str, str], float]:
    with Nbgrader(course).gradebook() as book:
        return totals(book)


@pytest.mark.parametrize("unit", UNITS)
def test_cells_and_graders_agree_on_the_points(unit):
    """The notebook asks each question once and its marking cells carry the graders' points."""
    page = nbformat.read(exercise_source(unit) / f"{unit}.ipynb", as_version=4)
    told = [cell.metadata.get("nbgrader", {}) for cell in page.cells]
    assert {t["grade_id"]: t["points"] for t in told if t.get("grade")} == dict(points(unit))
    asked = [t["grade_id"] for t in told if str(t.get("grade_id", "")).startswith("ask-")]
    assert sorted(asked) == sorted(f"ask-{question}" for question in points(unit))


@pytest.mark.parametrize("unit", UNITS)
def test_stock_autograding_agrees_to_the_last_digit(course, unit):
    """For right work and for a learner with a misconception, question by question."""
    with Nbgrader(course).gradebook() as book:
        ours = _scores(book, unit)
    for learner in ("right", "mistaken"):
        Nbgrader(course).autograde(unit, learner)
    with Nbgrader(course).gradebook() as book:
        assert _scores(book, unit) == ours
    assert sum(ours["right"].values()) == sum(points(unit).values())
    assert sum(ours["mistaken"].values()) < sum(points(unit).values())


def _scores(book, unit) -> dict[str, dict[str, float]]:
    return {
        s.student.id: {g.name: g.auto_score for n in s.notebooks for g in n.grades}
        for s in book.assignment_submissions(unit)
    }


def test_the_report_shows_every_unit(course):
    """Each unit has its rows on the page and in the table."""
    work.grade(course.path)  # stock autograding takes our verdicts away
    page, table = work.report(course.path)[:2]
    for text in (page.read_text(), table.read_text("utf-8-sig")):
        assert all(unit in text for unit in UNITS)
