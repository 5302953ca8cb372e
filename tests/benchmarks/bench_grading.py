"""How fast a class is graded, beside stock autograding of the very same submissions.

Run ``python -m tests.benchmarks.bench_grading [LEARNERS ...]`` (100 and 1000 unless given). It
prints milliseconds a learner with every unit there is, the whole command ``tpiece grade`` in a
process of its own, gradebook and marked pages included, and the same less the time for a class of
one, which is the start; what each learner more costs than in the class before; how flat that cost
and the memory stay; what a second process brings, by the best of three runs of each in turn on a
class of 1000 at most, beside what two bare loops of Python gain on this machine between those
runs, where two busy processors may each be slower than one alone; and the ratio of the whole to
stock autograding of one learner's units in the same run. It ends with 1 when the ratio at the
largest class is below 300, when a learner there costs a tenth more than in any smaller class,
start aside, or when two processes are less than 1.7 times as fast as one: less than 0.85 times
what two bare loops gain, where those do not gain 2. A database server can be given by
TPIECE_BENCH_GRADEBOOK.
"""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from graders import work
from graders.coursefolder import CourseFolder
from graders.gradebook import Nbgrader
from graders.marking import model_answers
from workbook.answers import AnswersFile, answers_path
from workbook.cases import case

RATIO, RISE, TWICE = 300.0, 1.10, 1.7
PAIRED, TIMES = 1000, 3  # learners and runs of the comparison with two processes
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


def two_processes(folder: CourseFolder, size: int) -> tuple[float, float]:
    """Return how many times as fast two processes are, and what two bare loops gain.

    Each by the best of some runs, all in turn.
    """
    best = {1: math.inf, 2: math.inf}
    loops = {1: math.inf, 2: math.inf}
    for _ in range(TIMES):
        for workers in best:
            again(folder)
            best[workers] = min(best[workers], graded(folder, workers)[0])
            loops[workers] = min(loops[workers], bare(workers))
    gain, possible = best[1] / best[2], 2 * loops[1] / loops[2]
    print(
        f"{size:6d} learners, two processes: {gain:.2f} times as fast; two bare loops gain "
        f"{possible:.2f} on this machine"
    )
    return gain, possible


def main() -> int:
    """Print the figures; return 1 when one misses its mark."""
    sizes = [int(text) for text in sys.argv[1:]] or [100, 1000]
    url = os.environ.get("TPIECE_BENCH_GRADEBOOK", "")
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as place:
        folder = work.assign(Path(place) / "may", course_id="may", title="May", gradebook=url)
        units = folder.course.units
        print(f"{len(units)} units a learner: {', '.join(units)}; gradebook {folder.gradebook}")
        lay(folder, 1)
        graded(folder)  # files and programs read once, as on any day but the first
        again(folder)
        start, _ = graded(folder)
        print(f"a class of one: {start:.1f} s")
        costs, added, before, gain = [], [], (1, start), 0.0
        for size in sizes:
            lay(folder, size)
            if not gain and (size >= PAIRED or size == sizes[-1]):
                gain, possible = two_processes(folder, size)
            again(folder)
            seconds, memory = graded(folder)
            costs.append(seconds / size)
            added.append((seconds - start) / (size - 1))
            more = (seconds - before[1]) / (size - before[0])
            before = size, seconds
            print(
                f"{size:6d} learners: {1000 * costs[-1]:6.1f} ms each, {1000 * added[-1]:.1f} "
                f"without the start, {1000 * more:.1f} each one more, peak {memory:.0f} MiB"
            )
        stock = Nbgrader(folder)
        begun = time.perf_counter()
        for unit in units:
            stock.autograde(unit, "demo00000")
        theirs = time.perf_counter() - begun
        ratio = theirs / costs[-1]
        print(f"stock autograding: {theirs:.1f} s a learner; ratio {ratio:.0f}")
        rise = added[-1] / min(added)
        print(f"cost at {sizes[-1]} over the least cost, start aside: {rise:.2f}")
    wanted = TWICE * min(1.0, possible / 2)
    return 0 if ratio >= RATIO and rise <= RISE and gain >= wanted else 1


if __name__ == "__main__":
    sys.exit(main())
