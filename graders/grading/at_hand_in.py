"""Marks a learner's work as soon as it is handed in, in the server of the learner's own machine.

Loaded by ``tpiece open`` only: on a hub learners' servers can read neither answers nor marking.
What is found is for the learner; the coordinator collects and grades the same work as ever.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from workbook.core.whose import whoami
from workbook.course.handed import sent
from workbook.course.result import own
from workbook.course.settings import read_course

MODULE = "graders.grading.at_hand_in"
UNTIL_OPEN = 8.0  # s after its start in which a server has its first pages to hand out


def mark_now(folder: Path, unit: str) -> bool:
    """Mark what was handed in last of a unit into the learner's folder; False if nothing is due.

    Raises CourseError or OSError.
    """
    course, learner = read_course(folder), whoami()
    work = next(sent(folder, course.id, learner, unit), None)
    if not course.at_hand_in or unit not in course.units or work is None:
        return False
    from graders.grading.grade import grade
    from graders.grading.result import marked_values, result_of, write

    graded = grade(work, course, unit, learner)
    write(result_of(graded, course, marked_values(work, graded)), own(folder, unit))
    return True


def get_ready(folder: Path) -> None:
    """Load what the first marking in a learner's folder would wait for, if there can be one.

    Raises CourseError.
    """
    if not read_course(folder).at_hand_in:
        return
    from graders.grading import result  # noqa: F401  # it brings along all that marks
    from workbook.core.quantities import registry

    registry()


def _jupyter_server_extension_points() -> list[dict[str, Any]]:
    return [{"module": MODULE}]


def _load_jupyter_server_extension(server: Any) -> None:
    from tornado.ioloop import IOLoop

    from workbook.room.server import MARKER, MARKS

    server.web_app.settings[MARKER] = mark_now
    folder = Path(server.root_dir).expanduser()
    IOLoop.current().call_later(UNTIL_OPEN, MARKS.submit, get_ready, folder)
