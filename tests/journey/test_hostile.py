"""A class full of hostile and broken submissions, graded in one run."""

from __future__ import annotations

import csv
import io
import time

import pytest

from graders.marking.exercise import points
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from tests.hostile import CASES, MARK, STRANGE_NAMES, UNIT

FULL = sum(points(UNIT).values())
LIMIT = 30.0  # s; the worst single submission is far below, see the benchmark


@pytest.fixture(scope="module")
def run(course, hand_in_module):
    """Lay every case, grade them all at once, and return what came of it."""
    for name in ("whole", "neighbour", *CASES, "zz-last"):
        folder = hand_in_module(name)
        if name in CASES:
            CASES[name].does(folder)
    for name in STRANGE_NAMES:
        (course.path / "submitted" / name / UNIT).mkdir(parents=True)
    begun = time.process_time()
    done = work.grade(course.path)
    done_in = time.process_time() - begun
    with Nbgrader(course).gradebook() as book:
        return done, {who: score for (who, _), score in totals(book).items()}, done_in


def test_the_run_completes_and_nobody_else_is_touched(run):
    """Beside some sixty bad neighbours three honest learners have every point."""
    done, scores, seconds = run
    assert done.failed == 0
    assert done.graded == len(CASES) + 3
    assert [scores[who] for who in ("whole", "neighbour", "zz-last")] == [FULL] * 3
    assert seconds < LIMIT


@pytest.mark.parametrize("name", CASES)
def test_each_earns_what_its_answers_deserve_and_is_told_why(run, name):
    """No false credit, no right answer lost that can be read, one sentence for each problem."""
    done, scores, _ = run
    told = [says for says in done.problems if says.startswith(f"{name}:")]
    score, case = scores[name], CASES[name]
    if case.earns == "all":
        assert score == FULL
    elif case.earns == "none":
        assert score == 0
    else:
        assert 0 < score < FULL
    assert bool(told) == bool(case.says)
    assert all(case.says in says for says in told[:1])
    assert len(told) <= 20, "a file of bad lines must not bury the others"


@pytest.mark.parametrize("name", STRANGE_NAMES)
def test_a_folder_that_is_no_learner_is_refused_by_name(run, name):
    """Never silently skipped."""
    done, scores, _ = run
    assert name not in scores
    assert any(f"submitted/{name}:" in says for says in done.problems)


def test_the_report_shows_no_markup_and_the_table_no_formula(run, course):
    """What a learner wrote is text, on the page and in a spreadsheet."""
    page, table = work.report(course.path)[:2]
    assert MARK not in page.read_text()
    cells = [cell for row in csv.reader(io.StringIO(table.read_text("utf-8-sig"))) for cell in row]
    assert not [cell for cell in cells if cell[:1] in tuple("=+@\t\r")]


def test_grading_again_changes_nothing(run, course):
    """Twice is once."""
    _, scores, _ = run
    work.grade(course.path, workers=2)
    with Nbgrader(course).gradebook() as book:
        assert {who: score for (who, _), score in totals(book).items()} == scores
