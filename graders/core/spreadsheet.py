"""Cells for a spreadsheet: none is taken for a formula, and names stay what they are."""

from __future__ import annotations

import re

from graders.core.terminal import printable

# Spreadsheets read the mark at the start as "this is UTF-8"; without it names turn to noise.
ENCODING = "utf-8-sig"
BETWEEN = " | "

_FORMULA = "=+\\-@\uff0b\uff0d\uff1d\uff20"
_STARTS = re.compile(rf"[{_FORMULA}\t\r\n]")
# Where a spreadsheet parts lines at semicolons or tabs, a formula could start inside a cell.
_INSIDE = re.compile(rf"([;\t\r\n]\s*)(?=[{_FORMULA}])")


def harmless(value: str | float) -> str | float:
    """Return a cell that no spreadsheet takes for a formula: an apostrophe stands before one."""
    if not isinstance(value, str):
        return value
    starts = _STARTS.match(value)
    value = _INSIDE.sub(r"\1'", printable(value))
    return f"'{value}" if starts else value
