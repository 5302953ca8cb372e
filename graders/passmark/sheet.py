"""Sheets of judges' estimates: reads them, naming every mistake, and writes an empty one."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from graders.passmark.angoff import Panel, SheetError
from workbook.cases import case
from workbook.core.plainfile import TooLargeError, read_plain
from workbook.course.settings import Course

COLUMNS = ("judge", "item", "estimate")
LARGEST = 5_000_000  # bytes; a sheet of fifty judges and sixty questions has some 200,000
LONGEST = 60  # characters of a judge's name
_NUMBER = re.compile(r"(\d{1,3}(?:[.,]\d+)?|[.,]\d+)\s*(%?)")


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of a sheet, and where it stands."""

    where: str
    judge: str
    item: str
    estimate: str


def read_sheets(paths: Sequence[Path], points: Mapping[str, float]) -> Panel:
    """Return what the judges said of the questions in ``points``, named unit/question.

    A sheet is CSV with the columns judge, item, estimate (0 to 1, or in percent); others are
    ignored. A judge left empty is the file's name. Raises SheetError with every mistake.
    """
    problems: list[str] = []
    found: dict[str, dict[str, float]] = {}
    for path in paths:
        lines = list(_lines(path, problems))
        shares = _shares(path, lines, problems)
        for line, share in zip(lines, shares, strict=True):
            _take(line, share, points, found, problems)
    problems += _gaps(found, points)
    if not found and not problems:
        problems.append(f"{paths[0].name} has no estimates.")
    if problems:
        raise SheetError(problems)
    return Panel(found, points)


def units_named(paths: Sequence[Path]) -> tuple[str, ...]:
    """Return the units that sheets name, in the order of their ids; what is wrong is left out."""
    lines = (line for path in paths for line in _lines(path, []))
    return tuple(sorted({line.item.partition("/")[0] for line in lines if "/" in line.item}))


def _lines(path: Path, problems: list[str]) -> Iterator[_Line]:
    try:
        rows = list(_rows(_text(path)))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else error
        problems.append(f"{path.name} cannot be read as CSV in UTF-8: {why}.")
        return
    missing = [name for name in COLUMNS if not rows or name not in rows[0][1]]
    if missing:
        problems.append(f"{path.name} has no column {' or '.join(missing)} in its first line.")
        return
    at = [rows[0][1].index(name) for name in COLUMNS]
    for number, row in rows[1:]:
        judge, item, estimate = (row[k] if k < len(row) else "" for k in at)
        if any(row):
            yield _Line(f"{path.name}, line {number}", judge or path.stem, item, estimate)


def _text(path: Path) -> str:
    try:
        data = read_plain(path, LARGEST, follow=True)
    except TooLargeError:
        raise csv.Error("it is far larger than any sheet of estimates") from None
    return data.decode("utf-8-sig")


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number, cells); spreadsheets of some countries part cells by semicolons."""
    head = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=head.count))
    for n, row in enumerate(reader):
        cells = [" ".join(cell.split()) for cell in row]
        yield reader.line_num, cells if n else [cell.casefold() for cell in cells]


def _shares(path: Path, lines: Sequence[_Line], problems: list[str]) -> list[float | None]:
    """Return each estimate as a share, None where it is no number.

    A number without a per cent sign is a percentage when any such number of the file is above 1.
    """
    read = [_number(line, problems) for line in lines]
    bare = [(n, found[0]) for n, found in enumerate(read) if found and not found[1]]
    percent = any(value > 1 for _, value in bare)
    mixed = [lines[n].where.rpartition(" ")[2] for n, value in bare if percent and 0 < value <= 1]
    if mixed:
        problems.append(
            f"{path.name} mixes shares and percentages: look at line {', '.join(mixed[:10])}"
            f"{' and others' if len(mixed) > 10 else ''}, and write all of one kind."
        )
    shares = [found and found[0] / (100 if found[1] or percent else 1) for found in read]
    for line, share in zip(lines, shares, strict=True):
        if share is not None and share > 1:
            problems.append(f"{line.where}: {_short(line.estimate)} is more than all the points.")
    return shares


def _number(line: _Line, problems: list[str]) -> tuple[float, bool] | None:
    match = _NUMBER.fullmatch(line.estimate)
    if match:
        return float(match[1].replace(",", ".")), bool(match[2])
    said = f"{_short(line.estimate)} is no estimate" if line.estimate else "the estimate is empty"
    problems.append(f"{line.where}: {said}; write a share such as 0.7, or a percentage.")
    return None


def _take(
    line: _Line,
    share: float | None,
    points: Mapping[str, float],
    found: dict[str, dict[str, float]],
    problems: list[str],
) -> None:
    """Put one estimate where it belongs, or note why not."""
    if len(line.judge) > LONGEST or not line.judge.isprintable():
        problems.append(f"{line.where}: name the judge in at most {LONGEST} plain characters.")
        return
    said = found.setdefault(line.judge, {})
    if line.item not in points:
        problems.append(f"{line.where}: {_unknown(line.item, points)}")
    elif line.item in said:
        problems.append(f"{line.where}: {line.judge} estimates {line.item} a second time.")
    else:
        said[line.item] = -1.0 if share is None else share  # the mistake is noted already


def _unknown(item: str, points: Iterable[str]) -> str:
    if not item:
        return "the item is empty; write unit/question."
    near = get_close_matches(item[:200], list(points), 1)
    hint = f"did you mean {near[0]}?" if near else "write unit/question as in the empty sheet."
    return f"{_short(item)} is not a question here; {hint}"


def _gaps(found: Mapping[str, Mapping[str, float]], points: Iterable[str]) -> Iterator[str]:
    every = tuple(points)
    for judge, said in found.items():
        left = [item for item in every if item not in said]
        if left:
            more = f" and {len(left) - 10} more" if len(left) > 10 else ""
            yield f"{judge} gives no estimate for {', '.join(left[:10])}{more}."


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return repr(shown[:40] + ("..." if len(shown) > 40 else ""))


def course_points(names: Sequence[str]) -> dict[str, float]:
    """Return the points of every question of some units, named unit/question."""
    from graders.marking.exercise import points

    return {f"{unit}/{q}": p for unit in names for q, p in points(unit).items() if p > 0}


def template(course: Course) -> str:
    """Return an empty sheet as CSV text: a line for each question, with its points."""
    file = io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow((*COLUMNS, "points", "asks"))
    for unit in course.units:
        asked = {q.id: q.label for q in case(course.id, unit, "judge", course.book).questions}
        for item, points in course_points([unit]).items():
            asks = asked.get(item.partition("/")[2], "")
            writer.writerow(("", item, "", f"{points:g}", asks))
    return file.getvalue()
