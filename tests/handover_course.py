"""A small course, graded for real, whose results are handed over."""

from __future__ import annotations

import shutil
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.marking.personas import answers_of
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

UNITS = ("1_setup_order", "5_interface_sizing")
NAMES = {
    "ada.q7": "Ada Invented",
    "bo.q7": "李 小雨",
    "cy.q7": '=HYPERLINK("x")',
    "dee.q7": "Dee, Only-Listed",
    "eve.q7": "Eve Unreadable",
}
HOLDS = {"ada.q7": "", "bo.q7": "peep-before-pip", "cy.q7": "falls-to-zero"}


def hand_in(folder: CourseFolder, learner: str, holds: str) -> None:
    """Lay a learner's answers to every unit where collected work lies."""
    course = folder.course
    for unit in course.units:
        target = folder.submitted(learner, unit)
        target.mkdir(parents=True)
        shutil.copyfile(folder.path / "release" / unit / f"{unit}.ipynb", target / f"{unit}.ipynb")
        (target / "timestamp.txt").write_text("2026-05-04 10:00:00 UTC")
        drawn = case(course.id, unit, learner, course.book)
        path = answers_path(target / f"{unit}.ipynb")
        file = AnswersFile(path, course.id, unit, learner, course.edition)
        for question, value in answers_of(drawn, course.book, holds).items():
            file.append(question, value)


def handed_in_course(path: Path) -> CourseFolder:
    """Make the course: three have answered, one's file is broken, one has not handed in."""
    roster = path.parent / "people.csv"
    lines = ["learner,name,role,ward", *(f'{id},"{_quoted(n)}",nurse,N' for id, n in NAMES.items())]
    roster.write_text("\n".join(lines), encoding="utf-8")
    folder = work.assign(path, course_id="may", title="May", units=UNITS, roster=roster)
    for learner, holds in HOLDS.items():
        hand_in(folder, learner, holds)
    hand_in(folder, "eve.q7", "")
    broken = folder.submitted("eve.q7", UNITS[0])
    answers_path(broken / f"{UNITS[0]}.ipynb").write_text("not an answers file", encoding="utf-8")
    work.grade(path)
    return folder


def _quoted(name: str) -> str:
    return name.replace('"', '""')
