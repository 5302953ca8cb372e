"""How fast a large course is reported, how much memory that takes, and how both grow.

Run ``python -m tests.benchmarks.bench_report [LEARNERS ...]`` (2500, 5000 and 10000 unless given).
500 invented learners are marked by the usual commands. The larger courses hold the verdicts of
those 500 again under other ids, gradebook included: marking ten thousand would take a quarter of
an hour and says nothing of the report. Each size is reported in a process of its own; beside it
stands nbgrader's own export of the same scores, timed on the 500. It ends with 1 when the largest
course takes 30 seconds or 1 GiB, when a learner costs more than a quarter above one of the
smallest course, when the misconceptions planted are not those reported, in order, or when the
report is not 10 times as fast a learner as the stock export.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path

from graders.cohort.verdicts import verdicts
from graders.course.coursefolder import CourseFolder
from graders.marking.graded import Graded, write_verdict
from graders.marking.scored import scored
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import Scores
from graders.tasks import work
from graders.tasks.demo import run_demo
from graders.tasks.invented import held

MARKED = 500
SECONDS, MEMORY, RISE, RATIO = 30.0, 1024.0, 1.25, 10.0  # s, MiB, and two ratios
BATCH = 400  # verdicts in one transaction


def in_child(does: Callable[[], object]) -> tuple[float, float]:
    """Run something in a process of its own; return its seconds and its peak memory in MiB."""
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        does()
        os._exit(0)
    _, status, used = os.wait4(child, 0)
    if status:
        raise RuntimeError("The run failed.")
    return time.perf_counter() - begun, used.ru_maxrss / 1024


def copy(one: Graded, n: int) -> Graded:
    """Return a verdict under the id of learner ``n``.

    Its timed runs get prints of their own: ten thousand copies would all be alike.
    """
    own = {question: tuple(each ^ n for each in hashes) for question, hashes in one.prints.items()}
    return replace(one, learner=f"copy{n:05d}", prints=own)


def grow(folder: CourseFolder, marked: list[Graded], begin: int, end: int) -> None:
    """Add copies of the marked learners to the course: roster, verdicts and gradebook."""
    by_learner: dict[str, list[Graded]] = {}
    for one in marked:
        by_learner.setdefault(one.learner, []).append(one)
    people = list(folder.roster().values())[:MARKED]
    with (folder.path / "roster.csv").open("a", encoding="utf-8") as roster:
        for n in range(begin, end):
            one = people[n % MARKED]
            roster.write(f"copy{n:05d},{one.name},{one.role},{one.ward},{one.site}\n")
    waiting = (
        copy(one, n)
        for n in range(begin, end)
        for one in by_learner.get(people[n % MARKED].learner, [])
    )
    with Nbgrader(folder).gradebook() as book:
        scores = Scores(book)
        while batch := list(islice(waiting, BATCH)):
            for one in batch:
                target = folder.autograded(one.learner, one.unit)
                target.mkdir(parents=True)
                write_verdict(one, target)
            scores.write([scored(one) for one in batch])


def told(page: Path) -> list[tuple[str, int]]:
    """Return each misconception of the page with its count."""
    found = re.findall(
        r'<li id="m-([a-z-]+)">.*?class="count">(\d+) of', page.read_text(), re.DOTALL
    )
    return [(id, int(count)) for id, count in found]


def planted(learners: int) -> list[tuple[str, int]]:
    """Return what the report of so many learners must say."""
    return [(id, count * learners // MARKED) for id, count in held(MARKED).items()]


def stock(folder: CourseFolder) -> float:
    """Return the seconds nbgrader's own export takes for the scores of the course."""
    from nbgrader.plugins import CsvExportPlugin

    nbgrader = Nbgrader(folder)
    begun = time.perf_counter()
    with nbgrader.gradebook() as book:
        plugin = CsvExportPlugin(to=str(folder.path / "stock.csv"))
        plugin.export(book)
    return time.perf_counter() - begun


def main() -> int:
    """Print the figures; return 1 when one misses its mark."""
    sizes = [int(text) for text in sys.argv[1:]] or [2500, 5000, 10_000]
    if any(size % MARKED for size in sizes) or sorted(set(sizes)) != sizes:
        print(f"Sizes must be multiples of {MARKED}, each larger than the one before.")
        return 2
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as place:
        path = Path(place) / "cohort"
        run_demo(path, learners=MARKED, say=lambda line: None)
        folder = CourseFolder(path)
        marked = list(verdicts(folder))
        theirs = stock(folder) / MARKED
        costs, right, there = [], True, MARKED
        for size in sizes:
            grow(folder, marked, there, size)
            there = size
            seconds, memory = in_child(lambda: work.report(path))
            costs.append(seconds / size)
            right &= sorted(told(path / "report.html")) == sorted(planted(size))
            page = (path / "report.html").stat().st_size / 1e6
            print(
                f"{size:6d} learners x {len(folder.course.units)} units: {seconds:5.1f} s, peak "
                f"{memory:4.0f} MiB, page {page:.1f} MB"
            )
    ratio, rise = theirs / costs[-1], costs[-1] / costs[0]
    print(f"all but {MARKED} are copies of marked learners under other ids")
    print(f"cost of a learner at {sizes[-1]} over that at {sizes[0]}: {rise:.2f}")
    print(f"stock export of the same scores: {1000 * theirs:.1f} ms a learner; ratio {ratio:.1f}")
    print(f"misconceptions reported as planted, in order: {'yes' if right else 'NO'}")
    good = seconds < SECONDS and memory < MEMORY and rise <= RISE and right and ratio >= RATIO
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
