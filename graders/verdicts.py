"""All verdicts of a course as a stream: ten thousand learners never stand in memory at once."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from graders.coursefolder import CourseFolder
from graders.grade import VERDICT_FILE, Graded, read_verdict
from workbook.course import CourseError


def verdicts(folder: CourseFolder) -> Iterator[Graded]:
    """Yield every verdict of a course, in order of learner and unit.

    Raises CourseError naming a verdict that cannot be read.
    """
    for path in verdict_files(folder):
        try:
            yield read_verdict(path)
        except (ValueError, KeyError, TypeError) as error:
            raise CourseError(
                f"{path} is no verdict of this version ({type(error).__name__}). Run again: "
                "tpiece grade"
            ) from error
        except OSError as error:
            raise CourseError(f"{path} cannot be read ({error.strerror}).") from error


def verdict_files(folder: CourseFolder) -> Iterator[Path]:
    """Yield where every verdict lies, in order of learner and unit."""
    root = str(folder.path / "autograded")
    for learner in _folders(root):
        for unit in _folders(f"{root}/{learner}"):
            path = f"{root}/{learner}/{unit}/{VERDICT_FILE}"
            if os.path.isfile(path):  # noqa: PTH113  # a Path for each doubles the time
                yield Path(path)


def _folders(path: str) -> list[str]:
    try:
        with os.scandir(path) as found:
            return sorted(each.name for each in found if each.is_dir())
    except FileNotFoundError:
        return []
