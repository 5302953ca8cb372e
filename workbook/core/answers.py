"""A learner's own answers file, as it is written: numbered lines that are only ever added.

One JSON object a line. The first line says whose answers these are; every later line is one
saved answer, or begins a new attempt. Two tabs may write at once: each line is added under a lock
and numbered there. An answer names its attempt, unless that is the first.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from workbook.core.answer_sheet import (
    FORMAT,
    Answer,
    AnswerFileError,
    AnswerSheet,
    answer_bytes,
    answer_sheet,
)
from workbook.core.language import _, number

LOCK_SECONDS = 10.0

_IN_BROWSER = sys.platform == "emscripten"


def now() -> str:
    """Return the time in UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@dataclass
class AnswersFile:
    """The learner's own answers file: opened at the start, added to at every save.

    ``attempt`` is the one whose case the page shows: what is saved is an answer to that.
    """

    path: Path
    course: str
    exercise: str
    learner: str
    edition: str
    questions: Sequence[Mapping[str, str]] = ()
    protocol: str = ""
    attempt: int = 1
    held: bool = False  # a page holds what it saw, and puts back a file that vanished
    came_back: bool = False  # the file had vanished, and was put back as this page last saw it
    _numbers: dict[tuple[str, int], tuple[int, str]] = field(default_factory=dict, repr=False)

    def append(self, question: str, value: Any, *, client: str = "", seq: int = 0) -> Answer:
        """Add one answer and return it with its number; the same (client, seq) is added once.

        Raises AnswerFileError when the folder cannot be written to.
        """
        known = self._numbers.get((client, seq)) if client else None
        if known is not None:
            return Answer(known[0], question, value, known[1], client, seq, self.attempt)
        with self._writing():
            old = self._read()
            now_in = _attempt_in(old, self.path.name)
            answer = self._add(old, question, value, client, seq)
        if now_in > self.attempt:
            raise AnswerFileError(
                _(
                    "Not part of your new attempt: this page still shows attempt {old}, and "
                    "attempt {new} was begun elsewhere. Close this page and open it again."
                ).format(old=self.attempt, new=now_in)
            )
        self._numbers[(client, seq)] = (answer.number, answer.at)
        return answer

    def asks(self, question: str, label: str) -> None:
        """Note a question that the page asks, for the head of a file that is yet to be begun."""
        if all(one["id"] != question for one in self.questions):
            self.questions = [*self.questions, {"id": question, "label": label}]

    def begin(self, after: int, most: int | None = None) -> int:
        """Begin the attempt that follows another, and return its number; twice begins it once.

        Raises AnswerFileError where nothing of the other is answered, it was the last of ``most``
        that are allowed, or nothing can be written.
        """
        with self._writing():
            old = self._read()
            sheet = answer_sheet(old, self.path.name) if old else None
            if sheet is not None and sheet.attempt > after:
                return sheet.attempt
            if sheet is None or not sheet.latest():
                raise AnswerFileError(
                    _(
                        "Nothing of attempt {attempt} is answered yet. Answer it first; then you "
                        "may start another."
                    ).format(attempt=1 if sheet is None else sheet.attempt)
                )
            if most is not None and sheet.attempt >= most:
                raise AnswerFileError(
                    _(
                        "Attempt {attempt} is the last that this course allows. You may practise "
                        "its case, without marks."
                    ).format(attempt=most)
                )
            self._write(old, {"attempt": sheet.attempt + 1, "at": now()})
            return sheet.attempt + 1

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Keep others from the file meanwhile; say in a sentence why it cannot be written to."""
        try:
            with _locked(self._lock_path):
                yield
        except TimeoutError:
            raise AnswerFileError(
                _(
                    "Not saved: {file} has been in use for {seconds} seconds. "
                    "Close other copies of this page and try again."
                ).format(file=self.path.name, seconds=number(LOCK_SECONDS, ".0f"))
            ) from None
        except OSError as error:
            raise AnswerFileError(
                _(
                    "Not saved: {folder} cannot be written to ({reason}). "
                    "Ask for write access to the folder, or copy the folder to one of your own."
                ).format(folder=self.path.parent, reason=error.strerror or error)
            ) from None

    @property
    def _lock_path(self) -> Path:
        return self.path.with_name(f".{self.path.name}.lock")

    def _read(self) -> bytes:
        """Return what the file holds; one that vanished is put back as this page last saw it."""
        if self.path.exists():
            return self.path.read_bytes()
        seen = _seen.get(self.path.absolute(), b"") if self.held else b""
        if seen:
            self.path.write_bytes(seen)
            self.came_back = True
        return seen

    def _add(self, old: bytes, question: str, value: Any, client: str, seq: int) -> Answer:
        at = now()
        line = {"question": question, "value": value, "at": at, "client": client, "seq": seq}
        of = {"attempt": self.attempt} if self.attempt > 1 else {}
        number = self._write(old, {**line, **of})
        return Answer(number, question, value, at, client, seq, self.attempt)

    def _write(self, old: bytes, line: Mapping[str, Any]) -> int:
        """Add one line to what the file holds, and return its number."""
        before = old
        head = [] if old else [self._header()]
        if old and not old.endswith(b"\n"):  # a line cut short by a crash stays on its own
            old += b"\n"
            head = [""]
        number = old.count(b"\n") + 1 + sum(bool(line) for line in head)
        added = json.dumps({"n": number, **line}, ensure_ascii=False, allow_nan=False)
        text = "\n".join([*head, added]) + "\n"
        with self.path.open("ab") as file:
            file.write(text.encode())
            file.flush()
            if not _IN_BROWSER:  # there the file is kept when it is closed
                os.fsync(file.fileno())
        self._see(before + text.encode())
        return number

    def _header(self) -> str:
        return json.dumps(
            {
                "n": 1, "format": FORMAT, "course": self.course, "exercise": self.exercise,
                "learner": self.learner, "edition": self.edition, "protocol": self.protocol,
                "at": now(), "questions": [dict(q) for q in self.questions],
            },
            ensure_ascii=False,
        )  # fmt: skip

    def took_back(self) -> bool:
        """Say whether the file had vanished and was put back; told once."""
        told, self.came_back = self.came_back, False
        return told

    def sheet(self) -> AnswerSheet:
        """Return what the file holds so far; an empty sheet when there is no file yet."""
        if not self.path.exists() and not self._read():
            return AnswerSheet(self.course, self.exercise, self.learner, self.edition, ())
        data = answer_bytes(self.path)
        sheet = answer_sheet(data, self.path.name)
        theirs = (sheet.course, sheet.exercise, sheet.learner, sheet.edition)
        if theirs == (self.course, self.exercise, self.learner, self.edition):
            self._see(data)
        return sheet

    def _see(self, data: bytes) -> None:
        if self.held:
            _seen[self.path.absolute()] = data


_seen: dict[Path, bytes] = {}  # what this process last saw in each file of its own


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Keep other programs from the answers file; TimeoutError when they keep it too long.

    In a browser there are no locks: the site lets one tab at a time open a learner's answers.
    """
    if _IN_BROWSER:
        yield
        return
    from filelock import FileLock

    with FileLock(path, timeout=LOCK_SECONDS):
        yield


def _attempt_in(data: bytes, name: str) -> int:
    """Return the latest attempt that is begun in a file; most files know of no second one."""
    return answer_sheet(data, name).attempt if b'"attempt"' in data else 1
