"""Reads a filled-in skills checklist: every mistake at once, each with its line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from difflib import get_close_matches
from pathlib import Path

from graders.core.mistakes import told
from graders.lab.checklist import COLUMNS, DONE
from graders.lab.plan import LabError
from workbook.core.plainfile import TooLargeError, read_plain

LARGEST = 100_000_000  # bytes; the sheet of ten thousand learners has some 60,000,000
LONGEST_NOTE = 500  # characters
LONGEST_BY = 12

# What `harmless` puts before a formula, at a cell's start or where a spreadsheet may part it.
_KEPT = re.compile("(^|;\\s*)'(?=[=+\\-@\uff0b\uff0d\uff1d\uff20])")
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_DAYS_IN_MONTH = 30.4375  # a month of the Julian year; only to ask about old dates


@dataclass(frozen=True, slots=True)
class Seen:
    """What one observer saw of one step of one learner on one day."""

    learner: str
    step: str
    done: str
    by: str
    date: str
    note: str = ""

    @property
    def key(self) -> tuple[str, str, str]:
        """Return what makes two lines the same observation."""
        return self.learner, self.step, self.date


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a file says: the steps seen, lines left empty, and sentences to look at."""

    seen: tuple[Seen, ...]
    empty: int
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What a file may name: learners and steps; and the days it may be from."""

    learners: Collection[str]
    steps: Collection[str]
    today: date
    months: float  # older than this is asked about

    @property
    def oldest(self) -> date:
        """Return the day before which a date is asked about."""
        return self.today - timedelta(days=self.months * _DAYS_IN_MONTH)


def read_sheet(path: Path, known: Known) -> Sheet:
    """Return what a filled-in checklist says; lines without an observation are counted only.

    Raises LabError naming every mistake with its line.
    """
    lines = _lines(path)
    filled = [(n, seen) for n, seen in lines if seen.done or seen.by or seen.date or seen.note]
    if not filled:
        raise LabError(f"{path.name} holds no observation: no line says done, by or date.")
    problems: list[str] = []
    first: dict[tuple[str, str, str], int] = {}
    for line, seen in filled:
        problems += [f"line {line}: {says}" for says in _wrong(seen, known)]
        if first.setdefault(seen.key, line) != line:
            problems.append(
                f"line {line}: {_short(seen.learner)}, {_short(seen.step)}, {_short(seen.date)} "
                f"stands in line {first[seen.key]} already; keep one of them."
            )
    if problems:
        raise LabError(told(path, problems, "nothing was taken over."))
    oldest = known.oldest.isoformat()
    doubts = tuple(
        f"line {line}: {seen.date} is long ago. It is kept; is the year right?"
        for line, seen in filled
        if seen.date < oldest
    )
    return Sheet(tuple(seen for _, seen in filled), len(lines) - len(filled), doubts)


def observed(path: Path) -> bool:
    """Say whether a file holds an observation, or is no sheet and may be somebody's own."""
    try:
        return any(seen.done or seen.by or seen.date or seen.note for _, seen in _lines(path))
    except LabError:
        return True


def _lines(path: Path) -> list[tuple[int, Seen]]:
    try:
        rows = rows_of(path)
    except FileNotFoundError:
        raise LabError(f"There is no file {path}. Look for it where it was saved.") from None
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise LabError(
            f"{path.name} cannot be read as CSV in UTF-8: {why}. Save it as CSV UTF-8."
        ) from None
    if not rows:
        raise LabError(f"{path.name} is empty. Fill in the sheet that tpiece lab checklist wrote.")
    (_, head), *rest = rows
    missing = [name for name in COLUMNS if name not in head and name != "note"]
    if missing:
        raise LabError(
            f"{path.name} has no column {' and no column '.join(missing)}; its first line must "
            f"name {', '.join(COLUMNS)}."
        )
    at = {name: head.index(name) for name in COLUMNS if name in head}
    return [(line, _seen(cells, at)) for line, cells in rest if any(cells)]


def _seen(cells: list[str], at: Mapping[str, int]) -> Seen:
    said = {name: cells[n] if n < len(cells) else "" for name, n in at.items()}
    said["done"] = said["done"].casefold()
    return Seen(**said)


def rows_of(path: Path) -> list[tuple[int, list[str]]]:
    """Return (line number, cells) of a CSV file in UTF-8, the head in small letters.

    Spreadsheets of some countries part cells by semicolons or tabs. Raises OSError,
    UnicodeDecodeError or csv.Error.
    """
    try:
        data = read_plain(path, LARGEST, follow=True)
    except TooLargeError:
        raise csv.Error("it is far larger than any checklist") from None
    text = data.decode("utf-8-sig")
    head = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=head.count))
    rows = [(reader.line_num, [_plain(cell) for cell in row]) for row in reader]
    return [
        (n, [c.casefold() for c in cells] if k == 0 else cells) for k, (n, cells) in enumerate(rows)
    ]


def _plain(cell: str) -> str:
    """Return a cell in one line, without the apostrophes that kept it from being a formula."""
    return _KEPT.sub(r"\1", " ".join(cell.split()))


def _wrong(seen: Seen, known: Known) -> Iterator[str]:
    """Yield a sentence for each mistake of one line."""
    if seen.learner not in known.learners:
        yield _unknown("learner", seen.learner, known.learners, "the course")
    if seen.step not in known.steps:
        yield _unknown("step", seen.step, known.steps, "the checklist")
    if seen.done not in DONE:
        said = f"{_short(seen.done)} is no result" if seen.done else "done is empty"
        yield f"{said}; write yes, no or with help."
    if not seen.by or len(seen.by) > LONGEST_BY or not seen.by.isprintable():
        yield f"by must hold the observer's initials, at most {LONGEST_BY} characters."
    if len(seen.note) > LONGEST_NOTE or not seen.note.isprintable():
        yield f"the note must be at most {LONGEST_NOTE} plain characters."
    yield from _wrong_date(seen.date, known.today)


def _unknown(what: str, said: str, there: Collection[str], where: str) -> str:
    if not said:
        return f"{what} is empty."
    near = get_close_matches(said[:80], there, 1) if len(there) <= 5000 else []
    hint = f" Did you mean {near[0]}?" if near else ""
    return f"there is no {what} {_short(said)} in {where}.{hint}"


def _wrong_date(text: str, today: date) -> Iterator[str]:
    if not text:
        yield "date is empty; write the day of the lab, for example " + f"{today.isoformat()}."
        return
    try:
        day = date.fromisoformat(text) if _DATE.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None:
        yield f"{_short(text)} is no date; write year-month-day, for example {today.isoformat()}."
    elif day > today:
        yield f"{text} lies in the future; only what was seen can be recorded."


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return repr(shown[:40] + ("..." if len(shown) > 40 else ""))
