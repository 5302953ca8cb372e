"""A course whose gradebook is a PostgreSQL server, also one that goes away in the middle."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import pytest

from graders.grading.run import BATCH
from graders.marking.exercise import points
from graders.nbgrader.gradebook import GradebookError, Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from tests.journey.conftest import UNIT, layer
from tests.journey.postgres import Server

FULL = sum(points(UNIT).values())
PASSWORD = "not-a-secret"  # noqa: S105


@pytest.fixture(scope="module")
def server():
    """Return a running server; removed afterwards."""
    with tempfile.TemporaryDirectory(prefix="tpiece-pg-") as place:
        Path(place).chmod(0o755)
        made = Server(Path(place) / "server")
        yield made
        made.stop("immediate")


@pytest.fixture(scope="module")
def course(tmp_path_factory, server):
    """Return a course with its gradebook on the server, and a class that has handed in."""
    path = tmp_path_factory.mktemp("course") / "may"
    url = server.url.replace("tpiece@", f"tpiece:{PASSWORD}@")
    made = work.assign(path, course_id="may", title="May", units=[UNIT], gradebook=url)
    hand_in = layer(made)
    for n in range(2 * BATCH + 5):
        hand_in(f"demo{n:03d}")
    return made


def in_gradebook(course) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        return {who: score for (who, _), score in totals(book).items()}


def test_scores_go_to_the_server_and_the_password_to_nobody(course):
    """Every learner has full marks there; the address is in no file that learners receive."""
    done = work.grade(course.path)
    assert PASSWORD not in done.gradebook
    assert set(in_gradebook(course).values()) == {FULL}
    assert not (course.path / "gradebook.db").exists()
    assert (course.path / "gradebook.url").stat().st_mode & 0o077 == 0
    outbound = course.exchange / "may" / "outbound"
    given = [p for p in [*outbound.rglob("*"), course.path / "course.toml"] if p.is_file()]
    assert not [p for p in given if PASSWORD.encode() in p.read_bytes()]


def test_a_server_that_restarts_in_the_middle_loses_nothing(course, server):
    """The run waits, goes on, and every score is there once."""
    wanted = in_gradebook(course)

    def restart() -> None:
        time.sleep(0.3)
        server.stop("immediate")
        time.sleep(0.5)
        server.start()

    beside = threading.Thread(target=restart)
    beside.start()
    with contextlib.suppress(GradebookError):  # the sentence; grading again is what it asks for
        work.grade(course.path)
    beside.join()
    work.grade(course.path)
    assert in_gradebook(course) == wanted


def test_a_server_that_is_away_is_said_in_a_sentence(course, server):
    """No stack trace, and nothing lost."""
    wanted = in_gradebook(course)
    server.stop("immediate")
    command = [sys.executable, "-m", "graders.cli", "grade", "--course", str(course.path)]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    server.start()
    assert told.returncode == 1
    assert "The gradebook cannot be used just now" in told.stderr
    assert "Traceback" not in told.stderr
    assert PASSWORD not in told.stderr
    assert in_gradebook(course) == wanted


def test_stock_nbgrader_reads_what_was_written(course, tmp_path):
    """nbgrader's own export works on the same server."""
    export = tmp_path / "grades.csv"
    command = [str(Path(sys.executable).parent / "nbgrader"), "export", f"--to={export}"]
    subprocess.run(command, cwd=course.path, check=True, capture_output=True)
    assert len(export.read_text().splitlines()) > 2 * BATCH
