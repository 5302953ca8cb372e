"""nbgrader, really used: release, stock autograde, feedback, export, and the same scores."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from graders.course.coursefolder import exercise_source
from graders.marking.exercise import points
from graders.marking.personas import answers_of
from graders.nbgrader.gradebook import Nbgrader
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.start.launch import environment, prepare_learner

UNIT = "1_setup_order"
FULL = sum(points(UNIT).values())


def scores(course) -> dict[str, dict[str, float]]:
    """Return every learner's automatic scores from nbgrader's gradebook."""
    with Nbgrader(course).gradebook() as book:
        return {
            submission.student.id: {g.name: g.auto_score for n in submission.notebooks
                                    for g in n.grades}
            for submission in book.assignment_submissions(UNIT)
        }  # fmt: skip


def marks(cell) -> bool:
    """Say whether a cell is a marking cell."""
    return bool(cell.metadata.get("nbgrader", {}).get("grade"))


@pytest.fixture(scope="module")
def released(course):
    """Return the released notebook."""
    path = course.path / "release" / UNIT / f"{UNIT}.ipynb"
    return nbformat.read(path, as_version=4)


def test_the_released_notebook_holds_no_answer(released):
    """Neither the model answers nor the marking reach a learner."""
    text = "\n".join(cell.source for cell in released.cells)
    assert "solve(" not in text
    assert "award(" not in text
    assert "BEGIN" not in text


def test_the_released_points_are_the_graders(released):
    """The notebook's marking cells carry the points the graders give."""
    cells = [c.metadata.nbgrader for c in released.cells if marks(c)]
    assert {c["grade_id"]: c["points"] for c in cells} == dict(points(UNIT))


def test_the_solved_form_earns_everything_and_the_released_form_nothing(tmp_path, course):
    """Run as they are: the source earns full marks, the release zero, and neither warns."""
    assert run_marks(exercise_source(UNIT), course, tmp_path / "solved") == FULL
    assert run_marks(course.path / "release" / UNIT, course, tmp_path / "blank", source=True) == 0


def run_marks(folder: Path, course, target: Path, *, source: bool = False) -> float:
    """Run a form of the exercise with the source's marking cells; return the points."""
    from nbclient import NotebookClient

    notebook = nbformat.read(folder / f"{UNIT}.ipynb", as_version=4)
    if source:  # put the hidden marking back, as autograding does
        solved = nbformat.read(exercise_source(UNIT) / f"{UNIT}.ipynb", as_version=4)
        marking = {c.id: c.source for c in solved.cells if marks(c)}
        for cell in notebook.cells:
            cell.source = marking.get(cell.id, cell.source)
    target.mkdir()
    (target / "course.toml").write_text(course.course.text())
    NotebookClient(notebook, resources={"metadata": {"path": str(target)}}, timeout=60).execute()
    outputs = [o for c in notebook.cells if c.cell_type == "code" for o in c.outputs]
    assert not [o for o in outputs if o.get("name") == "stderr"]
    assert not list(target.glob("*.answers.jsonl"))
    marking = [c for c in notebook.cells if marks(c)]
    assert len(marking) == len(points(UNIT))
    return sum(float(c.outputs[-1].data["text/plain"]) for c in marking)


def test_stock_autograde_and_tpiece_grade_give_the_same_scores(course, hand_in):
    """Question by question, for right, mistaken, partly blank, wholly blank and broken work."""
    book = course.course.book
    for learner, belief in (("right", ""), ("mistaken", "relief-after-pip"), ("habit", "")):
        answers = answers_of(case("may", UNIT, learner, book), book, belief)
        hand_in(learner, answers)
    partial = answers_of(case("may", UNIT, "partial", book), book, "bag-not-needed")
    del partial["reason"], partial["gauge-open"]
    hand_in("partial", partial)
    hand_in("blank", {})
    hand_in("stranger", None, learner="right")
    cut = hand_in("cut") / f"{UNIT}.answers.jsonl"
    cut.write_bytes(cut.read_bytes()[:-40])

    run = work.grade(course.path)
    ours = scores(course)
    assert run.graded == run.found == len(ours)
    stock = Nbgrader(course)
    for learner in ours:
        stock.autograde(UNIT, learner)
    assert scores(course) == ours
    assert "TPIECE_LEARNER" not in os.environ
    totals = {learner: sum(got.values()) for learner, got in ours.items()}
    assert totals["right"] == FULL
    assert totals["blank"] == totals["stranger"] == 0
    assert 0 < totals["mistaken"] < FULL
    assert 0 < totals["cut"] < FULL


def test_feedback_and_export_work_on_what_was_graded(course, hand_in, tmp_path):
    """nbgrader's own feedback page and export read what `tpiece grade` wrote."""
    hand_in("right")
    work.grade(course.path, feedback=True)
    page = (course.path / "feedback" / "right" / UNIT / f"{UNIT}.html").read_text()
    assert f"Score: {FULL} / {FULL}" in " ".join(page.split())
    assert "Your answer: (1) Choose a clean mask" in page
    assert "In all 25 pairs the step that must come first" in page
    export = tmp_path / "grades.csv"
    command = [str(Path(sys.executable).parent / "nbgrader"), "export", f"--to={export}"]
    subprocess.run(command, cwd=course.path, check=True, capture_output=True)
    rows = {row["student_id"]: row for row in csv.DictReader(export.open())}
    assert float(rows["right"]["score"]) == FULL


def test_a_learner_may_fetch_and_submit_with_nbgraders_own_commands(course, tmp_path):
    """Fetched, answered, submitted under the learner's id, collected, graded: full marks."""
    own = prepare_learner(
        tmp_path / "fetcher",
        learner="fetcher",
        course_id="may",
        exchange=course.exchange,
        lessons=tmp_path,
    )
    shutil.rmtree(own / UNIT)
    nbgrader(own, "fetch_assignment")
    drawn = case("may", UNIT, "fetcher", course.course.book)
    path = answers_path(own / UNIT / f"{UNIT}.ipynb")
    file = AnswersFile(path, "may", UNIT, "fetcher", course.course.edition)
    for question, value in answers_of(drawn, course.course.book).items():
        file.append(question, value)
    nbgrader(own, "submit")
    assert list(work.collect(course.path))
    assert course.submitted("fetcher", UNIT).is_dir()
    work.grade(course.path)
    assert sum(scores(course)["fetcher"].values()) == FULL


def nbgrader(own: Path, command: str) -> None:
    """Run one of nbgrader's commands as a learner would, with the learner's settings."""
    program = str(Path(sys.executable).parent / "nbgrader")
    subprocess.run(
        [program, command, UNIT],
        cwd=own,
        env=environment(own, "fetcher"),
        check=True,
        capture_output=True,
    )


def test_a_humans_score_is_kept(course, hand_in):
    """Grading again never overwrites what a person entered in the form grader."""
    hand_in("human", {})
    work.grade(course.path)
    nbgrader = Nbgrader(course)
    with nbgrader.gradebook() as book:
        book.find_grade("order", UNIT, UNIT, "human").manual_score = 3.0
        book.db.commit()
    work.grade(course.path)
    with nbgrader.gradebook() as book:
        grade = book.find_grade("order", UNIT, UNIT, "human")
        assert (grade.manual_score, grade.auto_score) == (3.0, 0.0)
        assert grade.needs_manual_grade


def test_what_a_learner_wrote_elsewhere_is_never_run(course, hand_in, tmp_path):
    """A notebook full of hostile code changes nothing: only the answers file is read."""
    folder = hand_in("hostile", {})
    trace = tmp_path / "ran"
    notebook = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_code_cell(f"open({str(trace)!r}, 'w')")]
    )
    nbformat.write(notebook, folder / f"{UNIT}.ipynb")
    work.grade(course.path)
    assert not trace.exists()
    verdict = json.loads((course.autograded("hostile", UNIT) / "verdict.json").read_text())
    assert sum(f["earned"] for v in verdict["verdicts"] for f in v["findings"]) == 0


def test_a_renamed_notebook_loses_nothing(course, hand_in):
    """Answers count by their own file, whatever the notebook is called."""
    folder = hand_in("renamer")
    (folder / f"{UNIT}.ipynb").rename(folder / "my copy.ipynb")
    work.grade(course.path)
    assert sum(scores(course)["renamer"].values()) == FULL


def test_broken_submissions_stop_nobody_and_each_gets_its_sentence(course, hand_in):
    """Whatever lies in a folder: zero with a reason for it, full marks for the one beside it."""
    name = f"{UNIT}.answers.jsonl"
    empty, folder, cut, late = (hand_in(f"broken-{n}") for n in ("a", "b", "c", "d"))
    (empty / name).unlink()
    (folder / name).unlink()
    (folder / name).mkdir()
    (cut / name).write_bytes((cut / name).read_bytes()[:30])
    (late / "timestamp.txt").write_text("=1+1; the day after tomorrow")
    hand_in("broken-e", None, exercise="9_other")
    hand_in("broken-f", None, edition="erc-2015")
    hand_in("whole")
    run = work.grade(course.path)
    told = {p.split(":")[0]: p for p in run.problems}
    assert "is missing" in told["broken-a"]
    assert "is missing" in told["broken-b"]
    assert "not the head of an answers file" in told["broken-c"]
    assert "exercise '9_other'" in told["broken-e"]
    assert "answers edition 'erc-2015'" in told["broken-f"]
    got = scores(course)
    assert [sum(got[f"broken-{n}"].values()) for n in "abcdef"] == [0, 0, 0, FULL, 0, 0]
    assert sum(got["whole"].values()) == FULL


def test_a_learner_not_on_the_roster_is_refused_in_a_sentence(course, hand_in):
    """An unknown learner stops nobody, and the sentence says what to do."""
    (course.path / "roster.csv").write_text("learner,name\nright,Right Demo\n")
    try:
        hand_in("right")
        hand_in("unknown")
        run = work.grade(course.path)
    finally:
        (course.path / "roster.csv").unlink()
    assert run.graded == 1
    assert "unknown" not in scores(course)
    assert any("'unknown' is not on the roster" in problem for problem in run.problems)
