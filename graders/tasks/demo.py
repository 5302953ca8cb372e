"""An invented cohort that goes the whole way: fetch, answer, hand in, collect, grade, report."""

from __future__ import annotations

import csv
import json
import os
import shutil
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.course.roster import COLUMNS
from graders.nbgrader.gradebook import Nbgrader
from graders.tasks import work
from graders.tasks.invented import Invented, answers, people
from workbook.cases import case, exercises
from workbook.core.answer_sheet import FORMAT, answers_path
from workbook.core.answers import AnswersFile
from workbook.course.settings import FILE, Course, CourseError, read_course

COURSE_ID = "demo-cohort"
LEARNERS = 24
BULK = 200  # learners from which answers are laid where collected work lies
BATCH = 25  # learners whose answers one process lays at a time
WHEN = "2026-05-04 10:00:00 UTC"  # invented, and the same at every run


def run_demo(
    path: Path, *, learners: int = LEARNERS, say: Callable[[str], None]
) -> tuple[Path, ...]:
    """Send an invented cohort through the same files and commands as a real one.

    A large one hands in as answers files that came another way. Raises CourseError when the
    folder holds something else than a demo.
    """
    _clear(path)
    path.mkdir(parents=True, exist_ok=True)
    roster = path / "people.csv"
    course = Course(COURSE_ID, "Invented cohort", units=exercises())
    invented = tuple(people(course, learners))
    _write_roster(roster, invented)
    say("Making the course and giving out its units.")
    folder = work.assign(path, course_id=course.id, title=course.title, roster=roster)
    say(f"{learners} invented learners answer and hand in.")
    bulk = learners >= BULK
    if bulk:
        lay(folder, invented)
    else:
        _hand_in(folder, invented)
        for taken in work.collect(path):
            if not (taken.new and taken.learner):  # each of them would be a line
                say(taken.says)
    run = work.grade(path, progress=True, workers=(os.cpu_count() or 1) if bulk else 1)
    say(f"Graded {run.graded} of {run.found} submissions.")
    return work.report(path)


def _clear(path: Path) -> None:
    """Remove an earlier demo; a folder that is anything else is left alone."""
    if not path.exists() or not any(path.iterdir()):
        return
    settings = path / FILE
    if not settings.is_file() or f'id = "{COURSE_ID}"' not in settings.read_text(encoding="utf-8"):
        raise CourseError(f"{path} holds something else than a demo. Name an empty folder.")
    shutil.rmtree(path)


def _write_roster(path: Path, invented: Iterable[Invented]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        writer.writerows([getattr(one.person, name) for name in COLUMNS] for one in invented)


def _hand_in(folder: CourseFolder, invented: Iterable[Invented]) -> None:
    course, nbgrader = folder.course, Nbgrader(folder)
    book = course.book
    for one in invented:
        learner = one.person.learner
        own = folder.path / "learners" / learner
        for unit in course.units:
            if unit in one.skips:
                continue
            shutil.copytree(folder.exchange / course.id / "outbound" / unit, own / unit)
            drawn = case(course.id, unit, learner, book)
            labels = [{"id": q.id, "label": q.label} for q in drawn.questions]
            target = answers_path(own / unit / f"{unit}.ipynb")
            file = AnswersFile(target, course.id, unit, learner, course.edition, labels)
            for question, value in answers(drawn, book, one.holds).items():
                file.append(question, value)
            nbgrader.submit(unit, learner, own)


def lay(folder: CourseFolder, invented: Sequence[Invented]) -> None:
    """Lay answers files where collected work lies, by all processors of this machine."""
    parts = [invented[n : n + BATCH] for n in range(0, len(invented), BATCH)]
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn")) as pool:
        for done in [pool.submit(_lay, str(folder.path), part) for part in parts]:
            done.result()


def _lay(path: str, part: Iterable[Invented]) -> None:
    course, folder = _course(path), CourseFolder(Path(path))
    for one in part:
        for unit in course.units:
            if unit in one.skips:
                continue
            target = folder.submitted(one.person.learner, unit)
            target.mkdir(parents=True)
            text = _sheet(course, unit, one)
            answers_path(target / f"{unit}.ipynb").write_text(text, encoding="utf-8")
            (target / "timestamp.txt").write_text(WHEN, encoding="utf-8")


@lru_cache(maxsize=1)
def _course(path: str) -> Course:
    return read_course(Path(path))


def _sheet(course: Course, unit: str, one: Invented) -> str:
    """Return an answers file as a learner's page leaves it; without waiting for the disk."""
    learner, book = one.person.learner, course.book
    drawn = case(course.id, unit, learner, book)
    rows = [
        {"n": 1, "format": FORMAT, "course": course.id, "exercise": unit, "learner": learner,
         "edition": course.edition, "at": "", "questions": []},
        *({"n": n, "question": question, "value": value, "at": "", "client": "", "seq": 0}
          for n, (question, value) in enumerate(answers(drawn, book, one.holds).items(), start=2)),
    ]  # fmt: skip
    return "".join(f"{json.dumps(row, ensure_ascii=False)}\n" for row in rows)
