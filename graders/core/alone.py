"""One at a time: what two commands on one course must not do at the same moment.

The lock is the system's own, so a command that was killed leaves none behind.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from workbook.course.settings import CourseError

GRADING, TAKING_IN, WATCHING = "grade", "collect", "watch"
# In the environment of what a hub keeps running: the hub's own process.
HUB = "TPIECE_HUB"
PATIENCE = 600.0  # s that a command waits for another of its kind
SILENT = 2.0  # s after which it says that it waits
_WAITS = "Another command is at work on {path}; this one waits for it."
_SAYS = {
    GRADING: "Another tpiece grade of {path} is under way. Wait until it has ended, and run "
    "this again.",
    TAKING_IN: "Work of {path} is being taken in. Wait until that has ended, and run this again.",
    WATCHING: "Another tpiece grade --watch marks what is handed in to {path} already; one is "
    "enough. End that one first.",
}


class BusyError(CourseError):
    """Another command does the same; the message says what to do."""


@contextmanager
def alone(path: Path, does: str, patience: float = PATIENCE) -> Iterator[None]:
    """Let nobody else do the same to the course at a path meanwhile.

    Raises BusyError for one that is still at it after ``patience`` (s), and CourseError where the
    folder cannot be written.
    """
    lock = FileLock(path / f".{does}.lock", mode=0o600)
    try:
        _wait(lock, path, patience)
    except Timeout:
        raise BusyError(_SAYS[does].format(path=path)) from None
    except OSError as error:
        raise CourseError(
            f"{path} cannot be written ({error.strerror or error}). Run this as whoever owns the "
            "course."
        ) from None
    try:
        yield
    finally:
        lock.release()


def _wait(lock: FileLock, path: Path, patience: float) -> None:
    try:
        lock.acquire(timeout=min(patience, SILENT))
    except Timeout:
        if patience <= SILENT:
            raise
        print(_WAITS.format(path=path), file=sys.stderr, flush=True)
        lock.acquire(timeout=patience - SILENT)
