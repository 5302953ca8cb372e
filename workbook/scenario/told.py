"""A case in words: each act with its second, inflations counted together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import Any

from workbook.core.language import _
from workbook.scenario.acts import ACTS, LINES

HOLE = ("occlude", "release")
LONGEST = 60  # lines; a whole case has about forty


def case_in_words(value: Any) -> str:
    """Return what was done in a case, a line each in order; a sentence when it cannot be read."""
    rows = value.get("acts") if isinstance(value, Mapping) else None
    if not isinstance(rows, list) or not all(map(_is_row, rows)):
        return _("a case that cannot be read")
    lines = list(_lines(rows))
    return "\n".join(lines[:LONGEST]) if lines else _("nothing was done")


def _is_row(row: Any) -> bool:
    whole = isinstance(row, list) and len(row) in (2, 3)
    return whole and type(row[0]) is int and isinstance(row[1], str) and row[1] in ACTS


def _lines(rows: Iterable[list[Any]]) -> Iterator[str]:
    """Yield a line for each act; inflations one after another are told together."""
    for hole, group in groupby(rows, key=lambda row: row[1] in HOLE):
        same = list(group)
        if not hole:
            yield from (_line(row[0], row[0], _done(row)) for row in same)
            continue
        count = sum(row[1] == "occlude" for row in same)
        says = _("Hole covered {count} times.") if count > 1 else _("Hole covered.")
        yield _line(same[0][0], same[-1][0], says.format(count=count))


def _line(begun: int, ended: int, what: str) -> str:
    begun, ended = begun // 1000, ended // 1000
    if begun == ended:
        return _("{seconds} s: {what}").format(seconds=begun, what=what)
    return _("{seconds} to {end} s: {what}").format(seconds=begun, end=ended, what=what)


def _done(row: list[Any]) -> str:
    act, what = ACTS[row[1]], row[2] if len(row) > 2 else None
    text = _(act.text)
    if what is None:
        return text
    said = _(LINES[what]) if isinstance(what, str) and what in LINES else str(what)[:8]
    return f"{text}: {said}"
