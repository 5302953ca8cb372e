"""A folder of answers files that came by mail or from a site, taken in to be graded.

Each file is judged by itself: a bad one is named in a sentence and stops no other. Work that is
there is replaced by later work only, and what was done is said.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from graders.coursefolder import CourseFolder
from workbook.answers import AnswerFileError, AnswerSheet, answers_path, learner_id, read_answers
from workbook.course import CourseError

ENDING = ".jsonl"
_WHEN = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one file: a sentence, and whether it could be used at all."""

    says: str
    usable: bool = True
    new: bool = False


def take_in(folder: CourseFolder, inbox: Path) -> Iterator[Taken]:
    """Put every answers file of a folder where collected work lies; yield what became of each.

    Subfolders are looked through too. Raises CourseError when the folder is not there.
    """
    if not inbox.is_dir():
        raise CourseError(f"{inbox} is not a folder. Name the folder the answers files are in.")
    for path in sorted(inbox.rglob("*")):
        parts = path.relative_to(inbox).parts
        if (path.is_dir() and not path.is_symlink()) or any(p.startswith(".") for p in parts):
            continue
        try:
            yield _take(folder, path)
        except (AnswerFileError, ValueError) as error:
            yield Taken(f"{'/'.join(parts)} is left out: {error}", usable=False)
        except OSError as error:
            yield Taken(
                f"{'/'.join(parts)} is left out: it cannot be copied ({error.strerror or error}). "
                "Put that right and grade again.",
                usable=False,
            )


def _take(folder: CourseFolder, path: Path) -> Taken:
    if path.suffix.lower() != ENDING:
        raise ValueError(f"its name does not end in {ENDING}, so it is no answers file.")
    sheet = read_answers(path)
    learner, unit = learner_id(sheet.learner), sheet.exercise
    _refuse_strangers(folder, sheet)
    target = folder.submitted(learner, unit)
    kept = answers_path(target / f"{unit}.ipynb")
    said = f"{path.name}: {learner}, {unit}"
    if kept.is_file():
        refused = _no_newer(sheet, kept)
        if refused:
            return Taken(f"{said}: {refused}")
        said += ", in place of earlier work"
    target.mkdir(parents=True, exist_ok=True)
    draft = kept.with_name(f".{kept.name}.{os.getpid()}.part")
    shutil.copyfile(path, draft)
    draft.replace(kept)
    moment = _last(sheet)[0].replace("T", " ").replace("Z", " UTC")
    (target / "timestamp.txt").write_text(moment, encoding="utf-8")
    return Taken(f"{said}: taken in.", new=True)


def _refuse_strangers(folder: CourseFolder, sheet: AnswerSheet) -> None:
    """Raise ValueError for work of another course, edition or unit: its questions differ."""
    course = folder.course
    if sheet.course != course.id:
        raise ValueError(f"it is of course {sheet.course[:40]!r}, and this is {course.id!r}.")
    if sheet.exercise not in course.units:
        raise ValueError(f"it answers {sheet.exercise[:40]!r}, which this course does not grade.")
    if sheet.edition != course.edition:
        raise ValueError(
            f"it answers about edition {sheet.edition[:40]!r}, and this course asks about "
            f"{course.edition!r}."
        )


def _no_newer(sheet: AnswerSheet, kept: Path) -> str:
    """Return why work that is there stays; empty when the sheet is later work."""
    try:
        old = read_answers(kept)
    except AnswerFileError:
        return ""  # what is there cannot be used
    if old.digest == sheet.digest:
        return "the same work is there already."
    if _last(sheet) <= _last(old):
        return f"left out, for later work is there already (last saved {_last(old)[0] or 'never'})."
    return ""


def _last(sheet: AnswerSheet) -> tuple[str, int]:
    """Return when work was last saved, and how many saves it holds; nonsense counts as never."""
    moments = [answer.at for answer in sheet.answers if _WHEN.fullmatch(answer.at)]
    return max(moments, default=""), len(sheet.answers)
