"""A page in another language: the text of a notebook's Markdown cells, line by line.

A line is a heading, a paragraph, an entry of a list or a row of a table; its marks stay outside the
text that is looked up. Code cells are never touched.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from workbook.core.language import ENGLISH, _, beware, in_force, is_text

_MARKS = re.compile(r"^(\s*(?:#{1,6} |[-*+] |\d+[.)] |> )?)(.*?)(\s*)$", re.DOTALL)


def messages(page: Mapping[str, Any]) -> list[str]:
    """Return the texts of a notebook's Markdown cells, each once, in reading order."""
    found = (text for cell in page["cells"] for text in _texts(cell))
    return list(dict.fromkeys(found))


def translated(page: Mapping[str, Any]) -> dict[str, Any]:
    """Return a notebook with its Markdown cells in the language in force, named in its metadata.

    Ids, metadata and code stay, so that what nbgrader knows of the cells stays true.
    """
    if in_force() == ENGLISH:
        return dict(page)
    told = {**page["metadata"].get("tpiece", {}), "language": in_force()}
    cells = _warned([_cell(cell) for cell in page["cells"]])
    return {**page, "metadata": {**page["metadata"], "tpiece": told}, "cells": cells}


def _warned(cells: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return a page's cells, below the title how far its translation can be trusted."""
    first = next((n for n, cell in enumerate(cells) if cell["cell_type"] == "markdown"), None)
    if first is None or not beware():
        return cells
    title, *rest = _source(cells[first]).split("\n")
    told = _like(cells[first], "\n".join([title, "", f"**{beware()}**", *rest]))
    return [*cells[:first], told, *cells[first + 1 :]]


def _cell(cell: Mapping[str, Any]) -> dict[str, Any]:
    if cell["cell_type"] != "markdown":
        return dict(cell)
    return _like(cell, "\n".join(map(_line, _source(cell).split("\n"))))


def _like(cell: Mapping[str, Any], said: str) -> dict[str, Any]:
    """Return a cell with another text, kept as the cell's was: one string or its lines."""
    lines = isinstance(cell["source"], list)
    return {**cell, "source": said.splitlines(keepends=True) if lines else said}


def _texts(cell: Mapping[str, Any]) -> Iterator[str]:
    if cell["cell_type"] == "markdown":
        parts = (_parts(line)[1] for line in _source(cell).split("\n"))
        yield from (text for text in parts if is_text(text))


def _line(line: str) -> str:
    marks, text, end = _parts(line)
    return marks + (_(text) if is_text(text) else text) + end


def _parts(line: str) -> tuple[str, str, str]:
    found = _MARKS.match(line)
    return (found[1], found[2], found[3]) if found else ("", line, "")


def _source(cell: Mapping[str, Any]) -> str:
    source = cell["source"]
    return "".join(source) if isinstance(source, list) else str(source)
