"""No false all-clear: what was not marked is counted, named, and called neither good nor bad."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from graders.cli import main
from graders.cohort.group import Cohort, cohort
from graders.course.coursefolder import CourseFolder, Person
from graders.handed_in.held import Held, hold
from graders.lab.brief import brief
from graders.learner.standing import Status
from graders.marking.exercise import model_answers
from graders.marking.graded import Graded
from graders.report import page
from graders.report.brief_page import brief_text
from graders.report.brief_page import summary as brief_summary
from graders.report.page import summary
from graders.tasks import work
from tests.report_base import COURSE, MADE_AT, RIGHT, UNSAFE, section, text_of
from tests.report_base import work as marked
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

pytestmark = pytest.mark.slow

UNIT = COURSE.units[0]
OTHER = "3_pressure_targets"
BROKEN = marked("b", problems=("The file is cut off.",))
CLEAR = (
    "nobody showed an unsafe act",
    "No answer showed an unsafe act",
    "No known misconception was recognised.",
    "Everyone expected has handed in and",
    "Every file that was handed in could be used",
)


def people(*ids: str) -> dict[str, Person]:
    return {id: Person(id) for id in ids}


def told(group: Cohort) -> str:
    """Return all that report and brief say."""
    shown = page(group, made_at=MADE_AT, version="1")
    return text_of(shown + brief_text(group, made_at=MADE_AT, version="1"))


def test_a_file_that_cannot_be_used_is_not_marked_and_nothing_is_said_of_it() -> None:
    """Neither not yet, nor unsafe, nor points: a status of its own."""
    group = cohort([BROKEN], people("b"), COURSE)
    (row,) = group.rows
    assert row.status is Status.UNMARKED
    assert (row.percent, row.critical, row.ready) == (None, (), False)
    assert group.learners[0].percent is None


@pytest.mark.parametrize("others", [(), (marked("a", RIGHT),)])
def test_where_something_was_not_marked_nobody_reads_an_all_clear(others) -> None:
    """Neither report nor brief says that nobody showed anything, and both count who was left."""
    group = cohort([*others, BROKEN], people("a", "b"), COURSE)
    said = told(group)
    for clear in CLEAR:
        assert clear.lower() not in said.replace("of what was marked, nobody", "").lower()
    assert "The work of 1 person was not marked" in said
    assert ("of what was marked, nobody showed an unsafe act" in said) is bool(others)
    assert ("nothing can be said of the group yet" in summary(group)) is not bool(others)


def test_where_all_was_marked_the_all_clear_is_plain() -> None:
    """No hedge where none is due."""
    group = cohort([marked("a", RIGHT)], people("a"), COURSE)
    said = told(group)
    assert "nobody showed an unsafe act" in said
    assert "was not marked" not in said


def test_an_unsafe_act_is_counted_beside_what_was_not_marked() -> None:
    """One does not hide the other."""
    group = cohort([marked("a", UNSAFE), BROKEN], people("a", "b"), COURSE)
    assert "1 showed an unsafe act." in summary(group)
    assert "The work of 1 person was not marked" in told(group)


@pytest.mark.parametrize(
    ("done", "says"),
    [
        ({"a": (UNIT, OTHER), "b": (UNIT, OTHER)}, "2 of 3 handed in every unit"),
        ({"a": (UNIT, OTHER), "b": (UNIT,)}, "1 of 3 handed in every unit, 1 some of them"),
        ({"a": (UNIT,), "b": (UNIT,)}, "0 of 3 handed in every unit, 2 some of them"),
        ({"a": (UNIT, OTHER)}, "1 of 3 handed in every unit"),
    ],
)
def test_report_and_brief_agree_on_who_handed_in(done, says) -> None:
    """The same words on both, whether all units came or some."""
    course = replace(COURSE, units=(UNIT, OTHER))
    works = [replace(marked(id, RIGHT), unit=unit) for id, units in done.items() for unit in units]
    group = cohort(works, people("a", "b", "c"), course)
    assert says in summary(group)
    assert says in brief_summary(brief(group, None))


def test_the_table_says_which_work_was_marked(tmp_path: Path) -> None:
    """A spreadsheet that adds up scores adds none of work that was not marked."""
    from graders.report import write_csv

    group = cohort([marked("a", RIGHT), BROKEN], people("a", "b", "c"), COURSE)
    write_csv(group, tmp_path / "t.csv")
    with (tmp_path / "t.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = [(row["marked"], row["score"], row["possible"]) for row in csv.DictReader(file)]
    assert rows == [("yes", "10.0", "10.0"), ("no", "", ""), ("", "", "")]


# --- the commands, on a course


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> CourseFolder:
    """Return a course that was given out to three."""
    path = tmp_path_factory.mktemp("course")
    (path / "people.csv").write_text("learner\nada\nbea\ncyd\n")
    return work.assign(
        path / "may", course_id="may", title="May", units=[UNIT], roster=path / "people.csv"
    )


@pytest.fixture
def course(made, tmp_path) -> CourseFolder:
    """Return a copy of it."""
    shutil.copytree(made.path, tmp_path / "may")
    return CourseFolder(tmp_path / "may")


def hand_in(folder: CourseFolder, learner: str) -> Path:
    course, target = folder.course, folder.submitted(learner, UNIT)
    target.mkdir(parents=True)
    drawn = case(course.id, UNIT, learner, course.book)
    path = answers_path(target / f"{UNIT}.ipynb")
    file = AnswersFile(path, course.id, UNIT, learner, course.edition)
    for question, value in model_answers(drawn, course.book).items():
        file.append(question, value)
    return path


def test_report_and_grade_send_nobody_in_a_circle(course):
    """Before anything was handed in each names the one next step, and it is the same."""
    for command in ("grade", "report", "pages", "due"):
        done = run(command, "--course", course.path)
        assert done.exit_code == 1
        assert "Nobody has handed in" in done.output
        assert "Once learners have handed in: tpiece collect" in done.output
    (course.exchange / "may" / "inbound" / "x").mkdir()
    assert "Run first: tpiece collect" in run("report", "--course", course.path).output
    hand_in(course, "ada")
    assert "Run first: tpiece grade" in run("report", "--course", course.path).output
    assert run("grade", "--course", course.path).exit_code == 0
    assert run("report", "--course", course.path).exit_code == 0


def test_commands_count_people_and_end_otherwise_when_one_was_left_out(course):
    """Grade, report and brief say how many people's work was marked, and whose was not, and why."""
    hand_in(course, "ada")
    hand_in(course, "bea").write_text("torn")
    graded = run("grade", "--course", course.path)
    assert graded.exit_code == 3
    assert "Work of 1 person was marked; of 1 person some or all was NOT marked." in graded.output
    for words in (["report"], ["lab", "brief"]):
        done = run(*words, "--course", course.path)
        assert done.exit_code == 3
        assert "The work of 1 person was not marked" in done.output
    shown = (course.path / "report.html").read_text()
    assert "2 of 3 handed in" in text_of(shown)
    assert "not the head of an answers file" in text_of(section(shown, "files"))
    hers = answers_path(course.submitted("bea", UNIT) / f"{UNIT}.ipynb")
    shutil.rmtree(hers.parent)
    hand_in(course, "bea")
    for words in (["grade"], ["report"], ["lab", "brief"]):
        assert run(*words, "--course", course.path).exit_code == 0


def test_work_that_was_collected_and_never_graded_counts_as_handed_in(course):
    """Collected after the last grading: the report says so, and what to do."""
    hand_in(course, "ada")
    assert run("grade", "--course", course.path).exit_code == 0
    hand_in(course, "bea")
    hand_in(course, "zoe")  # on nobody's roster
    done = run("report", "--course", course.path)
    assert done.exit_code == 3
    assert "The work of 2 people was not marked" in done.output
    shown = text_of((course.path / "report.html").read_text())
    assert "It was collected and is not graded yet. Run: tpiece grade" in shown
    assert "'zoe' is not on the roster" in shown


def test_a_verdict_that_was_lost_is_not_missing_work(course):
    """The file that cannot be read is named, and its learner did hand in."""
    for learner in ("ada", "bea"):
        hand_in(course, learner)
    assert run("grade", "--course", course.path).exit_code == 0
    (course.autograded("bea", UNIT) / "verdict.json").write_text("{")
    assert run("report", "--course", course.path).exit_code == 3
    shown = text_of((course.path / "report.html").read_text())
    assert "2 of 3 handed in" in shown
    assert "verdict.json cannot be read any more" in shown


def test_what_waits_for_the_coordinator_stands_on_the_report_until_it_is_settled(course):
    """With the command that settles it."""
    hand_in(course, "ada")
    assert run("grade", "--course", course.path).exit_code == 0
    data = (course.submitted("ada", UNIT) / f"{UNIT}.answers.jsonl").read_bytes()
    one = hold(
        course, Held("abc123", "x.jsonl", "x.jsonl: Ada is nearly ada.", near=("ada",)), data
    )
    done = run("report", "--course", course.path)
    assert "tpiece held abc123 --to ada" in done.output
    shown = text_of((course.path / "report.html").read_text())
    assert "1 piece of work waits for you to say whose it is" in shown
    assert one.command in shown
    assert run("held", "--course", course.path, "abc", "--drop").exit_code == 0
    run("report", "--course", course.path)
    assert "held abc123" not in (course.path / "report.html").read_text()


def test_a_learner_of_an_earlier_edition_is_noted_not_dropped(tmp_path):
    """The report says by which edition the work was marked."""
    one = replace(marked("a", RIGHT), edition="who-2012")
    said = told(cohort([one], people("a"), COURSE))
    assert "handed in and marked under edition who-2012" in said
    assert isinstance(one, Graded)
    assert datetime.now(UTC) > MADE_AT
