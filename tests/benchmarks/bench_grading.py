"""How fast a class is graded, beside stock autograding of the very same submissions.

Run ``python -m tests.benchmarks.bench_grading [LEARNERS ...]`` (100, 500 and 1000 unless given).
It prints milliseconds a learner with every unit there is, the whole command ``tpiece grade`` in a
process of its own, gradebook and marked pages included; what each learner more costs than in the
class before; the memory; what a second process brings to the largest class, beside what two bare
loops of Python gain between those runs, for two busy processors may each be slower than one
alone; and the ratio of the whole to stock autograding of one learner's units in the same run.
Every figure is a mean of rounds: each goes up through the sizes and down again, small classes
several times, for a machine's speed may change by more from minute to minute than is asked here.

It ends with 1 when the ratio at the largest class is below 300; when, from the smallest class on,
a learner more costs a tenth more at one size than at another (a class also pays once for the
start and for what its learners share, such as faces with their masks: that is printed); when the
memory of the largest class is a quarter more than of the smallest; or when two processes are less
than 1.7 times as fast as one: less than 0.85 times what two bare loops gain, where those do not
gain 2. A database server can be given by TPIECE_BENCH_GRADEBOOK; its tables are emptied.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path
from statistics import fmean

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.quick import api
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

RATIO, RISE, MEMORY, TWICE = 300.0, 1.10, 1.25, 1.7
ROUNDS = 2
REPEATED = 2000  # a class is graded so often, going up and going down, that it comes to as many
MOST_REPEATS = 5
MEASURED = """
import re
from pathlib import Path
from graders.cli import main
main(standalone_mode=False)
print(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1])
"""
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

    A new process, so that nothing is known from laying out the answers. It tells its own peak:
    what the system counts for a child begins with the memory of this process.
    """
    command = ["grade", "--course", str(folder.path), "--workers", str(workers)]
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, *command], capture_output=True, text=True, check=True
    )
    return time.perf_counter() - begun, int(done.stdout.split()[-1]) / 1024


def again(folder: CourseFolder) -> None:
    """Set every grading aside, so that each run writes everything anew.

    No file is deleted before the end: a disk busy with that would slow the next run down.
    """
    aside = Path(tempfile.mkdtemp(dir=folder.path.parent))
    for name in ("autograded", "history"):
        if (folder.path / name).exists():
            (folder.path / name).rename(aside / name)
    with Nbgrader(folder).gradebook() as book:
        book.db.commit()
        api.Base.metadata.drop_all(book.engine)
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


class Runs:
    """Every run so far, by size of the class and number of processes."""

    def __init__(self) -> None:
        self._runs: dict[tuple[int, int], list[tuple[float, float]]] = {}
        self._loops: dict[int, list[float]] = {1: [], 2: []}

    def add(self, size: int, folder: CourseFolder, workers: int = 1) -> None:
        """Grade a class once more."""
        again(folder)
        self._runs.setdefault((size, workers), []).append(graded(folder, workers))

    def add_loop(self, count: int) -> None:
        """Run bare loops once more."""
        self._loops[count].append(bare(count))

    def seconds(self, size: int, workers: int = 1) -> float:
        """Return the mean seconds of a class."""
        return fmean(seconds for seconds, _ in self._runs[size, workers])

    def memory(self, size: int) -> float:
        """Return the largest memory (MiB) of a class by one process."""
        return max(memory for _, memory in self._runs[size, 1])

    @property
    def possible(self) -> float:
        """Return how many times as fast two bare loops were."""
        return 2 * fmean(self._loops[1]) / fmean(self._loops[2])


def rounds(folders: dict[int, CourseFolder]) -> Runs:
    """Grade every class again and again, up through the sizes and down, the largest by two too."""
    runs, largest = Runs(), max(folders)
    small = [
        size
        for size in sorted(folders)[:-1]
        for _ in range(max(1, min(MOST_REPEATS, REPEATED // size)))
    ]
    for _ in range(ROUNDS):
        for size in small:
            runs.add(size, folders[size])
        for workers in (1, 2):
            runs.add(largest, folders[largest], workers)
            runs.add_loop(workers)
        for size in reversed(small):
            runs.add(size, folders[size])
    return runs


def classes(place: Path, sizes: list[int]) -> dict[int, CourseFolder]:
    """Return a course for each size of a class, its answers laid and its programs read once."""
    url = os.environ.get("TPIECE_BENCH_GRADEBOOK", "")
    folders = {}
    for size in sizes:
        path = place / f"of{size}" / "may"
        folders[size] = work.assign(path, course_id="may", title="May", gradebook=url)
        lay(folders[size], size)
    graded(folders[sizes[0]])
    return folders


def stock(folder: CourseFolder) -> float:
    """Return the seconds that stock autograding takes for one learner's units."""
    nbgrader = Nbgrader(folder)
    begun = time.perf_counter()
    for unit in folder.course.units:
        nbgrader.autograde(unit, "demo00000")
    return time.perf_counter() - begun


def main() -> int:
    """Print the figures; return 1 when one misses its mark."""
    sizes = [1, *(int(text) for text in sys.argv[1:])]
    sizes = sizes if len(sizes) > 1 else [1, 100, 500, 1000]
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as place:
        folders = classes(Path(place), sizes)
        last, units = folders[sizes[-1]], folders[1].course.units
        print(f"{len(units)} units a learner: {', '.join(units)}; gradebook {last.gradebook}")
        runs = rounds(folders)
        theirs = stock(last)
    more = []
    for before, size in pairwise(sizes):
        seconds = runs.seconds(size)
        more.append((seconds - runs.seconds(before)) / (size - before))
        print(
            f"{size:6d} learners: {seconds:6.1f} s, {1000 * seconds / size:6.1f} ms each, "
            f"{1000 * more[-1]:.1f} each one more, peak {runs.memory(size):.0f} MiB"
        )
    largest, later = runs.seconds(sizes[-1]), more[1:] or more
    ratio, flat = theirs / largest * sizes[-1], max(later) / min(later)
    grown, gain = (
        runs.memory(sizes[-1]) / runs.memory(sizes[1]),
        largest / runs.seconds(sizes[-1], 2),
    )
    once = (sizes[1] - 1) * (more[0] - fmean(later))
    print(f"once: the start, {runs.seconds(1):.1f} s, and what {sizes[1]} share, {once:.1f} s")
    print(f"stock autograding: {theirs:.1f} s a learner; ratio {ratio:.0f}")
    print(f"from {sizes[1]} on: cost of one more {flat:.2f} times the least, memory {grown:.2f}")
    print(
        f"two processes: {gain:.2f} times as fast; two bare loops gain {runs.possible:.2f} on "
        "this machine"
    )
    held = ratio >= RATIO and flat <= RISE and grown <= MEMORY
    return 0 if held and gain >= TWICE * min(1.0, runs.possible / 2) else 1


if __name__ == "__main__":
    sys.exit(main())
