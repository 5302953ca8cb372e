"""A trial in words: each move with its second, inflations counted together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import Any

from workbook.core.language import _
from workbook.trial.moves import MOVES, SURE
from workbook.trial.named import I_DO_NOT_KNOW, NAMED, UNKNOWN

HOLE = ("occlude", "release")
LONGEST = 40  # lines; what was done most is done in fewer


def moves_in_words(value: Any) -> str:
    """Return what was done in a trial, a line each in order; a sentence when it cannot be read."""
    moves = value.get("moves") if isinstance(value, Mapping) else None
    if not isinstance(moves, list) or not all(map(_is_row, moves)):
        return _("a trial that cannot be read")
    lines = list(_lines(moves))
    return "\n".join(lines[:LONGEST]) if lines else _("nothing was done")


def _is_row(row: Any) -> bool:
    whole = isinstance(row, list) and len(row) in (2, 3)
    return whole and type(row[0]) is int and isinstance(row[1], str) and row[1] in MOVES


def _lines(rows: Iterable[list[Any]]) -> Iterator[str]:
    """Yield a line for each move; clicks of one control, and inflations, are told together.

    What took a while says from when to when, so that the line after it is seen to come later.
    """
    for (kind, _noun), group in groupby(rows, key=_alike):
        same = list(group)
        what = _what(kind, same[-1][2] if len(same[-1]) > 2 else None, same)
        begun, ended = same[0][0] // 1000, same[-1][0] // 1000
        if begun == ended:
            yield _("{seconds} s: {what}").format(seconds=begun, what=what)
        else:
            says = _("{seconds} to {end} s: {what}")
            yield says.format(seconds=begun, end=ended, what=what)


def _alike(row: list[Any]) -> tuple[str, int]:
    """Return what rows in a row are told together by."""
    move = row[1]
    if move in HOLE:
        return "hole", 0
    return move, 0 if MOVES[move].does == "dial" else id(row)


def _what(kind: str, what: Any, rows: list[list[Any]]) -> str:
    if kind == "hole":
        count = sum(row[1] == "occlude" for row in rows)
        if count > 1:
            return _("Hole covered {count} times.").format(count=count)
        return _("Hole covered.") if count else _("Hole open.")
    if kind == "name":
        said = _(_NAMES.get(str(what), "")).rstrip(".")
        return _("You say: {name}.").format(name=said)
    if kind == "sure":
        return _(SURE.get(str(what), ""))
    return f"{_(MOVES[kind].text)}."


_NAMES = {**{id: one.text for id, one in NAMED.items()}, UNKNOWN: I_DO_NOT_KNOW.text}
