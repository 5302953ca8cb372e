"""A small course with verdicts on disk, for the tests of the lab's commands."""

from __future__ import annotations

from pathlib import Path

from graders.course.coursefolder import CourseFolder, lay_out
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded, write_verdict
from graders.marking.personas import answers_of
from workbook.cases import case
from workbook.course.settings import Course

UNIT = "1_setup_order"
HELD = ["peep-before-pip"] * 4 + ["falls-to-zero"] * 3 + ["bag-not-needed"] + [""] * 3
COURSE = Course("may", "Invented course, May", units=(UNIT,))
LEARNERS = tuple(f"nurse{n:02d}" for n in range(len(HELD)))


def marked(learner: str, holds: str) -> Graded:
    """Return the verdict of a learner who holds one misconception, or none."""
    drawn = case(COURSE.id, UNIT, learner, COURSE.book)
    verdicts = mark_all(drawn, answers_of(drawn, COURSE.book, holds), COURSE.book)
    when = "2026-05-04 10:00:00 UTC"
    return Graded(learner, UNIT, COURSE.edition, verdicts, (), when, "abc", "1.0")


def graded_course(path: Path) -> Path:
    """Make the folder of a course with a roster and a verdict for each of its learners."""
    path.mkdir()
    lay_out(path, COURSE)
    lines = [f"{id},Demo {n},nurse,North" for n, id in enumerate(LEARNERS)]
    (path / "roster.csv").write_text("\n".join(["learner,name,role,ward", *lines]))
    folder = CourseFolder(path)
    for learner, holds in zip(LEARNERS, HELD, strict=True):
        home = folder.autograded(learner, UNIT)
        home.mkdir(parents=True)
        write_verdict(marked(learner, holds), home)
    return path
