"""A course on disk: its settings, its roster and the folders nbgrader works in."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from string import Template

from graders.course.roster import Person, read_roster
from workbook.core.language import ENGLISH, speaking
from workbook.course.pages import translated
from workbook.course.settings import FILE, PROTOCOL, Course, CourseError, read_course
from workbook.start.given import SUFFIX

ROSTER = "roster.csv"
CONFIG = "nbgrader_config.py"

_CONFIG_TEXT = Template(Path(__file__).with_name("nbgrader_config.in").read_text(encoding="utf-8"))


@dataclass(frozen=True)
class CourseFolder:
    """The folder of one course."""

    path: Path

    @property
    def course(self) -> Course:
        """Return the course's settings."""
        return read_course(self.path)

    @property
    def exchange(self) -> Path:
        """Return the folder through which work is given out and handed in."""
        return self.path / "exchange"

    @property
    def course_file(self) -> Path:
        """Return the one file that holds what the course gives out, to be sent."""
        return self.path / f"{self.course.id}{SUFFIX}"

    @property
    def gradebook_url(self) -> Path:
        """Return the file that holds a database server's address, if the course has one."""
        return self.path / "gradebook.url"

    @property
    def gradebook(self) -> str:
        """Return where the scores are, without a password."""
        if not self.gradebook_url.is_file():
            return str(self.path / "gradebook.db")
        return re.sub(r"//[^@/]*@", "//", self.gradebook_url.read_text(encoding="utf-8").strip())

    def submitted(self, learner: str, unit: str) -> Path:
        """Return where a learner's collected work lies."""
        return self.path / "submitted" / learner / unit

    def autograded(self, learner: str, unit: str) -> Path:
        """Return where a learner's marked work lies."""
        return self.path / "autograded" / learner / unit

    def released(self, unit: str) -> Path:
        """Return the page that learners fetched, of which each marked page is made."""
        return self.path / "release" / unit / f"{unit}.ipynb"

    def learners_with_work(self, unit: str) -> Iterator[str]:
        """Yield every learner whose work on a unit was collected, in order of id."""
        root = self.path / "submitted"
        if not root.is_dir():
            return
        for folder in sorted(root.iterdir()):
            if _is_folder(folder) and _is_folder(folder / unit):
                yield folder.name

    def collected(self) -> Iterator[str]:
        """Yield every id under which work was collected, in order."""
        root = self.path / "submitted"
        yield from sorted(each.name for each in root.iterdir()) if root.is_dir() else ()

    def linked(self) -> Iterator[Path]:
        """Yield what lies among collected work as a link: it is never followed."""
        root = self.path / "submitted"
        for folder in sorted(root.iterdir()) if root.is_dir() else ():
            if folder.is_symlink():
                yield folder
            elif folder.is_dir():
                yield from (unit for unit in sorted(folder.iterdir()) if unit.is_symlink())

    def roster(self) -> dict[str, Person]:
        """Return the people of the course by learner id; empty when no roster was given.

        Raises CourseError naming every line that cannot be used.
        """
        path = self.path / ROSTER
        return read_roster(path) if path.is_file() else {}


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()


def exercise_source(unit: str) -> Path:
    """Return the folder an exercise is shipped in."""
    here = Path(__file__).parents[1]
    homes = [here.parent / "source_exercises", here / "source_exercises"]
    found = next((home / unit for home in homes if (home / unit).is_dir()), None)
    if found is None:
        raise CourseError(f"There is no exercise {unit!r} in this installation.")
    return found


_OTHERS = 0o077
_OTHERS_PASS = 0o7711  # they may pass through to the exchange, and see nothing on the way


def lay_out(path: Path, course: Course) -> CourseFolder:
    """Make a course folder, or bring an existing one up to date with its settings.

    Raises CourseError when the folder cannot be written.
    """
    try:
        for name in ("source_exercises", "exchange", "submitted", "autograded"):
            (path / name).mkdir(parents=True, exist_ok=True)
        # Learners of other accounts hand in here; sticky, so that none moves what is another's.
        (path / "exchange").chmod(0o1777)
        (path / CONFIG).write_text(_CONFIG_TEXT.substitute(id=course.id), encoding="utf-8")
        if not (path / FILE).is_file():
            (path / FILE).write_text(course.text(), encoding="utf-8")
        for unit in course.units:
            _lay_out_unit(path, unit, course.language)
    except OSError as error:
        raise CourseError(unwritable(path, error)) from None
    close(path)
    return CourseFolder(path)


def close(path: Path) -> None:
    """Close a course to all but its owner; only the exchange in it can be reached by others.

    A folder that is closed further, as a hub closes it, is not opened.
    """
    if os.name != "posix":
        return  # there a folder belongs to its account by itself
    try:
        path.chmod(path.stat().st_mode & _OTHERS_PASS)
        with os.scandir(path) as found:
            for each in found:
                if each.name != "exchange" and not each.is_symlink():
                    with suppress(FileNotFoundError):  # a lock, or a draft of another command
                        mode = each.stat(follow_symlinks=False).st_mode
                        if mode & _OTHERS:
                            Path(each.path).chmod(mode & ~_OTHERS)
    except PermissionError:
        return  # another account's course, which it is for that account to close


def unwritable(path: Path, error: OSError) -> str:
    """Return what is said of a course folder that cannot be written."""
    return (
        f"{path} cannot be written ({error.strerror or error}). Choose another folder, for "
        "example: tpiece assign --course ~/my-course"
    )


def _lay_out_unit(path: Path, unit: str, language: str) -> None:
    source, target = exercise_source(unit), path / "source_exercises" / unit
    ignore = shutil.ignore_patterns(".ipynb_checkpoints", "*.answers.jsonl", ".*")
    shutil.copytree(source, target, dirs_exist_ok=True, ignore=ignore)
    if language != ENGLISH:  # before nbgrader takes its checksums of the cells it locks
        for page in target.glob("*.ipynb"):
            _translate(page, language)
    # The settings travel with the work, so a learner's case is drawn for this course.
    for name in (FILE, PROTOCOL):
        if (path / name).is_file():
            shutil.copyfile(path / name, target / name)


def _translate(page: Path, language: str) -> None:
    with speaking(language):
        said = translated(json.loads(page.read_text(encoding="utf-8")))
    page.write_text(json.dumps(said, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


__all__ = [
    "CONFIG",
    "ROSTER",
    "CourseFolder",
    "Person",
    "close",
    "exercise_source",
    "lay_out",
    "read_roster",
    "unwritable",
]
