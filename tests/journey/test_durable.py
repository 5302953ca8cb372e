"""Grading that is killed, locked out or out of room: nothing lost, nothing doubled."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sqlite3
import time

import pytest
from sqlalchemy import event

from graders.grading.run import jobs, mark_batch
from graders.marking.exercise import points
from graders.nbgrader import scores
from graders.nbgrader.gradebook import GradebookError, Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work

UNIT = "1_setup_order"
CLASS = 40
KILLS = int(os.environ.get("TPIECE_KILLS", "10"))  # more when somebody wants to be surer


@pytest.fixture(scope="module")
def big(course, hand_in_module):
    """Return the course with a class handed in, every third with a question left open."""
    hand_in_module("demo00")
    for n in range(1, CLASS):
        folder = course.submitted(f"demo{n:02d}", UNIT)
        folder.parent.mkdir(parents=True)
        hand_in_module(folder.parent.name, None if n % 3 else {})
    shutil.copyfile(course.path / "gradebook.db", course.path / "before.db")
    return course


def anew(course) -> None:
    """Put everything back to before the first grading."""
    shutil.copyfile(course.path / "before.db", course.path / "gradebook.db")
    for name in ("gradebook.db-journal", "gradebook.db-wal"):
        (course.path / name).unlink(missing_ok=True)
    for name in ("autograded", "history"):
        shutil.rmtree(course.path / name, ignore_errors=True)


def in_gradebook(course) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        return {who: score for (who, _), score in totals(book).items()}


def rows(course) -> dict[str, int]:
    """Return how many rows each table of results has."""
    with sqlite3.connect(course.path / "gradebook.db") as db:
        tables = ("student", "submitted_assignment", "submitted_notebook", "grade", "comment")
        return {t: db.execute(f"select count(*) from {t}").fetchone()[0] for t in tables}  # noqa: S608


@pytest.fixture(scope="module")
def undisturbed(big):
    """Grade once in peace; return the scores, the rows and the time it took."""
    work.grade(big.path)
    anew(big)
    begun = time.monotonic()
    work.grade(big.path)
    took = time.monotonic() - begun
    return in_gradebook(big), rows(big), took


def in_child(does) -> int:
    """Run something in a process of its own; return its id."""
    child = os.fork()
    if child == 0:
        try:
            does()
        finally:
            os._exit(0)
    return child


def test_a_kill_at_any_moment_loses_and_doubles_nothing(big, undisturbed):
    """After kill -9 and one more run every score is there once, as if nothing had happened."""
    wanted, count, took = undisturbed
    chance = random.Random(20261125)  # noqa: S311
    cells = len(points(UNIT))
    for _ in range(KILLS):
        anew(big)
        child = in_child(lambda: work.grade(big.path))
        time.sleep(chance.uniform(0, 1.1 * took))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        left = rows(big)
        assert left["grade"] == cells * left["submitted_notebook"], "half a submission was written"
        assert left["submitted_notebook"] == left["submitted_assignment"]
        work.grade(big.path)
        assert in_gradebook(big) == wanted
        assert rows(big) == count


def test_two_graders_at_once_are_safe(big, undisturbed):
    """Both run to the end, and every score is there once."""
    wanted, count, _ = undisturbed
    anew(big)
    children = [in_child(lambda: work.grade(big.path)) for _ in range(2)]
    for child in children:
        os.waitpid(child, 0)
    assert in_gradebook(big) == wanted
    assert rows(big) == count


def test_no_room_left_is_said_and_mended_by_grading_again(big, undisturbed):
    """Files may grow no further in the middle of a run: no score is half written."""
    wanted, count, _ = undisturbed
    anew(big)
    most = (big.path / "gradebook.db").stat().st_size + 8192

    def cramped() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        work.grade(big.path)

    os.waitpid(in_child(cramped), 0)
    left = rows(big)
    assert left["grade"] == len(points(UNIT)) * left["submitted_notebook"]
    work.grade(big.path)
    assert in_gradebook(big) == wanted
    assert rows(big) == count


def test_a_gradebook_that_stays_locked_is_said_in_a_sentence(big, undisturbed, monkeypatch):
    """Nobody waits for ever, and nothing is recorded by halves."""
    anew(big)
    before = rows(big)
    monkeypatch.setattr(scores, "TRIES", 2)
    with sqlite3.connect(big.path / "gradebook.db") as db:
        db.execute("begin exclusive")
        with pytest.raises(GradebookError, match="grade again when it can be reached"):
            work.grade(big.path)
    assert rows(big) == before


def test_a_gradebook_that_vanished_is_made_again(big, undisturbed):
    """The units are put back into a new gradebook, and the scores with them."""
    wanted, _, _ = undisturbed
    (big.path / "gradebook.db").unlink()
    work.grade(big.path)
    assert in_gradebook(big) == wanted


def test_a_score_of_a_human_stays(big, undisturbed):
    """A comment and a score by hand survive grading again, and the report counts them."""
    wanted, _, _ = undisturbed
    anew(big)
    work.grade(big.path)
    with Nbgrader(big).gradebook() as book:
        grade = book.find_grade("order", UNIT, UNIT, "demo01")
        grade.manual_score = 1.5
        book.find_submission_notebook(UNIT, UNIT, "demo01").comments[0].manual_comment = "Seen."
        book.db.commit()
    work.grade(big.path)
    with Nbgrader(big).gradebook() as book:
        grade = book.find_grade("order", UNIT, UNIT, "demo01")
        assert (grade.manual_score, grade.needs_manual_grade) == (1.5, True)
        comments = book.find_submission_notebook(UNIT, UNIT, "demo01").comments
        assert [c.manual_comment for c in comments] == ["Seen."]
    assert in_gradebook(big)["demo01"] == wanted["demo01"] - points(UNIT)["order"] + 1.5


def test_no_batch_searches_a_whole_table(big):
    """Each question to the gradebook goes by an index, so a learner costs as much in any class."""
    work.grade(big.path)
    asked: list[tuple[str, tuple]] = []

    def note(_connection, _cursor, statement, given, _context, _many) -> None:
        if statement.startswith("SELECT"):
            asked.append((statement, given))

    batch = mark_batch(str(big.path), list(jobs(big))).graded
    with Nbgrader(big).gradebook() as book:
        event.listen(book.engine, "before_cursor_execute", note)
        scores.Scores(book).write(batch)
    with sqlite3.connect(big.path / "gradebook.db") as db:
        plans = [
            step[3]
            for said, given in asked
            for step in db.execute(f"explain query plan {said}", given)
        ]
    searched = " ".join(plans)
    assert "SEARCH grade" in searched
    assert "SEARCH submitted_notebook" in searched
    results = ("student", "submitted_assignment", "submitted_notebook", "grade", "comment")
    assert not [step for step in plans if step.startswith(tuple(f"SCAN {t}" for t in results))]
