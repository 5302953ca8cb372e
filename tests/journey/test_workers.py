"""Many graders: the same result however many there are, wherever they run."""

from __future__ import annotations

import json

import pytest

from graders import work
from graders.gradebook import Nbgrader
from graders.personas import answers_of
from graders.run import BATCH
from graders.scores import totals
from workbook.cases import case

UNIT = "1_setup_order"


@pytest.fixture(scope="module")
def course(course, hand_in_module):
    """Return the course with three batches handed in."""
    book = course.course.book
    for n in range(2 * BATCH + 3):
        learner = f"demo{n:03d}"
        belief = ("", "falls-to-zero", "peep-before-pip")[n % 3]
        hand_in_module(learner, answers_of(case("may", UNIT, learner, book), book, belief))
    return course


def outcome(course) -> tuple[dict, dict]:
    """Return the gradebook's scores and every verdict on disk."""
    with Nbgrader(course).gradebook() as book:
        scores = totals(book)
    files = sorted((course.path / "autograded").glob("*/*/verdict.json"))
    return scores, {str(path): json.loads(path.read_text()) for path in files}


@pytest.fixture(scope="module")
def alone(course):
    """Grade with one process."""
    work.grade(course.path)
    return outcome(course)


def test_three_processes_give_what_one_gives(course, alone):
    """Scores and verdicts are equal to the last letter."""
    done = work.grade(course.path, workers=3)
    assert done.graded == 2 * BATCH + 3
    assert outcome(course) == alone


def test_a_dask_cluster_gives_what_one_process_gives(course, alone):
    """Two workers in processes of their own, reached by their scheduler's address."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
        host="127.0.0.1",
    ) as cluster:  # fmt: skip
        done = work.grade(course.path, scheduler=cluster.scheduler_address)
    assert done.graded == 2 * BATCH + 3
    assert outcome(course) == alone
