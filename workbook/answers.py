"""The answers file: what a learner handed in, as numbered lines that are only ever added.

One JSON object a line. The first line says whose answers these are; every later line is one
saved answer, or begins a new attempt. Two tabs may write at once: each line is added under a lock
and numbered there. An answer names its attempt, unless that is the first.
"""

from __future__ import annotations

import getpass
import hashlib
import json
import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from workbook.errors import PlainError
from workbook.language import N_, _, number
from workbook.plainfile import NotPlainError, TooLargeError, in_utf8, read_plain

FORMAT = "tpiece-answers/1"
LEARNER = "TPIECE_LEARNER"  # names the learner at work to every kernel
LARGEST_FILE = 8 * 2**20  # bytes; thousands of saves of the longest answer
LONGEST_LINE = 64 * 2**10  # bytes
LOCK_SECONDS = 10.0
NAMED_LINES = 5  # bad lines that are named one by one

_IN_BROWSER = sys.platform == "emscripten"
_LEARNER = re.compile(r"[A-Za-z0-9_@][A-Za-z0-9._@-]{0,63}")


class AnswerFileError(PlainError, ValueError):
    """An answers file that cannot be used; the message says which file, what, and what to do."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One saved answer: a numbered line of the file."""

    number: int
    question: str
    value: Any
    at: str
    client: str = ""
    seq: int = 0
    attempt: int = 1


@dataclass(frozen=True, slots=True)
class AnswerSheet:
    """What an answers file holds; ``problems`` has a sentence for each line that was left out.

    ``attempt`` is the latest that was begun, counted from 1.
    """

    course: str
    exercise: str
    learner: str
    edition: str
    answers: tuple[Answer, ...]
    problems: tuple[str, ...] = ()
    digest: str = ""
    protocol: str | None = None  # the stamp of the site's; None in files of earlier versions
    attempt: int = 1
    asked: tuple[str, ...] = ()  # the ids of the questions on the page when the file was begun

    @property
    def counts(self) -> int:
        """Return the attempt that counts without a limit: the latest with an answer in it."""
        return self.counted()

    def counted(self, most: int | None = None) -> int:
        """Return the attempt that is marked: the latest that was answered, up to the limit."""
        made = {answer.attempt for answer in self.answers}
        allowed = [one for one in made if most is None or one <= most]
        return max(allowed, default=self.attempt if most is None else min(self.attempt, most))

    def latest(self, attempt: int | None = None) -> dict[str, Answer]:
        """Return the last saved answer of each question in one attempt, by default the latest."""
        of = self.attempt if attempt is None else attempt
        return {answer.question: answer for answer in self.answers if answer.attempt == of}


def whoami() -> str:
    """Return the learner's id: as set at opening, else the hub's name, else this computer's."""
    for name in (LEARNER, "JUPYTERHUB_USER"):
        if os.environ.get(name):
            return learner_id(os.environ[name])
    try:
        return learner_id(getpass.getuser())
    except (KeyError, OSError, ImportError, ValueError):
        return "practice"


def learner_id(text: str) -> str:
    """Return a learner id that is safe as a folder name; ValueError with a sentence if not."""
    if not _LEARNER.fullmatch(text):
        raise ValueError(
            f"{text!r} cannot be a learner id: use 1 to 64 letters, digits, '.', '-', '_' or '@', "
            "not starting with a dot or a hyphen."
        )
    return text


def answers_path(notebook: Path) -> Path:
    """Return where the answers of a notebook are kept: beside it, under its name."""
    return notebook.with_suffix(".answers.jsonl")


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


def read_answers(path: Path) -> AnswerSheet:
    """Read an answers file, whoever wrote it.

    A line that cannot be read is left out and named in ``problems``; a file that is not an
    answers file at all raises AnswerFileError. Nothing in the file is executed.
    """
    return answer_sheet(answer_bytes(path), path.name)


def answer_sheet(data: bytes, name: str) -> AnswerSheet:
    """Return what the bytes of an answers file hold, as ``read_answers`` does."""
    lines = in_utf8(data).split(b"\n")
    problems: list[str] = []
    header = _object(lines[0])
    if header is None or header.get("format") != FORMAT:
        raise AnswerFileError(_not_ours(name, header))
    answers, attempt = _lines(lines[1:], name, problems)
    names = {key: str(header.get(key, "")) for key in ("course", "exercise", "learner", "edition")}
    digest, stamp = hashlib.sha256(data).hexdigest(), header.get("protocol")
    protocol = stamp if isinstance(stamp, str) else None
    return AnswerSheet(
        **names,
        answers=tuple(answers),
        problems=tuple(problems),
        digest=digest,
        protocol=protocol,
        attempt=attempt,
        asked=_asked(header),
    )


def _asked(header: Mapping[str, Any]) -> tuple[str, ...]:
    questions = header.get("questions")
    ids = (
        (one.get("id") for one in questions if isinstance(one, dict))
        if isinstance(questions, list)
        else ()
    )
    return tuple(id for id in ids if isinstance(id, str))


def _lines(lines: Sequence[bytes], name: str, problems: list[str]) -> tuple[list[Answer], int]:
    """Return the answers and the attempt they have come to; what is left out is told."""
    answers: list[Answer] = []
    attempt, bad = 1, 0
    for n, line in enumerate(lines, start=2):
        if not line.strip():
            continue
        got = _object(line)
        answer = _answer(got)
        if answer is not None and 1 <= answer.attempt <= attempt:
            answers.append(answer)
            continue
        if _begins(got) and got["attempt"] == attempt + 1:  # type: ignore[index]
            attempt += 1
            continue
        if (bad := bad + 1) <= NAMED_LINES:
            says = _OUT_OF_TURN if answer is not None or _begins(got) else _UNREADABLE
            problems.append(_(says).format(file=name, line=n))
    if bad > NAMED_LINES:
        says = _("{file}: {count} more lines cannot be read.")
        problems.append(says.format(file=name, count=bad - NAMED_LINES))
    return answers, attempt


_UNREADABLE = N_("{file}, line {line}: cannot be read, so this one save is left out.")
_OUT_OF_TURN = N_(
    "{file}, line {line}: belongs to an attempt that was not begun in its turn, so it is left out."
)


def _attempt_in(data: bytes, name: str) -> int:
    """Return the latest attempt that is begun in a file; most files know of no second one."""
    return answer_sheet(data, name).attempt if b'"attempt"' in data else 1


def answer_bytes(path: Path) -> bytes:
    """Return the bytes of an answers file; AnswerFileError when it is none or far too large."""
    try:
        return read_plain(path, LARGEST_FILE)
    except OSError as error:
        raise answer_problem(error, path.name) from None


def answer_problem(error: OSError, name: str) -> AnswerFileError:
    """Return in a sentence why an answers file cannot be read."""
    if isinstance(error, TooLargeError):
        says = _(
            "{file} is {size} MB, more than the {most} MB an "
            "answers file may have; ask the learner for the original file."
        )
        size, most = f"{error.size / 2**20:.0f}", LARGEST_FILE // 2**20
        return AnswerFileError(says.format(file=name, size=size, most=most))
    if isinstance(error, FileNotFoundError | NotADirectoryError | NotPlainError):
        says = _(
            "{file} is missing: nothing was answered, or the file was not handed in. "
            "Ask the learner to open the exercise and hand in again."
        )
        return AnswerFileError(says.format(file=name))
    says = _("{file} cannot be read ({reason}). Ask for read access and grade again.")
    return AnswerFileError(says.format(file=name, reason=error.strerror))


def _object(line: bytes) -> dict[str, Any] | None:
    if len(line) > LONGEST_LINE:
        return None
    try:
        value = _DECODER.decode(line.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, dict) else None


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is not a number")


_DECODER = json.JSONDecoder(parse_constant=_no_constant)  # `json.loads` makes one for each line


def _answer(got: dict[str, Any] | None) -> Answer | None:
    if got is None or "value" not in got:
        return None
    number, question, at = got.get("n"), got.get("question"), got.get("at", "")
    seq, client, attempt = got.get("seq", 0), got.get("client", ""), got.get("attempt", 1)
    whole = all(isinstance(x, int) and not isinstance(x, bool) for x in (number, seq, attempt))
    words = all(isinstance(x, str) for x in (question, at, client))
    if not (whole and words):
        return None
    return Answer(number, question, got["value"], at, client, seq, attempt)  # type: ignore[arg-type]


def _begins(got: dict[str, Any] | None) -> bool:
    """Say whether a line begins an attempt, whichever."""
    return got is not None and "question" not in got and type(got.get("attempt")) is int


def _not_ours(name: str, header: dict[str, Any] | None) -> str:
    version = str(header.get("format", "")) if header else ""
    if version.startswith("tpiece-answers/"):
        return _(
            "{file} is written in format {version}, which this version cannot read; "
            "it reads {known}. Update the workbook and grade again."
        ).format(file=name, version=version, known=FORMAT)
    return _(
        "{file}, line 1: is not the head of an answers file; it may be cut short or edited "
        "by hand. Ask the learner to hand in again from their own folder."
    ).format(file=name)
