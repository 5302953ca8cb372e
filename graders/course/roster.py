"""The course's people: a coordinator's CSV file, read with every mistake named at once."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, fields
from pathlib import Path

from workbook.core.plainfile import read_plain, refusal
from workbook.core.whose import learner_id
from workbook.course.settings import CourseError

LARGEST = 64 * 2**20  # bytes; a hundred thousand people take some six
_MOST = 20  # mistakes told at once; a file with more is probably the wrong file
_OTHER = {codecs.BOM_UTF16_LE: "UTF-16", codecs.BOM_UTF16_BE: "UTF-16", b"PK\x03\x04": "a workbook"}


@dataclass(frozen=True, slots=True)
class Person:
    """One line of the roster."""

    learner: str
    name: str = ""
    role: str = ""
    ward: str = ""
    site: str = ""


COLUMNS = tuple(field.name for field in fields(Person))


def read_roster(path: Path) -> dict[str, Person]:
    """Read a roster: CSV in UTF-8 with a column ``learner`` and any others of ``COLUMNS``.

    Cells are parted by commas, semicolons or tabs. Raises CourseError naming every mistake with
    its line, or why the file is no such table.
    """
    problems: list[str] = []
    text = _text(path, problems)
    rows = _rows(path, text)
    _, head = next(rows, (1, []))
    columns = [name.strip().lower() for name in head]
    problems += _of_columns(columns)
    people: dict[str, Person] = {}
    lines: dict[str, int] = {}
    for line, cells in rows:
        if "learner" not in columns or not any(cell.strip() for cell in cells):
            continue
        said, person = _person(columns, cells, lines)
        problems += [f"line {line}: {says}" for says in said]
        if person is not None:
            people[person.learner] = person
            lines.setdefault(person.learner, line)
    if problems:
        more = len(problems) - _MOST
        told = [*problems[:_MOST], *([f"And {more} mistakes more."] if more > 0 else [])]
        raise CourseError(f"{path}: " + " ".join(told))
    return people


def _text(path: Path, problems: list[str]) -> str:
    """Return the file's text; each line that is not UTF-8 becomes a problem."""
    try:
        data = read_plain(path, LARGEST, follow=True)
    except FileNotFoundError:
        raise CourseError(f"There is no roster at {path}.") from None
    except OSError as error:
        raise CourseError(refusal(path, error, LARGEST)) from None
    kind = next((name for start, name in _OTHER.items() if data.startswith(start)), "")
    if kind or b"\0" in data:
        raise CourseError(
            f"{path} is {kind or 'no text'}, not a CSV file in UTF-8. In the spreadsheet choose "
            "Save as, CSV UTF-8."
        )
    data = data.removeprefix(codecs.BOM_UTF8)
    for n, line in enumerate(data.splitlines(), start=1):
        try:
            line.decode()
        except UnicodeDecodeError:
            shown = line.decode(errors="replace")[:40]
            problems.append(f"line {n}: {shown!r} is not in UTF-8; save the file as CSV UTF-8.")
    return data.decode(errors="replace")


def _rows(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row with the line it begins on, parted as the first line is."""
    head = text.split("\n", 1)[0]
    comma = max(",;\t", key=head.count) if any(sign in head for sign in ",;\t") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise CourseError(
                f"{path}, line {line}: {error}. Look for a quotation mark that is not closed."
            ) from None
        yield line, cells


def _of_columns(columns: list[str]) -> Iterator[str]:
    """Yield a sentence for each mistake in the line that names the columns."""
    if "learner" not in columns:
        yield "There is no column 'learner'; the first line must name the columns."
    known = ", ".join(COLUMNS)
    for name in dict.fromkeys(columns):
        if name and name not in COLUMNS:
            yield f"line 1: unknown column {name[:40]!r}; the columns are {known}."
        elif name and columns.count(name) > 1:
            yield f"line 1: the column {name!r} stands twice."


def _person(
    columns: list[str], cells: list[str], lines: dict[str, int]
) -> tuple[list[str], Person | None]:
    """Return what is wrong with a line, and whom it names."""
    row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
    problems = []
    if any(cell.strip() for cell in cells[len(columns) :]):
        problems.append("more cells than there are columns; put a cell with a comma into quotes.")
    id = row.get("learner", "")
    if not id:
        return [*problems, "the column learner is empty."], None
    try:
        id = learner_id(id)
    except ValueError as error:
        return [*problems, str(error)], None
    if id in lines:
        problems.append(f"{id} stands twice, first in line {lines[id]}.")
    return problems, Person(id, *(row.get(name, "") for name in COLUMNS[1:]))
