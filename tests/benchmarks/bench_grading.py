"""How fast a class is graded, beside stock autograding of the very same submissions.

Run ``python -m tests.benchmarks.bench_grading [LEARNERS ...]`` (100, 500 and 1000 unless given).
It prints milliseconds a learner with every unit there is, the whole command ``tpiece grade`` in a
process of its own, gradebook and marked pages included, each class by the best of some runs; what
each learner more costs than in the class before; the memory; what a second process brings to the
largest class, by the best of some runs of each in turn, beside what two bare loops of Python gain
on this machine between those runs, where two busy processors may each be slower than one alone;
and the ratio of the whole to stock autograding of one learner's units in the same run.

It ends with 1 when the ratio at the largest class is below 300; when, from the smallest class on,
a learner more costs a tenth more at one size than at another (a class also pays once for the
start and for what its learners share, such as faces with their masks: that is printed); when the
memory of the largest class is a quarter more than of the smallest; or when two processes are less
than 1.7 times as fast as one: less than 0.85 times what two bare loops gain, where those do not
gain 2. A database server can be given by TPIECE_BENCH_GRADEBOOK.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from graders import work
from graders.coursefolder import CourseFolder
from graders.gradebook import Nbgrader
from graders.marking import model_answers
from workbook.answers import AnswersFile, answers_path
from workbook.cases import case

RATIO, RISE, MEMORY, TWICE = 300.0, 1.10, 1.25, 1.7
TIMES = 3  # runs of which the best counts
LOOP = "d, t = {}, 0\nfor i in range(10**7):\n    t += i * i % 7\n    d[i % 5000] = (i, t)"


def lay(folder: CourseFolder, learners: int) -> None:
    """Lay right answers of learners to every unit where collected work lies."""
    course = folder.course
    for n in range(learners):
        learner = f"demo{n:05d}"
        for unit in course.units:
            target = folder.submitted(learner, unit)
            if target.exists():
                continue
            target.mkdir(parents=True)
            for name in (f"{unit}.ipynb", "course.toml"):
                shutil.copyfile(folder.path / "release" / unit / name, target / name)
            drawn = case(course.id, unit, learner, course.book)
            path = answers_path(target / f"{unit}.ipynb")
            file = AnswersFile(path, course.id, unit, learner, course.edition)
            rows = [file._header()]  # the file's own writer waits for the disk at each answer
            for number, (question, value) in enumerate(
                model_answers(drawn, course.book).items(), start=2
            ):
                row = {"n": number, "question": question, "value": value, "at": ""}
                rows.append(_line({**row, "client": "", "seq": 0}))
            path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def _line(row: dict[str, object]) -> str:
    import json

    return json.dumps(row, ensure_ascii=False)


def graded(folder: CourseFolder, workers: int = 1) -> tuple[float, float]:
    """Grade a course by its command; return its seconds and its peak memory in MiB.

    A new process, so that nothing is known from laying out the answers.
    """
    command = [sys.executable, "-m", "graders.cli", "grade", "--course", str(folder.path)]
    begun = time.perf_counter()
    running = subprocess.Popen(
        [*command, "--workers", str(workers)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    _, status, used = os.wait4(running.pid, 0)
    seconds = time.perf_counter() - begun
    if status:
        raise RuntimeError("The run failed.")
    return seconds, used.ru_maxrss / 1024


def again(folder: CourseFolder) -> None:
    """Set every grading aside, so that each run writes everything anew.

    Nothing is deleted before the end: a disk busy with that would slow the next run down.
    """
    aside = Path(tempfile.mkdtemp(dir=folder.path.parent))
    for name in ("autograded", "history"):
        if (folder.path / name).exists():
            (folder.path / name).rename(aside / name)
    if not folder.gradebook_url.is_file():
        (folder.path / "gradebook.db").unlink(missing_ok=True)
        for unit in folder.course.units:
            Nbgrader(folder).generate(unit)
    os.sync()


def bare(count: int) -> float:
    """Return the seconds that so many loops of Python take side by side."""
    begun = time.perf_counter()
    running = [subprocess.Popen([sys.executable, "-c", LOOP]) for _ in range(count)]
    if any(each.wait() for each in running):
        raise RuntimeError("The loop failed.")
    return time.perf_counter() - begun


def best_of_one(folder: CourseFolder) -> tuple[float, float]:
    """Return the seconds and the memory (MiB) of the best run by one process."""
    return min(_anew(folder, 1) for _ in range(TIMES))


def _anew(folder: CourseFolder, workers: int) -> tuple[float, float]:
    again(folder)
    return graded(folder, workers)


@dataclass(frozen=True, slots=True)
class Both:
    """The best runs by one process and by two, and what two bare loops gain meanwhile."""

    one: tuple[float, float]
    two: tuple[float, float]
    possible: float

    @property
    def gain(self) -> float:
        """Return how many times as fast two processes are."""
        return self.one[0] / self.two[0]


def best_of_both(folder: CourseFolder) -> Both:
    """Return the best runs by one process and by two, all in turn."""
    runs: dict[int, list[tuple[float, float]]] = {1: [], 2: []}
    loops: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(TIMES):
        for workers in runs:
            runs[workers].append(_anew(folder, workers))
            loops[workers].append(bare(workers))
    return Both(min(runs[1]), min(runs[2]), 2 * min(loops[1]) / min(loops[2]))


def main() -> int:
    """Print the figures; return 1 when one misses its mark."""
    sizes = [int(text) for text in sys.argv[1:]] or [100, 500, 1000]
    url = os.environ.get("TPIECE_BENCH_GRADEBOOK", "")
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as place:
        folder = work.assign(Path(place) / "may", course_id="may", title="May", gradebook=url)
        units = folder.course.units
        print(f"{len(units)} units a learner: {', '.join(units)}; gradebook {folder.gradebook}")
        lay(folder, 1)
        graded(folder)  # files and programs read once, as on any day but the first
        start, _ = best_of_one(folder)
        print(f"a class of one: {start:.1f} s")
        more, memories, before = [], [], (1, start)
        for size in sizes:
            lay(folder, size)
            both = best_of_both(folder) if size == sizes[-1] else None
            seconds, memory = both.one if both else best_of_one(folder)
            more.append((seconds - before[1]) / (size - before[0]))
            memories.append(memory)
            before = size, seconds
            print(
                f"{size:6d} learners: {seconds:6.1f} s, {1000 * seconds / size:6.1f} ms each, "
                f"{1000 * more[-1]:.1f} each one more, peak {memory:.0f} MiB",
                flush=True,
            )
        assert both is not None
        print(
            f"two processes: {both.gain:.2f} times as fast; two bare loops gain "
            f"{both.possible:.2f} on this machine"
        )
        stock = Nbgrader(folder)
        begun = time.perf_counter()
        for unit in units:
            stock.autograde(unit, "demo00000")
        theirs = time.perf_counter() - begun
    ratio = theirs / before[1] * before[0]
    later = more[1:] or more
    flat, grown = max(later) / min(later), memories[-1] / memories[0]
    print(f"stock autograding: {theirs:.1f} s a learner; ratio {ratio:.0f}")
    print(
        f"from {sizes[0]} on, most over least of what one more costs: {flat:.2f}; once, at "
        f"{sizes[0]}: {more[0] * (sizes[0] - 1) - later[0] * (sizes[0] - 1):.2f} s; "
        f"memory {grown:.2f} times"
    )
    held = ratio >= RATIO and flat <= RISE and grown <= MEMORY
    return 0 if held and both.gain >= TWICE * min(1.0, both.possible / 2) else 1


if __name__ == "__main__":
    sys.exit(main())
