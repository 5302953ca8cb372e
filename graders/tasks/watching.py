"""`tpiece grade --watch`: marks what is handed in as it arrives, by the same way in as ever.

For a hub whose course is marked at hand-in: there learners' servers can read neither answers nor
marking, so the coordinator's account does it beside them. Whatever is found is the same as what
`tpiece collect` and `tpiece grade` find.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from threading import Event
from typing import Any

from graders.core.alone import HUB, WATCHING, BusyError, alone
from graders.course.coursefolder import ROSTER, CourseFolder
from graders.grading.run import BATCH, Job, jobs
from graders.handed_in.exchange import collect_all, named
from graders.nbgrader.gradebook import GradebookError
from graders.tasks import work
from workbook.core.answer_sheet import answers_path
from workbook.core.errors import PlainError
from workbook.core.moments import written
from workbook.core.quantities import registry
from workbook.course.handed import TIMESTAMP, digest
from workbook.course.result import came_back
from workbook.course.settings import FILE, Course, CourseError

EVERY, AGAIN = 1.0, 10.0  # s between two looks; and after something that failed
ANYWAY = 60.0  # s after which names are looked at although the folder says that none is new
SETTLED = 2 * 10**9  # ns in which a folder may change twice and bear one time
WHOLE = 30.0  # s in which a folder that was begun is written to its end
TURN = 5.0  # s for another that watches to end, as when a hub starts anew
UNDER_WAY = ".watch.batch"  # in the course, while a batch is marked and recorded
MISTAKES = (PlainError, GradebookError, ValueError, OSError)

Stamp = tuple[int, ...]
Say = Callable[[str, bool], None]  # a line, and whether it tells of something wrong


class Watch:
    """Looks into a course's letter box, and marks what is new in it."""

    def __init__(self, path: Path, say: Say) -> None:
        self.folder, self.say = CourseFolder(path), say
        self.course = _at_hand_in(self.folder)
        self.todo: dict[Job, None] = {}  # in the order in which it came
        self.unmarked: set[tuple[str, str]] = set()
        self._settings, self._box_changed, self._looked = self._stamp(), 0, 0.0
        self._settled = False
        self._seen: set[str] = set()
        self._begun: dict[str, float] = {}
        self._trouble = ""
        self._hub = int(os.environ.get(HUB, "0"))

    def run(self, stop: Event) -> None:
        """Mark until told to stop, or until the hub that started this is gone."""
        with alone(self.folder.path, WATCHING, TURN):
            self.todo |= dict.fromkeys(self._left_over())
            self._get_ready()
            while not stop.is_set() and os.getppid() == (self._hub or os.getppid()):
                stop.wait(self._kept_up())

    def _get_ready(self) -> None:
        """Load what the first batch would wait for."""
        registry()
        with suppress(*MISTAKES):  # what is wrong is told once there is something to mark
            work.grade(self.folder.path, only=(), patience=0)

    def _kept_up(self) -> float:
        """Look once, say what is wrong instead of ending for it, and return when to look again."""
        try:
            return 0.0 if self.look() else EVERY
        except BusyError:
            return EVERY  # the coordinator grades: what waits is marked then, or after that
        except MISTAKES as error:
            if str(error) != self._trouble:
                self._trouble = str(error)
                self.say(self._trouble, True)
            return AGAIN

    def look(self) -> bool:
        """Take in and mark what is new; say whether more waits."""
        if (settings := self._stamp()) != self._settings:
            self._seen.clear()  # who was on no roster may be on it now
            self.course, self._settings = _at_hand_in(self.folder), settings
        new = self._new()
        taken = self._take_in(new) if new else 0
        batch = list(islice(self.todo, BATCH))
        if batch:
            self._mark(batch, taken)
        self._trouble = ""
        return bool(self.todo)

    def _stamp(self) -> Stamp:
        """Return what changes with the course's settings."""
        return tuple(_changed(self.folder.path / name) for name in (FILE, ROSTER))

    @property
    def _inbound(self) -> Path:
        return self.folder.exchange / self.course.id / "inbound"

    def _new(self) -> list[str]:
        """Return the folders of the letter box that are new, and written to their end."""
        changed, now = _changed(self._inbound), time.monotonic()
        unchanged = changed == self._box_changed and now < self._looked + ANYWAY
        if unchanged and self._settled and self._seen and not self._begun:
            return []
        self._box_changed, self._looked = changed, now
        self._settled = time.time_ns() > changed + SETTLED
        box = self._inbound
        names = {each.name for each in box.iterdir()} if box.is_dir() else set()
        self._seen &= names
        self._begun = {
            name: self._begun.get(name, now) for name in names - self._seen if name[0] != "."
        }
        new = [
            name
            for name, since in self._begun.items()
            if now > since + WHOLE or _is_whole(self._inbound / name)
        ]
        return sorted(new)

    def _take_in(self, names: Sequence[str]) -> int:
        """Take work in, say what could not be used, and return how much is new."""
        new = 0
        for taken in collect_all(self.folder, self.course.units, names):
            if not taken.usable or taken.beware:
                self.say(f"  {taken.says}", not taken.usable)
            if not taken.usable:
                self.unmarked.add((taken.learner or taken.says, taken.unit))
            elif taken.new:
                new += 1
                self.todo[taken.unit, taken.learner] = None
        self._seen |= set(names)
        self._begun = {name: at for name, at in self._begun.items() if name not in self._seen}
        return new

    def _mark(self, batch: Sequence[Job], taken: int) -> None:
        """Mark a batch, and lay the results where learners find them."""
        mark = self.folder.path / UNDER_WAY
        mark.touch()
        try:
            done = work.grade(self.folder.path, only=batch, patience=0)
        except BusyError:
            mark.unlink(missing_ok=True)
            raise
        mark.unlink(missing_ok=True)
        for job in batch:
            del self.todo[job]
        for problem in done.problems:
            self.say(f"  {problem}", True)
        self.unmarked -= {(learner, unit) for unit, learner in batch}
        self.unmarked |= set(done.unmarked)
        left = f", {len(done.unmarked)} NOT marked" if done.unmarked else ""
        now = written(datetime.now(UTC).replace(microsecond=0))
        self.say(f"{now}: {taken} taken in, {len(batch) - len(done.unmarked)} marked{left}.", False)

    def _left_over(self) -> Iterator[Job]:
        """Yield the work that was collected before and has no result; all of it after a crash."""
        back = self.folder.exchange / self.course.id
        crashed = (self.folder.path / UNDER_WAY).exists()
        for unit, learner in jobs(self.folder):
            name = digest(answers_path(self.folder.submitted(learner, unit) / f"{unit}.ipynb"))
            if crashed or (name and not came_back(back, name).is_file()):
                yield unit, learner


def _at_hand_in(folder: CourseFolder) -> Course:
    """Return a course's settings. Raises CourseError where it is not marked at hand-in."""
    course = folder.course
    if not course.at_hand_in:
        raise CourseError(
            f"{folder.path} is marked when you grade it, so there is nothing to watch. To mark at "
            f"hand-in: tpiece assign --course {folder.path} --feedback at-hand-in"
        )
    return course


def _changed(path: Path) -> int:
    """Return when something was changed last (ns); 0 where it is not."""
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def _is_whole(place: Path) -> bool:
    """Say whether what is handed in is written to its end and opened to its reader.

    The time it bears is written last. What bears no name of handed-in work is never looked into.
    """
    found = named(place.name)
    if found is None or place.is_symlink() or not place.is_dir():
        return True
    answers = answers_path(place / f"{found[1]}.ipynb")
    try:
        (place / TIMESTAMP).lstat()
        answers.lstat()
    except OSError:
        return False
    return answers.is_symlink() or os.access(answers, os.R_OK)


@contextmanager
def ended_by_signals() -> Iterator[Event]:
    """Yield what Ctrl-C and SIGTERM set; the second of them ends the program at once."""
    stop = Event()
    before: dict[int, Any] = {}

    def end(number: int, _frame: object) -> None:
        stop.set()
        signal.signal(number, before[number])

    for each in (int(signal.SIGINT), int(signal.SIGTERM)):
        before[each] = signal.signal(each, end)
    try:
        yield stop
    finally:
        for each, old in before.items():
            signal.signal(each, old)
