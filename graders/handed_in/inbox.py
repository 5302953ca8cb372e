"""A folder of answers files that came by mail or from a site, taken in to be graded.

Each file is judged by itself: a bad one is named in a sentence and stops no other.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.handed_in.intake import Intake, Piece, Taken
from workbook.core.answer_sheet import AnswerFileError, answer_bytes
from workbook.course.settings import CourseError

ENDING = ".jsonl"
MOST = 200_000  # files of a folder; more is another folder than was meant


def take_in(folder: CourseFolder, inbox: Path) -> Iterator[Taken]:
    """Put every answers file of a folder where collected work lies; yield what became of each.

    Subfolders are looked through too. Raises CourseError when the folder is not there.
    """
    found = names(inbox)
    intake = Intake(folder)
    for name in found:
        yield _taken(intake, sent(inbox / name, name))


def names(inbox: Path) -> list[str]:
    """Return the files of a folder and those below it, in order; no link is followed.

    Raises CourseError when it is no folder, or holds more than any class sends.
    """
    if not inbox.is_dir():
        raise CourseError(f"{inbox} is not a folder. Name the folder the answers files are in.")
    found: list[str] = []
    for here, folders, files in os.walk(inbox):
        folders[:] = [each for each in folders if not each.startswith(".")]
        links = [each for each in folders if (Path(here) / each).is_symlink()]
        place = Path(here).relative_to(inbox)
        found += [(place / each).as_posix() for each in (*files, *links) if each[0] != "."]
        if len(found) > MOST:
            raise CourseError(
                f"{inbox} holds more than {MOST} files. Name the folder the answers files are in."
            )
    return sorted(found)


def sent(path: Path, name: str) -> Piece:
    """Return an answers file that somebody sent as a piece of work."""
    if path.suffix.lower() != ENDING:
        return Piece(name, problem=f"its name does not end in {ENDING}, so it is no answers file.")
    try:
        return Piece(name, answer_bytes(path))
    except AnswerFileError as error:
        return Piece(name, problem=str(error))


def _taken(intake: Intake, piece: Piece) -> Taken:
    try:
        return intake.take(piece)
    except CourseError as error:
        return Taken(f"{piece.name} is left out: {error}", usable=False)
    except OSError as error:
        return Taken(
            f"{piece.name} is left out: it cannot be copied ({error.strerror or error}). "
            "Put that right and take it in again.",
            usable=False,
        )


def take_files(folder: CourseFolder, files: Iterator[Path] | list[Path]) -> Iterator[Taken]:
    """Take in answers files by name; yield what became of each."""
    intake = Intake(folder)
    for path in files:
        yield _taken(intake, sent(path, path.name))


__all__ = ["MOST", "Taken", "names", "sent", "take_files", "take_in"]
