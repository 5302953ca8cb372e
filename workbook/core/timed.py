"""A timed record: what hands did, as data from a page, read with suspicion.

``{"format": "tpiece-...", "version": 1, "duration": 60000, "moves": [[800, "cap"], ...]}``: each
row is a time, what was done and, where it takes one, a number or an id. Bench, trial and case each
have their rows and refuse in words of their own; how they are read is the same.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.language import _, number

FORGIVEN = 50  # ms by which something may begin before the one before has ended


@dataclass(frozen=True, slots=True)
class Form:
    """How one kind of record is written, and the sentences that refuse it, marked by ``N_``.

    ``rows`` is the key of its list, of ``most`` rows. ``row`` names a row by its number {n}, and
    ``word`` is what ``unknown`` calls what was done. ``error`` is what carries a sentence.
    """

    error: type[ValueError]
    format: str
    version: int
    rows: str
    most: int
    none: str
    no_rows: str
    many: str
    no_row: str
    row: str = ""
    word: str = ""
    unknown: str = ""
    before: str = ""
    beyond: str = ""

    def opened(self, data: object) -> Mapping[str, Any]:
        """Return a record of this format and version; raises ``error`` for anything else."""
        if not isinstance(data, Mapping) or data.get("format") != self.format:
            raise self.error(_(self.none))
        if data.get("version") != self.version:
            says = _("the record is of version {given}; this workbook reads version {version}.")
            given = repr(str(data.get("version"))[:20])
            raise self.error(says.format(given=given, version=self.version))
        return data

    def listed(self, data: Mapping[str, Any]) -> list[object]:
        """Return its rows, no more than hands can do; raises ``error`` where there are none."""
        rows = data.get(self.rows)
        if not isinstance(rows, list):
            raise self.error(_(self.no_rows))
        if len(rows) > self.most:
            raise self.error(_(self.many).format(count=len(rows), most=self.most))
        return rows

    def parted(self, row: object, n: int) -> tuple[object, str, list[Any]]:
        """Return time, what was done, and the number or id if any: their shape alone is checked."""
        if not isinstance(row, list) or not 2 <= len(row) <= 3 or not isinstance(row[1], str):
            raise self.error(_(self.no_row).format(n=n))
        return row[0], row[1], row[2:]

    def entry(
        self, row: object, n: int, limit: float, known: Container[str]
    ) -> tuple[float, str, Any]:
        """Return time (s), which of the ``known`` was done, and a number or id or None."""
        at, done, rest = self.parted(row, n)
        time = self.milliseconds(at, limit, self.row, n)
        if done not in known:
            raise self.error(_(self.unknown).format(n=n, **{self.word: repr(done[:20])}))
        return time / 1000, done, rest[0] if rest else None

    def milliseconds(self, value: object, limit: float, what: str, n: int = 0) -> int:
        """Return a time in whole milliseconds, from 0 to ``limit`` (s) and a little.

        ``what`` says whose time it is, marked by ``N_``; ``n`` is the number of its row.
        """
        if type(value) is int and 0 <= value <= 1000 * limit + FORGIVEN:
            return value
        told = _(what).format(n=n)
        if type(value) is not int:
            raise self.error(_("{what} has no time in milliseconds.").format(what=told))
        if value < 0 and self.before:
            raise self.error(_(self.before).format(what=told))
        says = _(self.beyond).format(what=told, given=str(value)[:20], most=number(limit))
        raise self.error(says)


def as_rows(done: Iterable[tuple[float, str, Any]]) -> list[list[Any]]:
    """Return rows as a page sends them, in whole milliseconds, from times in seconds."""
    return [[round(1000 * t), did, *([] if what is None else [what])] for t, did, what in done]


@dataclass(slots=True)
class Switch:
    """What is on or off, such as a covered hole: it cannot be turned to what it is already."""

    on: str
    off: str
    is_on: bool = False

    def repeated(self, done: str) -> bool:
        """Take in what was done; say whether it turned this to what it was already."""
        if done not in (self.on, self.off):
            return False
        was, self.is_on = self.is_on, done == self.on
        return was == self.is_on
