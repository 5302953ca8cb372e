"""Grades one submission folder: reads data, runs nothing of the learner's."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from graders.core.terminal import printable
from graders.course.stamps import Stamps
from graders.grading.fingerprint import fingerprint
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded, Told
from graders.marks.verdict import Verdict
from workbook.cases import Case, case, spoken
from workbook.core.answer_sheet import (
    AnswerFileError,
    AnswerSheet,
    answer_bytes,
    answer_sheet,
    answers_path,
    read_answers,
)
from workbook.core.language import ENGLISH, N_, _, in_force, speaking
from workbook.core.moments import FIRST, moment, not_ahead, written
from workbook.core.plainfile import in_utf8, read_plain
from workbook.course.settings import Course
from workbook.rules.files import digest

LONGEST_TIMESTAMP = 100  # bytes
LONGEST_SAID = 4000  # characters; the longest real answer, fourteen steps, has about 1000


def readable_answers(path: Path, drawn: Case) -> tuple[dict[str, Any], list[str], str]:
    """Return the answers that count, a sentence for each reason one does not, and the digest.

    The digest is the file's, empty where nothing in it counts. Answers of another learner, course
    or exercise count for nothing: they answer another case.
    """
    try:
        return _counting(read_answers(path), path.name, drawn)
    except AnswerFileError as error:
        return {}, [str(error)], ""


def _counting(sheet: AnswerSheet, name: str, drawn: Case) -> tuple[dict[str, Any], list[str], str]:
    told = {"course": sheet.course, "exercise": sheet.exercise, "learner": sheet.learner}
    wanted = {"course": drawn.course, "exercise": drawn.exercise, "learner": drawn.learner}
    wrong = [each for each in wanted if told[each] != wanted[each]]
    if wrong:
        pairs = {each: (repr(told[each][:64]), repr(wanted[each])) for each in wrong}
        return {}, [_of_another(name, pairs)], ""
    if sheet.edition != drawn.edition:
        says = _(
            "{file} answers edition {given}, but this course asks about {wanted}. "
            "Ask the learner to fetch the exercise again."
        )
        given, asked = repr(sheet.edition[:40]), repr(drawn.edition)
        return {}, [says.format(file=name, given=given, wanted=asked)], ""
    known = {q.id for q in drawn.questions}
    latest = sheet.latest(drawn.attempt)
    strange = sorted(set(latest) - known)
    problems = list(sheet.problems)
    if strange:
        names = ", ".join(each[:40] for each in strange[:5])
        says = _("{file} answers questions that do not exist: {names}. Left out.")
        problems.append(says.format(file=name, names=names))
    answers = {each: a.value for each, a in latest.items() if each in known}
    return answers, problems, sheet.digest if answers else ""


_OF_ANOTHER = {
    "course": N_("course {given}, not {wanted}"),
    "exercise": N_("exercise {given}, not {wanted}"),
    "learner": N_("learner {given}, not {wanted}"),
}


def _of_another(file: str, pairs: Mapping[str, tuple[str, str]]) -> str:
    parts = (
        _(_OF_ANOTHER[name]).format(given=given, wanted=wanted)
        for name, (given, wanted) in pairs.items()
    )
    says = _("{file} is for {whom}: it earns nothing here. Ask for the right file.")
    return says.format(file=file, whom=_(" and ").join(parts))


@dataclass(frozen=True, slots=True)
class _Read:
    """A submission as it reads in the language in force."""

    answers: Mapping[str, Any]
    verdicts: tuple[Verdict, ...]
    said: Mapping[str, str]
    problems: tuple[str, ...]
    digest: str
    asks: Mapping[str, str] = field(default_factory=dict)
    attempt: int = 1


def grade(
    folder: Path, course: Course, unit: str, learner: str, stamps: Stamps | None = None
) -> Graded:
    """Grade the submission in a folder for the learner the folder belongs to.

    ``stamps`` says which rules the course used before, and whose an id is: work handed in under
    them is marked by them.
    """
    path = answers_path(folder / f"{unit}.ipynb")
    with speaking(ENGLISH):
        sheet, problem = _sheet(path)
        by, drawn_for = _drawn_by(sheet, course, unit, learner, stamps or Stamps())
        found = _read(sheet, problem, path.name, by, unit, drawn_for)
    handed_in = handed_in_at(folder)
    prints = {id: fingerprint(value) for id, value in found.answers.items()}
    return Graded(
        learner,
        unit,
        by.edition,
        found.verdicts,
        found.problems,
        handed_in,
        found.digest,
        own_version(),
        found.said,
        course.id,
        rules_of(by),
        is_late(handed_in, course.due),
        {id: hashes for id, hashes in prints.items() if hashes},
        _told(path, by, unit, drawn_for),
        found.asks,
        "" if drawn_for == learner else drawn_for,
        found.attempt,
    )


def _sheet(path: Path) -> tuple[AnswerSheet | None, str]:
    try:
        return sheet_at(path), ""
    except AnswerFileError as error:
        return None, str(error)


def sheet_at(path: Path) -> AnswerSheet:
    """Read an answers file as ``read_answers`` does; the one read last is not taken apart again."""
    return _taken_apart(answer_bytes(path), path.name, in_force())


@lru_cache(maxsize=1)  # work is marked, and at once its result asks for the same answers
def _taken_apart(data: bytes, name: str, language: str) -> AnswerSheet:
    return answer_sheet(data, name)


def _drawn_by(
    sheet: AnswerSheet | None, course: Course, unit: str, learner: str, stamps: Stamps
) -> tuple[Course, str]:
    """Return the course and the id that a case was drawn by; the present ones where in doubt."""
    if sheet is None or (sheet.course, sheet.exercise) != (course.id, unit):
        return course, learner
    drawn_for = sheet.learner if stamps.whose(sheet) == learner else learner
    return stamps.course(course, sheet) or course, drawn_for


def _read(
    sheet: AnswerSheet | None, problem: str, name: str, course: Course, unit: str, learner: str
) -> _Read:
    book = course.book
    attempt = 1 if sheet is None else sheet.counted(course.attempts)
    drawn = case(course.id, unit, learner, book, attempt)
    asks = {q.id: q.label for q in drawn.questions}
    if sheet is None:
        return _Read({}, mark_all(drawn, {}, book), {}, (printable(problem),), "", asks)
    answers, problems, file_digest = _counting(sheet, name, drawn)
    if answers and sheet.protocol not in (None, course.stamp):
        says = _(
            "{file} was answered by another local protocol than any of this course, so it is not "
            "marked. Ask the learner to fetch the exercise again."
        )
        answers, problems, file_digest = {}, [says.format(file=name)], ""
    problems += above_limit(sheet, name, course.attempts)
    said = {id: _said(drawn, id, value) for id, value in answers.items()}
    told = tuple(map(printable, problems))
    return _Read(answers, mark_all(drawn, answers, book), said, told, file_digest, asks, attempt)


def above_limit(sheet: AnswerSheet, name: str, most: int | None) -> list[str]:
    """Return in a sentence that an attempt above the course's limit was answered; else nothing."""
    if most is None or sheet.counts <= most:
        return []
    says = _(
        "{file} holds attempt {attempt}, and this course allows {most}: attempt {counts} is marked."
    )
    counts = sheet.counted(most)
    return [says.format(file=name, attempt=sheet.counts, most=most, counts=counts)]


def _said(drawn: Case, id: str, value: Any) -> str:
    return printable(spoken(drawn[id], value)[:LONGEST_SAID])


def _told(path: Path, course: Course, unit: str, learner: str) -> Told | None:
    """Return what the learner reads: marked once more, since only the words can differ."""
    if course.language == ENGLISH:
        return None
    with speaking(course.language):
        found = _read(*_sheet(path), path.name, course, unit, learner)
    words = tuple(tuple((f.says, f.source) for f in v.findings) for v in found.verdicts)
    return Told(course.language, words, found.said, found.problems, found.asks)


def rules_of(course: Course) -> str:
    """Return what names the very rules a course is marked by, its protocol included."""
    if not course.protocol or course.folder is None:
        return digest()
    site = hashlib.sha256((course.folder / course.protocol).read_bytes()).hexdigest()
    return f"{digest()}, protocol {site[:12]}"


def is_late(handed_in: str, due: str) -> bool:
    """Say whether work came after it was due."""
    came, until = moment(handed_in), moment(due)
    return came is not None and until is not None and came > until


def handed_in_at(folder: Path) -> str:
    """Return when a submission was handed in, in UTC; nothing if its file holds no time.

    A time that lies ahead of this machine's clock is taken for when the file was written.
    """
    path = folder / "timestamp.txt"
    try:
        text = read_plain(path, LONGEST_TIMESTAMP).decode("utf-8", errors="replace")
        when = moment(in_utf8(text.encode()).decode())
        if when is None:
            return ""
        here = datetime.fromtimestamp(path.lstat().st_mtime, UTC)
    except (OSError, ValueError, OverflowError):
        return ""
    return written(not_ahead(when, max(here, FIRST)) if when > datetime.now(UTC) else when)


@cache
def own_version() -> str:
    """Return the version of the rules and graders, which travel together."""
    try:
        return version("tpiece-workbook")
    except PackageNotFoundError:
        from workbook import __version__

        return __version__
