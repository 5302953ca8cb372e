"""Everything asked of nbgrader: give out, collect, record scores in its own gradebook."""

from __future__ import annotations

import logging
import os
import shutil
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError, SQLAlchemyError

from graders.course.coursefolder import CONFIG, CourseFolder
from workbook.core.whose import LEARNER
from workbook.course.settings import CourseError

EXCHANGE_WORKS = os.name != "nt"  # nbgrader's exchange does not exist on Windows


class GradebookError(RuntimeError):
    """nbgrader could not do what was asked; the message is one sentence."""


def unreachable(error: DBAPIError) -> str:
    """Return one sentence for a database that is locked, full or away."""
    reason = str(error.orig).splitlines()[0][:120]
    return (
        f"The gradebook cannot be used just now ({reason}). Nothing was half written; "
        "grade again when it can be reached."
    )


class Nbgrader:
    """nbgrader's own commands on one course, run in this process."""

    def __init__(self, folder: CourseFolder) -> None:
        from traitlets.config import Config, PyFileConfigLoader
        from traitlets.log import get_logger

        from graders.nbgrader.quick import NbGraderAPI

        _find_programs()
        get_logger().setLevel(logging.ERROR)
        # nbgrader's own use of its tables; known to be harmless.
        warnings.filterwarnings("ignore", message=".*not in session, add operation along.*")
        self.folder = folder
        if not (folder.path / CONFIG).is_file():
            raise half_made(folder.path, CONFIG)
        self.config: Config = PyFileConfigLoader(CONFIG, path=str(folder.path)).load_config()
        self.api: Any = NbGraderAPI(config=self.config, log_level=logging.ERROR)

    def generate(self, unit: str) -> None:
        """Make the learners' version of a unit, and its entries in the gradebook."""
        self._do(lambda: self.api.generate_assignment(unit, force=True, create=True), unit)

    def release(self, unit: str) -> None:
        """Make the learners' version of a unit and put it where they fetch it."""
        self.generate(unit)
        released = self.folder.exchange / self.folder.course.id / "outbound" / unit
        if not EXCHANGE_WORKS:
            shutil.copytree(self.folder.path / "release" / unit, released, dirs_exist_ok=True)
            return
        if released.exists():  # a second release replaces the first; work handed in stays
            self.api.unrelease(unit)
        self._do(lambda: self.api.release_assignment(unit), unit)

    def submit(self, unit: str, learner: str, own: Path) -> None:
        """Hand in a unit for a learner, from the folder that holds the learner's own copy."""
        from nbgrader.auth import Authenticator
        from nbgrader.coursedir import CourseDirectory
        from nbgrader.exchange import ExchangeFactory
        from traitlets.config import Config

        config = Config(self.config)
        config.CourseDirectory.update(assignment_id=unit, student_id=learner)
        config.Exchange.assignment_dir = str(own)
        coursedir = CourseDirectory(config=config)
        submit = ExchangeFactory(config=config).Submit
        submit(
            coursedir=coursedir, authenticator=Authenticator(config=config), config=config
        ).start()

    def collect(self, unit: str) -> None:
        """Bring every learner's latest handed-in work into the course folder."""
        if EXCHANGE_WORKS:
            self._do(lambda: self.api.collect(unit, update=True), unit)

    def autograde(self, unit: str, learner: str) -> None:
        """Let stock nbgrader run and mark one submission."""
        before = os.environ.get(LEARNER)
        try:
            self._do(lambda: self.api.autograde(unit, learner, force=True, create=True), unit)
        finally:  # the learner was named for the kernel only, see nbgrader_seam
            os.environ.pop(LEARNER, None)
            if before is not None:
                os.environ[LEARNER] = before

    def feedback(self, unit: str, learner: str) -> None:
        """Write nbgrader's feedback page of one learner."""
        self._do(lambda: self.api.generate_feedback(unit, learner, force=True), unit)

    def _do(self, work: Callable[[], dict[str, Any]], unit: str) -> None:
        reply = work()
        if not reply.get("success"):
            raise GradebookError(f"{unit}: {_last_line(reply)}")

    @contextmanager
    def gradebook(self) -> Iterator[Any]:
        """Open nbgrader's gradebook.

        Raises GradebookError when it cannot be reached, is damaged, or turns out to be.
        """
        try:
            with self.api.gradebook as book:
                yield book
        except (OperationalError, InterfaceError) as error:
            raise GradebookError(self._unusable(error)) from error
        except SQLAlchemyError as error:
            raise GradebookError(self._damaged(error)) from error

    def _unusable(self, error: DBAPIError) -> str:
        reason = str(error.orig)
        broken = any(says in reason for says in ("no such", "malformed", "disk I/O", "not a data"))
        return self._damaged(error) if broken else unreachable(error)

    def _damaged(self, error: SQLAlchemyError) -> str:
        reason = str(getattr(error, "orig", None) or error).splitlines()[0][:120]
        return (
            f"The gradebook {self.folder.gradebook} is damaged ({reason}). Put it back from a "
            "copy. Without one move it away and run: tpiece grade, which makes it anew from the "
            "work collected; only scores and comments given by hand are lost."
        )


def half_made(path: Path, what: str) -> CourseError:
    """Return what is said of a course folder that was not made to the end."""
    return CourseError(
        f"{path} is a course that was not made to the end: {what} is missing. Nothing handed in "
        f"is lost; run again: tpiece assign --course {path}"
    )


def _find_programs() -> None:
    """Put this environment's programs on the path: nbgrader starts alembic by its name."""
    own, path = str(Path(sys.executable).parent), os.environ.get("PATH", os.defpath)
    if own not in path.split(os.pathsep):
        os.environ["PATH"] = os.pathsep.join([own, path])


def _last_line(reply: dict[str, Any]) -> str:
    text = str(reply.get("error") or reply.get("log") or "nbgrader gave no reason").strip()
    return text.splitlines()[-1]
