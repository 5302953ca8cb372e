"""An answers file as it is read, whoever wrote it: line by line, and nothing is executed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from workbook.core.errors import PlainError
from workbook.core.language import N_, _
from workbook.core.plainfile import NotPlainError, TooLargeError, in_utf8, read_plain

FORMAT = "tpiece-answers/1"
LARGEST_FILE = 8 * 2**20  # bytes; thousands of saves of the longest answer
LONGEST_LINE = 64 * 2**10  # bytes
NAMED_LINES = 5  # bad lines that are named one by one


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


def answers_path(notebook: Path) -> Path:
    """Return where the answers of a notebook are kept: beside it, under its name."""
    return notebook.with_suffix(".answers.jsonl")


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
