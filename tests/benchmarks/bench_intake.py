"""What much of everything costs: ``python -m tests.benchmarks.bench_intake [ROWS FILES]``.

A roster of a hundred thousand rows, an answers file of 100 MB, an inbox of ten thousand files:
time and the most memory each takes, every part in a process of its own.
"""

from __future__ import annotations

import os
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.course.roster import read_roster
from graders.handed_in.exchange import collect_all
from graders.handed_in.inbox import take_in
from graders.tasks import work
from workbook.core.answer_sheet import AnswerFileError, answers_path, read_answers
from workbook.core.answers import AnswersFile
from workbook.course.settings import FILE, Course

UNIT = "1_setup_order"


def measured(what: str, does: Callable[[Path], object], place: Path) -> None:
    """Run something in a process of its own and print what it took."""
    process = get_context("fork").Process(target=_measure, args=(what, does, place))
    process.start()
    process.join()


def _measure(what: str, does: Callable[[Path], object], place: Path) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    begun = time.perf_counter()
    said = does(place)
    took = time.perf_counter() - begun
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{what:44} {took:8.2f} s  {before:6.0f} -> {most:6.0f} MiB  {said}", flush=True)


def roster(path: Path, rows: int) -> Path:
    lines = (
        f"demo{n:06d},Invented Person {n},nurse,Ward {n % 40},Site {n % 7}" for n in range(rows)
    )
    path.write_text("learner,name,role,ward,site\n" + "\n".join(lines) + "\n")
    return path


def inbox(place: Path, files: int) -> None:
    place.mkdir()
    for n in range(files):
        file = AnswersFile(place / f"{n}.jsonl", "may", UNIT, f"demo{n:06d}", Course().edition)
        file._lock_path.touch()
        text = "\n".join(
            [file._header()]
            + [f'{{"n": {k}, "question": "order", "value": "{k}", "at": "2026-05-04T10:00:0{k}Z"}}'
               for k in range(2, 10)]
        )  # fmt: skip
        file.path.write_text(text + "\n")


def course(place: Path, rows: int) -> CourseFolder:
    path = place / "may"
    (path / "exchange" / "may" / "inbound").mkdir(parents=True)
    (path / FILE).write_text(Course("may", "May", units=(UNIT,)).text())
    shutil.copyfile(place / "people.csv", path / "roster.csv")
    return CourseFolder(path)


def main(rows: int = 100_000, files: int = 10_000) -> None:
    with tempfile.TemporaryDirectory(prefix="tpiece-bench-") as made:
        place = Path(made)
        roster(place / "people.csv", rows)
        measured(f"roster of {rows} rows read", lambda p: len(read_roster(p / "people.csv")), place)
        measured("course given out to that roster", _assigned, place)
        measured("answers file of 100 MB", _large, place)
        inbox(place / "inbox", files)
        folder = course(place, rows)
        measured(f"inbox of {files} files, first time", lambda p: _taken(folder, p), place)
        measured(f"inbox of {files} files, again", lambda p: _taken(folder, p), place)
        inbound = folder.exchange / "may" / "inbound"
        for n in range(files):
            target = inbound / f"demo{n:06d}+{UNIT}+2026-05-05 10:00:00 UTC+x"
            target.mkdir()
            shutil.copyfile(place / "inbox" / f"{n}.jsonl", answers_path(target / f"{UNIT}.ipynb"))
        measured(f"letter box of {files}", lambda p: len(list(collect_all(folder, [UNIT]))), place)


def _assigned(place: Path) -> str:
    made = work.assign(place / "given", course_id="may", units=[UNIT], roster=place / "people.csv")
    return f"{len(made.roster())} people"


def _large(place: Path) -> str:
    path = place / "large.jsonl"
    path.write_text('{"format": "tpiece-answers/1"}\n')
    os.truncate(path, 100 * 2**20)
    try:
        read_answers(path)
    except AnswerFileError as error:
        return str(error)[:60]
    return "read"


def _taken(folder: CourseFolder, place: Path) -> str:
    found = list(take_in(folder, place / "inbox"))
    return f"{sum(one.new for one in found)} new of {len(found)}"


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
