"""Filled-in sheets of what was read in print, for tests: every line there can be, none by hand."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path

from graders.reading.asked import Asked
from graders.reading.sheet import COLUMNS, Sheet, sheet, table
from workbook.cases import exercises
from workbook.course.settings import Course
from workbook.rules.files import RULE_FILES, editions, shipped
from workbook.rules.signed import key_of

SIGNER = {"name": "Ada Invented", "role": "nurse educator", "date": "2026-11-20"}


def every_rule(edition: str) -> Asked:
    """Return the rules of an edition, of the textbook and of the files as if a course asked."""
    books = [shipped(edition), shipped("textbook-2021"), *map(shipped, RULE_FILES)]
    return Asked({key_of(rule): (exercises()[1],) for book in books for rule in book}, 1)


def every_edition() -> Asked:
    """Return every rule of every edition and file as if a course asked for it."""
    books = [shipped(each) for each in (*editions(), *RULE_FILES)]
    return Asked({key_of(rule): (exercises()[1],) for book in books for rule in book}, 1)


def course_on(edition: str) -> Course:
    """Return a course with every unit on an edition, in no folder."""
    return Course("may", "May course", edition, exercises())


def sheet_on(edition: str) -> Sheet:
    """Return the sheet of a course that asks for every rule."""
    return sheet(course_on(edition), every_rule(edition))


def rows(made: Sheet) -> list[dict[str, str]]:
    """Return the lines of the empty table."""
    return list(csv.DictReader(io.StringIO(table(made), newline="")))


def written(path: Path, lines: Iterable[dict[str, str]], *, part: str = ",") -> Path:
    """Write lines as a table, as a spreadsheet saves it."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(COLUMNS), delimiter=part)
    writer.writeheader()
    writer.writerows(lines)
    path.write_text(file.getvalue(), encoding="utf-8-sig", newline="")
    return path


def signed(line: dict[str, str], **cells: str) -> dict[str, str]:
    """Return a line of the table filled in."""
    return {**line, **SIGNER, "read": "x", "page": "S532", **cells}


def line_of(made: Sheet, rule: str, whom: str = "", edition: str = "") -> dict[str, str]:
    """Return the empty line of one rule."""
    found = [
        line
        for line in rows(made)
        if line["rule"] == rule and whom in line["whom"] and edition in line["edition"]
    ]
    return found[0]
