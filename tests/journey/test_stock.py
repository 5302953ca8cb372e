"""Stock autograding in its sandbox: it agrees on honest work, and reaches nothing outside."""

from __future__ import annotations

import json
import os

import pytest

from graders.marking.exercise import model_answers, points
from graders.marking.graded import VERDICT_FILE, read_verdict
from graders.nbgrader import stock
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.settings import FILE, CourseError

UNIT = "1_setup_order"
FULL = sum(points(UNIT).values())
REACHES = """
import os, pathlib, socket
found = []
for name, does in {
    "gradebook": lambda: open(%r).read(1),
    "home": lambda: os.listdir(os.path.expanduser("~root")),
    "network": lambda: socket.create_connection(("192.0.2.1", 80), 2),
    "write": lambda: pathlib.Path("/usr/tpiece-was-here").write_text("x"),
}.items():
    try:
        does()
        found.append(name)
    except OSError:
        pass
pathlib.Path("reached.txt").write_text(repr(found))
if found or "SECRET_OF_THE_COORDINATOR" in os.environ:
    raise SystemExit("reached " + repr(found))
"""


def test_honest_work_scores_the_same_and_hostile_code_reaches_nothing(course, hand_in, monkeypatch):
    """The notebook's own code runs, finds no gradebook, no network, no secret, and is scored."""
    monkeypatch.setenv("SECRET_OF_THE_COORDINATOR", "x")
    folder = hand_in("reaching")
    path = folder / f"{UNIT}.ipynb"
    notebook = json.loads(path.read_text())
    code = REACHES % str(course.path / "gradebook.db")
    cell = {"cell_type": "code", "metadata": {}, "source": code, "outputs": [],
            "execution_count": None, "id": "reach"}  # fmt: skip
    notebook["cells"].insert(1, cell)
    path.write_text(json.dumps(notebook))
    work.grade(course.path)
    assert list(stock.differences(course.path, [(UNIT, "reaching")])) == []


def test_a_second_attempt_scores_the_same_and_none_above_the_limit(course, hand_in):
    """The marking cells draw the case that tpiece grade draws."""
    before = (course.path / FILE).read_text(encoding="utf-8")
    folder = hand_in("trying")
    drawn = course.course
    path = answers_path(folder / f"{UNIT}.ipynb")
    try:
        work.assign(course.path, attempts="2")
        for n in (2, 3):
            file = AnswersFile(path, drawn.id, UNIT, "trying", drawn.edition, attempt=n)
            file.begin(n - 1)
            answers = model_answers(case(drawn.id, UNIT, "trying", drawn.book, n), drawn.book)
            for question in list(answers)[:3]:
                file.append(question, answers[question])
        work.grade(course.path)
        assert read_verdict(course.autograded("trying", UNIT) / VERDICT_FILE).attempt == 2
        assert list(stock.differences(course.path, [(UNIT, "trying")])) == []
    finally:
        (course.path / FILE).write_text(before, encoding="utf-8")
        work.assign(course.path)


def test_without_a_sandbox_nothing_is_run_and_it_is_said(course, monkeypatch):
    """Nobody's code runs as the coordinator by mistake."""
    monkeypatch.setenv("PATH", os.devnull)
    with pytest.raises(CourseError, match="Nothing was run"):
        list(stock.differences(course.path, [(UNIT, "honest")]))
