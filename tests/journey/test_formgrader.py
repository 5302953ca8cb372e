"""nbgrader's form grader, opened on a course that `tpiece grade` has filled."""

from __future__ import annotations

import json
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

from graders.marking.exercise import points
from graders.tasks import work
from workbook.start.launch import free_port

UNIT = "1_setup_order"
TOKEN = "formgrader"  # noqa: S105 (a server of this test's own, on loopback)


@pytest.fixture
def ask(course, hand_in):
    """Grade one submission, start a server in the course folder, return a way to ask it."""
    hand_in("right")
    work.grade(course.path)
    port = free_port()
    command = [
        sys.executable, "-m", "jupyter_server", "--allow-root", "--ServerApp.open_browser=False",
        f"--ServerApp.port={port}", f"--IdentityProvider.token={TOKEN}",
        f"--ServerApp.root_dir={course.path}",
    ]  # fmt: skip
    log = course.path / "server.log"
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=course.path, stdout=out, stderr=out)

    def get(path: str) -> str:
        request = urllib.request.Request(f"http://127.0.0.1:{port}{path}")
        request.add_header("Authorization", f"token {TOKEN}")
        with urllib.request.urlopen(request, timeout=30) as reply:
            text: str = reply.read().decode()
        return text

    try:
        _await(lambda: get("/api/status"), log)
        yield get
    finally:
        server.terminate()
        server.wait(timeout=30)


def _await(does, log) -> None:
    for _ in range(300):
        try:
            does()
            return
        except urllib.error.URLError:
            time.sleep(0.2)
    raise AssertionError(log.read_text())


def test_the_form_grader_opens_on_what_was_graded(ask):
    """Its pages open, its scores are ours, and the marked notebook shows why."""
    assert "manage_assignments" in ask("/formgrader")
    (unit,) = json.loads(ask("/formgrader/api/assignments"))
    assert (unit["name"], unit["num_submissions"]) == (UNIT, 1)
    submission = json.loads(ask(f"/formgrader/api/submission/{UNIT}/right"))
    assert submission["score"] == submission["max_score"] == sum(points(UNIT).values())
    assert not submission["needs_manual_grade"]
    (notebook,) = json.loads(ask(f"/formgrader/api/submitted_notebooks/{UNIT}/{UNIT}"))
    page = ask(f"/formgrader/submissions/{notebook['id']}/")
    assert "does come first. This order is safe." in page
