"""An invented cohort that goes the whole way: fetch, answer, hand in, collect, grade, report."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from graders import work
from graders.coursefolder import CourseFolder
from graders.gradebook import Nbgrader
from graders.personas import answers_of, shows
from workbook.answers import AnswersFile, answers_path
from workbook.cases import case, exercises
from workbook.course import FILE, Course, CourseError

COURSE_ID = "demo-cohort"

# How many of the 24 hold each misconception; the rest hold none.
HELD = {
    "peep-before-pip": 4,
    "flow-any-time": 3,
    "falls-to-zero": 3,
    "bag-not-needed": 2,
    "relief-after-pip": 2,
    "baby-before-pressures": 1,
    "gauge-shows-relief": 1,
    "no-second-look": 1,
    "open-shows-peep": 1,
    "order-is-habit": 1,
    "outlet-open": 1,
    "pip-plus-peep": 1,
    "": 3,
}

_NAMES = [
    *("Aster", "Birch", "Clover", "Dahlia", "Elder", "Fern", "Gentian", "Hazel"),
    *("Iris", "Juniper", "Kelp", "Larch", "Mallow", "Nettle", "Olive", "Poppy"),
    *("Quince", "Rowan", "Sorrel", "Thistle", "Umber", "Vetch", "Willow", "Yarrow"),
]
_ROLES = ("nurse", "respiratory therapist", "resident")
_WARDS = ("Ward North", "Ward South")


@dataclass(frozen=True, slots=True)
class Invented:
    """One invented learner and what they believe."""

    learner: str
    name: str
    role: str
    ward: str
    holds: str


def people(course: Course) -> tuple[Invented, ...]:
    """Return the 24 invented learners, each with a misconception their case can show or none."""
    beliefs = [belief for belief, count in HELD.items() for _ in range(count)]
    waiting = list(beliefs)
    made = []
    for n, name in enumerate(_NAMES):
        learner = f"demo{n + 1:02d}"
        drawn = [case(course.id, unit, learner, course.book) for unit in course.units]
        holds = next(b for b in waiting if not b or any(shows(c, b) for c in drawn))
        waiting.remove(holds)
        role, ward = _ROLES[n % len(_ROLES)], _WARDS[n % len(_WARDS)]
        made.append(Invented(learner, f"{name} Demo", role, ward, holds))
    return tuple(made)


def planted(course: Course) -> Mapping[str, str]:
    """Return which misconception each invented learner holds."""
    return {person.learner: person.holds for person in people(course)}


def run_demo(path: Path, *, say: Callable[[str], None]) -> tuple[Path, Path]:
    """Send the invented cohort through the same files and commands as a real one."""
    _clear(path)
    path.mkdir(parents=True, exist_ok=True)
    roster = path / "people.csv"
    course = Course(COURSE_ID, "Invented cohort", units=exercises())
    _write_roster(roster, people(course))
    say("Making the course and giving out its units.")
    folder = work.assign(path, course_id=course.id, title=course.title, roster=roster)
    say("24 invented learners answer and hand in.")
    _hand_in(folder)
    for line in work.collect(path):
        say(line)
    run = work.grade(path, progress=True)
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


def _write_roster(path: Path, persons: tuple[Invented, ...]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("learner", "name", "role", "ward"))
        writer.writerows((p.learner, p.name, p.role, p.ward) for p in persons)


def _hand_in(folder: CourseFolder) -> None:
    course, nbgrader = folder.course, Nbgrader(folder)
    for person in people(course):
        own = folder.path / "learners" / person.learner
        for unit in course.units:
            shutil.copytree(folder.exchange / course.id / "outbound" / unit, own / unit)
            _answer(own / unit, course, unit, person)
            nbgrader.submit(unit, person.learner, own)


def _answer(folder: Path, course: Course, unit: str, person: Invented) -> None:
    drawn = case(course.id, unit, person.learner, course.book)
    path = answers_path(folder / f"{unit}.ipynb")
    labels = [{"id": q.id, "label": q.label} for q in drawn.questions]
    file = AnswersFile(path, course.id, unit, person.learner, course.edition, labels)
    for question, value in answers_of(drawn, course.book, person.holds).items():
        file.append(question, value)
