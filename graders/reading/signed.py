"""Reads a filled-in sheet of what was read in print: every mistake at once, each with its line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path

from graders.core.mistakes import told
from graders.reading.sheet import COLUMNS, FILLED, GIVEN
from workbook.core.errors import PlainError
from workbook.rules import Rule
from workbook.rules.files import shipped
from workbook.rules.rule import ReadBy
from workbook.rules.signed import Numbers, Signature, digest_of
from workbook.rules.site.signedfile import known_books, shipped_rule
from workbook.rules.site.signedvalue import WrittenError, parts_of, read_written, same, why_not

LARGEST = 2_000_000  # bytes; a sheet of a hundred lines has some 50,000
LONGEST = {"page": 40, "prints": 60, "name": 80, "role": 60, "read": 40, "date": 20}  # characters
TICKS = {"x", "yes", "y", "ok", "true", "1", "\u2713", "\u2714", "\u2611"}
_NEEDED = ("edition", "rule", "whom", "mark", "asks", *FILLED)
_FORMULA = "=+-@\uff0b\uff0d\uff1d\uff20"
_ISO = re.compile(r"(\d{4})-(\d\d?)-(\d\d?)")
_OTHER = re.compile(r"(\d\d?)([./])(\d\d?)\2(\d{4})")


class SignError(PlainError, ValueError):
    """A filled-in sheet that cannot be taken in; the message names every mistake."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One signature as its line gives it, with the name that stays in the site's own file."""

    signature: Signature
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SignedSheet:
    """What a filled-in sheet says, and how many of its lines were left empty."""

    entries: tuple[Entry, ...]
    empty: int

    @property
    def signatures(self) -> tuple[Signature, ...]:
        """Return its signatures."""
        return tuple(entry.signature for entry in self.entries)


def read_signed(path: Path, edition: str, today: date) -> SignedSheet:
    """Return what a filled-in sheet for a course on this edition says.

    Raises SignError naming every mistake with its line; nothing is then taken in.
    """
    lines = _lines(path)
    filled = [(n, line) for n, line in lines if any(line[name] for name in FILLED)]
    if not filled:
        raise SignError(f"{path.name} holds no signature: its columns read, page, name, role and "
                        "date are empty in every line.")  # fmt: skip
    _check_edition(path, filled, edition)
    problems: list[str] = []
    first: dict[tuple[str, str, str], int] = {}
    entries = []
    for n, line in filled:
        key = line["edition"], line["rule"], line["whom"]
        if first.setdefault(key, n) != n:
            says = f"{_short(line['rule'])} for {_short(line['whom'])} stands in line {first[key]}"
            problems.append(f"line {n}: {says} already; keep one of them.")
            continue
        try:
            entries.append(_entry(line, today))
        except ValueError as error:
            problems.append(f"line {n}: {error}")
    if problems:
        raise SignError(told(path, problems, "nothing was taken in."))
    return SignedSheet(tuple(entries), len(lines) - len(filled))


def _check_edition(path: Path, filled: list[tuple[int, dict[str, str]]], edition: str) -> None:
    for n, line in filled:
        if line["asks"] != edition:
            raise SignError(
                f"{path.name}, line {n}: the sheet was printed for a course on "
                f"{_short(line['asks'])}, but this one asks about {edition}; print its own sheet "
                "with tpiece rules sheet. Nothing was taken in."
            )


def _entry(line: Mapping[str, str], today: date) -> Entry:
    """Return one line as a signature; ValueError with a sentence when it cannot be one."""
    for name in FILLED:
        _check_cell(name, line[name])
    rule = _rule(line)
    ticked, prints = line["read"], line["prints"]
    if missing := [name for name in ("page", "name", "role", "date") if not line[name]]:
        what = f"{rule.id} is ticked" if ticked else f"{rule.id} has another number"
        what = what if ticked or prints else f"{rule.id} is half filled"
        raise ValueError(f"{what}, but {' and '.join(missing)} {_be(missing)} empty.")
    if not ticked and not prints:
        raise ValueError(f"{rule.id} is signed, but neither ticked nor given another number.")
    parts = _parts(rule, ticked)
    numbers = _numbers(rule, prints)
    day = _day(line["date"], today)
    _check_published(rule, day)
    read = ReadBy(line["role"], day.isoformat(), line["page"], parts)
    key = rule.edition, rule.id, rule.population.says
    signature = Signature(*key, digest_of(rule), read, numbers)
    return Entry(signature, line["name"], tuple(line[name] for name in COLUMNS))


def _check_cell(name: str, text: str) -> None:
    if not text.isprintable():
        raise ValueError(f"{name} holds a character that cannot be printed; type it anew.")
    if text[:1] and text[0] in _FORMULA:
        raise ValueError(f"{name} begins like a formula, {_short(text)}; write plain text.")
    if len(text) > LONGEST[name]:
        raise ValueError(f"{name} is longer than {LONGEST[name]} characters.")


def _rule(line: Mapping[str, str]) -> Rule:
    """Return the rule a line is of, as it is now."""
    edition, id, whom = line["edition"], line["rule"], line["whom"]
    rule = shipped_rule(edition, id, whom) if edition in known_books() else None
    if rule is None:
        raise ValueError(_unknown(edition, id, whom))
    if digest_of(rule) != line["mark"]:
        raise ValueError(
            f"{id} of {edition} has changed since this sheet was printed (now {rule.text}); print "
            "a new sheet and read it again."
        )
    if why := why_not(rule):
        raise ValueError(f"{id} of {edition} cannot be signed as read: it {why}.")
    return rule


def _unknown(edition: str, id: str, whom: str) -> str:
    if edition not in known_books():
        near = get_close_matches(edition[:40], known_books(), 1)
        hint = f" Did you mean {near[0]}?" if near else ""
        return f"there is no edition or file {_short(edition)}.{hint}"
    book = shipped(edition)
    ids = {rule.id for rule in book if rule.edition == edition}
    if id in ids:
        there = "; ".join(r.population.says for r in book.all(id))
        return f"{id} of {edition} is not told for {_short(whom)}, but for: {there}."
    near = get_close_matches(id[:60], ids, 1)
    hint = f" Did you mean {near[0]}?" if near else ""
    return f"there is no rule {_short(id)} in {edition}.{hint}"


def _parts(rule: Rule, ticked: str) -> tuple[str, ...]:
    """Return the parts that alone were read; none when all of it was."""
    words = [word for word in re.split(r"[\s,;+]+", ticked.casefold()) if word]
    if not words or (len(words) == 1 and words[0] in TICKS):
        return ()
    can = parts_of(rule)
    if strange := [word for word in words if word not in ("low", "high", "typical", "and")]:
        raise ValueError(
            f"read holds {_short(strange[0])}; write x, or low, high or typical for a part of a "
            "band, or leave the line empty."
        )
    wanted = [word for word in words if word != "and"]
    if wrong := [word for word in wanted if word not in can]:
        has = f"its parts are {' and '.join(can)}" if len(can) > 1 else "it is one: write x"
        raise ValueError(f"{rule.id}, {rule.text}, has no part {wrong[0]}; {has}.")
    return () if set(wanted) == set(can) else tuple(part for part in can if part in wanted)


def _numbers(rule: Rule, prints: str) -> Numbers | None:
    """Return the other number that is printed; None where it is the same."""
    if not prints:
        return None
    try:
        made = read_written(rule, prints)
    except WrittenError as error:
        raise ValueError(f"{rule.id}: {error}.") from None
    return None if same(rule, made) else made


def _day(text: str, today: date) -> date:
    day = _read_day(text)
    if day is None:
        example = f"write year-month-day, for example {today.isoformat()}"
        raise ValueError(f"{_short(text)} is no date that can be read one way only; {example}.")
    if day > today:
        raise ValueError(f"{text} lies in the future; only what was read can be signed.")
    return day


def _read_day(text: str) -> date | None:
    """Return a date, as a spreadsheet of any country may have rewritten it; None if unclear."""
    try:
        if found := _ISO.fullmatch(text):
            return date(*map(int, found.groups()))
        if found := _OTHER.fullmatch(text):
            one, sign, two, year = int(found[1]), found[2], int(found[3]), int(found[4])
            if sign == "." or one > 12 or one == two:
                return date(year, two, one)
            return date(year, one, two) if two > 12 else None
    except ValueError:
        return None
    return None


def _check_published(rule: Rule, day: date) -> None:
    year = rule.citation.source.year
    if year is not None and day.year < year:
        raise ValueError(
            f"{day.isoformat()} is before its publication of {year}; is the year right?"
        )


def _be(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"


# --- the file


def filled_in(path: Path) -> bool:
    """Say whether a file holds a signature, or is no sheet and may be somebody's own."""
    try:
        return any(line[name] for _, line in _lines(path) for name in FILLED)
    except SignError:
        return True


def _lines(path: Path) -> list[tuple[int, dict[str, str]]]:
    """Return (line number, cells by column) of every line that is not empty."""
    rows = list(_rows(path))
    if not rows:
        raise SignError(f"{path.name} is empty. Fill in the table that tpiece rules sheet wrote.")
    (_, head), *rest = rows
    head = [name.casefold() for name in head]
    if missing := [name for name in _NEEDED if name not in head]:
        raise SignError(
            f"{path.name} is not a table of tpiece rules sheet: its first line names no column "
            f"{' and no column '.join(missing[:4])}{' and others' if len(missing) > 4 else ''}."
        )
    if twice := [name for name in COLUMNS if head.count(name) > 1]:
        raise SignError(f"{path.name} has the column {twice[0]} twice; keep one.")
    at = {name: head.index(name) if name in head else -1 for name in (*GIVEN, *FILLED)}
    return [
        (n, {name: cells[k] if 0 <= k < len(cells) else "" for name, k in at.items()})
        for n, cells in rest
        if any(cells)
    ]


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number, cells); spreadsheets of some countries part cells by ; or tabs."""
    try:
        text = _text(path)
        head = text.partition("\n")[0]
        part = max(",;\t", key=head.count)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=part)
        rows = [(reader.line_num, [_plain(cell) for cell in row]) for row in reader]
    except FileNotFoundError:
        raise SignError(f"There is no file {path}. Look for it where it was saved.") from None
    except OSError as error:
        raise SignError(f"{path} cannot be read: {error.strerror or error}.") from None
    except csv.Error as error:
        raise SignError(f"{path.name} is not a table in CSV: {error}.") from None
    yield from rows


def _text(path: Path) -> str:
    if path.is_file() and path.stat().st_size > LARGEST:
        raise SignError(f"{path.name} is far larger than any sheet of ours: is it the right file?")
    data = path.read_bytes()
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")  # "Unicode text" of a spreadsheet
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise SignError(
            f"{path.name} is not text in UTF-8: save it in the spreadsheet as CSV UTF-8."
        ) from None


def _plain(cell: str) -> str:
    """Return a cell in one line, without the apostrophe that kept it from being a formula."""
    text = " ".join(cell.split(" ")).strip() if cell.isprintable() else cell.strip(" \t\r\n")
    return text[1:] if text[:1] == "'" and text[1:2] and text[1] in _FORMULA else text


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return repr(shown[:40] + ("..." if len(shown) > 40 else ""))
