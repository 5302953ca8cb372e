"""A note in words, and its entries as data for a page."""

from __future__ import annotations

from typing import Any

from workbook.core.language import N_, _
from workbook.rules import RuleBook
from workbook.scenario.note import (
    ENTRIES,
    INTERFACES,
    NONE,
    UNKNOWN,
    NoteError,
    named,
    read_note,
    told,
)

SAID = {NONE: N_("Not done"), UNKNOWN: N_("Not known")}
TYPED = {"1/min": N_("a minute"), "percent": "%"}


def note_in_words(data: object) -> str:
    """Return a note in words, a line for each entry that was filled in."""
    try:
        note = read_note(data)
    except NoteError:
        return _("a note that cannot be read")
    lines = [f"{named(id)}: {told(id, value)}" for id, value in note.entries.items()]
    return "\n".join(lines) or _("a note with nothing in it")


def entries(book: RuleBook) -> list[dict[str, Any]]:
    """Return the entries of a note as data for a page; of minutes those that a case can reach."""
    most = book["scenario.limit"].value
    return [_entry(id) for id, entry in ENTRIES.items() if 60 * entry.minute <= most]


def _entry(id: str) -> dict[str, Any]:
    """Return one entry: a number is typed, or one of its options is chosen."""
    entry = ENTRIES[id]
    words = SAID if entry.unit else {**INTERFACES, UNKNOWN: SAID[UNKNOWN]}
    options = [{"id": one, "text": _(text)} for one, text in words.items() if _may(id, one)]
    unit = _(TYPED[entry.unit]) if entry.unit in TYPED else entry.unit
    return {"id": id, "label": named(id), "unit": unit, "options": options}


def _may(id: str, option: str) -> bool:
    return option != NONE or ENTRIES[id].none or not ENTRIES[id].unit
