"""All verdicts of a course as a stream: ten thousand learners never stand in memory at once."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.learner.history import BROKEN, broken
from graders.marking.graded import VERDICT_FILE, Graded, decoded

READERS = 8  # threads; a disk that was not read lately answers many questions as fast as one
PART = 16  # learners that one thread reads in one go


@dataclass(frozen=True, slots=True)
class Broken:
    """A verdict that cannot be read: whose, and a sentence with the way back."""

    learner: str
    unit: str
    says: str


_File = tuple[str, bytes | OSError]


def verdicts(
    folder: CourseFolder, told: Callable[[Broken], None] | None = None
) -> Iterator[Graded]:
    """Yield every verdict of a course that can be read, in order of learner and unit.

    ``told`` is given each that cannot: one learner's file stops nobody else's page.
    """
    root = _root(folder)
    learners = _folders(root)
    parts = (learners[at : at + PART] for at in range(0, len(learners), PART))
    for file in _read_ahead(root, parts):
        found = _verdict(file)
        if isinstance(found, Graded):
            yield found
        elif told is not None:
            told(found)


def verdict_files(folder: CourseFolder) -> Iterator[Path]:
    """Yield where every verdict lies, in order of learner and unit."""
    root = _root(folder)
    return (Path(path) for learner in _folders(root) for path in _of_learner(root, learner))


def _read_ahead(root: str, parts: Iterable[Sequence[str]]) -> Iterator[_File]:
    with ThreadPoolExecutor(READERS) as pool:
        asked: deque[Future[list[_File]]] = deque()
        for part in parts:
            asked.append(pool.submit(_files, root, part))
            if len(asked) > READERS:
                yield from asked.popleft().result()
        while asked:
            yield from asked.popleft().result()


def _files(root: str, learners: Sequence[str]) -> list[_File]:
    return [(path, _text(path)) for each in learners for path in _of_learner(root, each)]


def _text(path: str) -> bytes | OSError:
    try:
        return Path(path).read_bytes()
    except OSError as error:
        return error  # it is told in its turn, after all that come before it


def _verdict(file: _File) -> Graded | Broken:
    path, text = file
    *_, learner, unit, _name = Path(path).parts
    try:
        if isinstance(text, OSError):
            raise text
        found = decoded(text)
        if (found.learner, found.unit) != (learner, unit):
            raise ValueError("it is another's")
    except BROKEN as error:
        return Broken(learner, unit, broken(Path(path), error))
    return found


def _root(folder: CourseFolder) -> str:
    return str(folder.path / "autograded")


def _of_learner(root: str, learner: str) -> Iterator[str]:
    for unit in _folders(f"{root}/{learner}"):
        path = f"{root}/{learner}/{unit}/{VERDICT_FILE}"
        if os.path.isfile(path):  # noqa: PTH113  # a Path for each doubles the time
            yield path


def _folders(path: str) -> list[str]:
    try:
        with os.scandir(path) as found:
            return sorted(each.name for each in found if each.is_dir())
    except FileNotFoundError:
        return []
