"""What a unit of trials adds to grading: a class with fault finding beside the same without.

Run ``python -m tests.benchmarks.bench_trials [LEARNERS [ROUNDS]]`` (300 and 6 unless given). Every
learner hands in right answers to every unit. They are graded as ``tpiece grade`` does it, unit by
unit: the case is drawn, the answers are read from their file and marked, the result is made.
Processor time, each run in a process of its own: it knows no learner's draws from another run, but
has graded one learner of its own before, and has thrown away what was left from starting, for what
a class pays once is not asked here. Runs with and without the trials take turns, and each round
grades other learners.

It prints milliseconds a learner of each unit; the median over the rounds of what the class costs
with its trials by what it costs without; and the same ratio of all that grading a learner's work
takes, the marked page and the files included. It ends with 1 when that ratio is above 1.25. A
small class costs more a learner: what is worked out once for all who have the same settings is
shared by few.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from multiprocessing import get_context
from pathlib import Path
from statistics import median
from typing import Any

from graders.course.coursefolder import CourseFolder
from graders.grading.grade import grade
from graders.grading.result import marked_values, result_of
from graders.grading.run import mark_batch
from graders.tasks import work
from tests.benchmarks.bench_grading import lay
from workbook.units.faults.case.questions import EXERCISE as TRIALS

MOST = 1.25
LEARNERS, ROUNDS = 300, 6
Costs = dict[str, float]  # unit -> s
Grades = Callable[[CourseFolder, str, Sequence[str]], None]


def results(folder: CourseFolder, unit: str, learners: Sequence[str]) -> None:
    """Mark some learners' work of a unit, and make their results."""
    course = folder.course
    for learner in learners:
        place = folder.submitted(learner, unit)
        graded = grade(place, course, unit, learner)
        result_of(graded, course, marked_values(place, graded))


def everything(folder: CourseFolder, unit: str, learners: Sequence[str]) -> None:
    """Do all that a worker does with some learners' work of a unit."""
    if lost := mark_batch(str(folder.path), [(unit, learner) for learner in learners]).failed:
        raise RuntimeError(lost[0])


def costs(path: Path, grades: Grades, units: Sequence[str], learners: Sequence[str]) -> Costs:
    """Return the processor time (s) of each unit; the first learner is not counted."""
    folder, found = CourseFolder(path), Costs()
    for unit in units:
        grades(folder, unit, learners[:1])
    gc.collect()  # or whichever unit comes at the time would pay for the start of the process
    for unit in units:
        begun = time.process_time()
        grades(folder, unit, learners[1:])
        found[unit] = time.process_time() - begun
    return found


def apart(do: Callable[..., Any], *given: Any) -> Any:
    """Do something in a process of its own, and return what it returns."""
    with get_context("spawn").Pool(1) as pool:
        return pool.apply(do, given)


def set_aside(path: Path) -> None:
    """Set aside what was written before: to write over it costs another time than to write."""
    aside = Path(tempfile.mkdtemp(dir=path.parent))
    for name in ("autograded", "history"):
        if (path / name).exists():
            (path / name).rename(aside / name)


def compared(
    path: Path, grades: Grades, units: Sequence[str], classes: Sequence[Sequence[str]]
) -> tuple[list[float], list[Costs]]:
    """Return how the costs compare in each class, and what each unit took with the trials."""
    others = [unit for unit in units if unit != TRIALS]
    ratios, every = [], []
    for n, learners in enumerate(classes):
        order = (units, others) if n % 2 else (others, units)
        runs = []
        for each in order:
            set_aside(path)
            runs.append(apart(costs, path, grades, each, learners))
        without, whole = sorted(runs, key=len)
        ratios.append(sum(whole.values()) / sum(without.values()))
        every.append(whole)
    return ratios, every


def main() -> int:
    """Print the figures; return 1 when the trials cost too much."""
    given = [int(text) for text in sys.argv[1:]]
    size, rounds = (*given, *(LEARNERS, ROUNDS)[len(given) :])
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as place:
        folder = work.assign(Path(place) / "may", course_id="may", title="May")
        apart(lay, folder, rounds * (size + 1))
        people = sorted(folder.collected())
        classes = [people[n::rounds] for n in range(rounds)]
        units = folder.course.units
        ratios, every = compared(folder.path, results, units, classes)
        whole, _ = compared(folder.path, everything, units, classes)
    for unit in units:
        print(f"{unit:22} {median(1000 * each[unit] / size for each in every):6.2f} ms a learner")
    print(f"with the trials {median(ratios):.3f} times, {min(ratios):.3f} to {max(ratios):.3f}")
    print(f"all of grading  {median(whole):.3f} times, {min(whole):.3f} to {max(whole):.3f}")
    return 0 if median(whole) <= MOST else 1


if __name__ == "__main__":
    sys.exit(main())
