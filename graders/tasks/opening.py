"""Opening a course on this machine: the demo's, one that was given out, or one at an address."""

from __future__ import annotations

import shutil
import webbrowser
from collections.abc import Callable
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.grading.at_hand_in import MODULE as MARKS_HERE
from graders.tasks.work import asks_about, assign
from workbook.core.whose import whoami
from workbook.course.settings import FEEDBACK, FILE, PROTOCOL, CourseError
from workbook.start import launch
from workbook.start.given import given_at, is_address


def open_workbook(
    home: Path,
    learner: str | None,
    *,
    browser: bool,
    port: int | None,
    say: Callable[[str], None],
    language: str | None = None,
    edition: str | None = None,
    workshop: bool = False,
) -> int:
    """Open JupyterLab on a learner's folder; the first time a demo course is made ready."""
    learner = learner or whoami()
    course_path = home / "course"
    if not (course_path / FILE).is_file():
        say("Making a demo course ready; this takes about a minute.")
        assign(
            course_path,
            course_id="demo",
            title="Demo course",
            language=language,
            edition=edition,
            feedback=FEEDBACK[1],
        )
    folder = CourseFolder(course_path)
    if edition not in (None, folder.course.edition):
        raise CourseError(
            f"The course in {course_path} asks about {folder.course.edition}, and its answers too. "
            f"For another edition name another folder: tpiece open --folder FOLDER "
            f"--edition {edition}"
        )
    say(f"{asks_about(folder.course)} For another: tpiece open --folder FOLDER --edition EDITION")
    if language not in (None, folder.course.language):
        say(
            "Putting the course into another language; this takes about a minute. "
            "Exercises that were opened before stay in the language they were opened in."
        )
        folder = assign(course_path, language=language)
    own = home / "learners" / learner
    lessons = Path(launch.__file__).parents[1] / "lessons"
    launch.prepare_learner(
        own,
        learner=learner,
        course_id=folder.course.id,
        exchange=folder.exchange,
        lessons=lessons,
        course_text=folder.course.text(),
        extensions=[MARKS_HERE],
    )
    if folder.course.protocol:
        shutil.copyfile(course_path / PROTOCOL, own / PROTOCOL)
    return launch.launch(own, learner=learner, browser=browser, port=port, workshop=workshop)


def open_given(
    home: Path,
    place: str,
    learner: str | None,
    *,
    browser: bool,
    port: int | None,
    say: Callable[[str], None],
    workshop: bool = False,
) -> int:
    """Open a course that somebody gave out: at an address, in a folder, or as one file."""
    if is_address(place):
        say(f"The course is at {place}")
        if browser:
            webbrowser.open(place)
        return 0
    learner = learner or whoami()
    given = given_at(Path(place), home)
    own = given.lay(home / "courses" / given.course_id / learner, learner, [MARKS_HERE])
    return launch.launch(own, learner=learner, browser=browser, port=port, workshop=workshop)
