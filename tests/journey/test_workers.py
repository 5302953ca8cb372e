"""Many graders: the same result however many there are, wherever they run, whoever is lost."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from distributed import Client

from graders.grading import cluster
from graders.grading.cluster import ClusterError
from graders.grading.run import BATCH
from graders.marking.personas import answers_of
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from workbook.cases import case

UNIT = "1_setup_order"
COUNT = 2 * BATCH + 3
DASK = (sys.executable, "-m", "dask")


@pytest.fixture(scope="module")
def course(course, hand_in_module):
    """Return the course with three batches handed in."""
    book = course.course.book
    for n in range(COUNT):
        learner = f"demo{n:03d}"
        belief = ("", "falls-to-zero", "peep-before-pip")[n % 3]
        hand_in_module(learner, answers_of(case("may", UNIT, learner, book), book, belief))
    shutil.copyfile(course.path / "gradebook.db", course.path / "before.db")
    return course


def verdict_files(course) -> list[Path]:
    return sorted((course.path / "autograded").glob("*/*/verdict.json"))


def outcome(course) -> tuple[dict, dict]:
    """Return the gradebook's scores and every verdict on disk."""
    with Nbgrader(course).gradebook() as book:
        scores = totals(book)
    return scores, {str(path): json.loads(path.read_text()) for path in verdict_files(course)}


@pytest.fixture(scope="module")
def alone(course):
    """Grade with one process."""
    work.grade(course.path)
    found = outcome(course)
    assert len(found[0]) == len(found[1]) == COUNT
    return found


@pytest.fixture
def ungraded(course, alone):
    """Return the course as it was before anything was graded."""
    shutil.copyfile(course.path / "before.db", course.path / "gradebook.db")
    for name in ("autograded", "history"):
        if (course.path / name).exists():  # not after a grading that ended before it began
            shutil.rmtree(course.path / name)
    return course


def test_three_processes_give_what_one_gives(ungraded, alone):
    """Scores and verdicts are equal to the last letter."""
    done = work.grade(ungraded.path, workers=3)
    assert done.graded == COUNT
    assert outcome(ungraded) == alone


@contextmanager
def started(*command: str, log: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run a program of Dask's until the end of the block."""
    with log.open("wb") as out:
        process = subprocess.Popen([*DASK, *command], stdout=out, stderr=out)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


@contextmanager
def scheduler(folder: Path) -> Iterator[str]:
    """Run a scheduler as one would by hand; yield the address it prints."""
    file = folder / "scheduler.json"
    words = ("--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(file))
    with started("scheduler", *words, log=folder / "scheduler.log"):
        # The file is made before it is written: wait for what it says.
        wait_for(lambda: file.is_file() and file.read_text().rstrip().endswith("}"))
        yield json.loads(file.read_text())["address"]


def worker(address: str, folder: Path, n: int):
    """Run a worker as one would by hand: one process that nobody starts again."""
    place = ("--local-directory", str(folder / f"worker{n}"))
    words = (address, "--host", "127.0.0.1", "--nthreads", "1", "--no-nanny", "--no-dashboard")
    return started("worker", *words, *place, log=folder / f"worker{n}.log")


@pytest.fixture
def dask(tmp_path) -> Iterator[Client]:
    """Yield a look at a cluster of a scheduler and two workers, each a process of its own."""
    with ExitStack() as stack:
        address = stack.enter_context(scheduler(tmp_path))
        for n in range(2):
            stack.enter_context(worker(address, tmp_path, n))
        client = stack.enter_context(Client(address))
        client.wait_for_workers(2, timeout=60)
        yield client


def wait_for(condition, seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "it did not come true in time"
        time.sleep(0.01)


@contextmanager
def grading(course, dask: Client) -> Iterator[threading.Thread]:
    """Grade on the cluster while the block runs; see at its end that all was graded."""
    done: list[work.GradeRun] = []
    address = dask.scheduler.address
    thread = threading.Thread(
        target=lambda: done.append(work.grade(course.path, scheduler=address))
    )
    thread.start()
    yield thread
    thread.join()
    (came,) = done
    assert (came.graded, came.problems) == (COUNT, ())


def busy(dask: Client) -> set[str]:
    """Return the addresses of the workers that mark right now."""
    return {where for where, tasks in dask.processing().items() if tasks}


def test_a_dask_cluster_gives_what_one_process_gives(ungraded, alone, dask):
    """Both workers mark, in processes that are not this one, and the result is the same."""
    pids, seen = dask.run(os.getpid), set()
    assert len({os.getpid(), *pids.values()}) == 3
    with grading(ungraded, dask) as run:
        while run.is_alive():
            seen |= busy(dask)
    assert seen == set(pids)
    assert outcome(ungraded) == alone


def test_a_worker_killed_midway_loses_nothing(ungraded, alone, dask):
    """The other marks its batch again; what it had written is written over."""
    pids = dask.run(os.getpid)
    with grading(ungraded, dask) as run:
        wait_for(lambda: len(verdict_files(ungraded)) > BATCH // 10)
        lost = busy(dask).pop()
        os.kill(pids[lost], signal.SIGKILL)
        assert run.is_alive()
        assert len(verdict_files(ungraded)) < COUNT
    assert set(dask.nthreads()) == set(pids) - {lost}
    assert outcome(ungraded) == alone


def test_settings_changed_between_gradings_reach_every_worker(ungraded, dask):
    """A worker lives longer than one grading, and keeps no settings from the one before."""
    address = dask.scheduler.address
    work.grade(ungraded.path, scheduler=address)
    before = outcome(ungraded)
    work.assign(ungraded.path, language="es")
    try:
        work.grade(ungraded.path)
        here = outcome(ungraded)
        work.grade(ungraded.path, scheduler=address)
        assert outcome(ungraded) == here != before
    finally:
        work.assign(ungraded.path, language="en")


def test_a_cluster_that_is_not_there_is_one_sentence(course, tmp_path, monkeypatch):
    """No scheduler, and a scheduler without workers: what is wrong, and what to start."""
    monkeypatch.setattr(cluster, "PATIENCE", 1)
    with pytest.raises(ClusterError, match=r"No Dask scheduler answers at .*dask scheduler"):
        work.grade(course.path, scheduler="tcp://127.0.0.1:9")
    with pytest.raises(ClusterError, match="No Dask scheduler answers at 'nonsense://x'"):
        work.grade(course.path, scheduler="nonsense://x")
    with (
        scheduler(tmp_path) as address,
        pytest.raises(ClusterError, match=f"Start one: dask worker {address}"),
    ):
        work.grade(course.path, scheduler=address)
