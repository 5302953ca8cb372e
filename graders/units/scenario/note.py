"""Marks the note of a case: each field beside what happened, and a note that is right.

Who writes down what nobody saw is told so: a note that guesses is worse than a blank.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from graders.marks import checks
from graders.marks.verdict import Finding
from graders.units.scenario.facts import Facts
from workbook.core.language import _
from workbook.scenario.looks import looks
from workbook.scenario.note import (
    ENTRIES,
    NOTE_FIELDS,
    UNKNOWN,
    Line,
    Note,
    compared,
    happened,
)

RULE = "scenario.note"
MINUTE = 60.0  # s
Key = Mapping[str, Any]


def points(key: Key) -> float:
    """Return what a note is worth in all."""
    return float(sum(_table(key, field)["points"] for field in NOTE_FIELDS))


def findings(note: Note, facts: Facts, key: Key, question: str) -> Iterator[Finding]:
    """Yield a finding for each field of a note."""
    lines, source = compared(note, facts.made, facts.book), checks.source_of(facts.book[RULE])
    for field in NOTE_FIELDS:
        mine = [line for line in lines if line.field == field]
        yield _finding(f"{question}-{field}", mine, _table(key, field), source)


def _finding(name: str, lines: Sequence[Line], table: Key, source: str) -> Finding:
    """Return the finding on one field: each of its entries earns its share."""
    wrong, full = [one for one in lines if not one.agrees], float(table["points"])
    if not wrong:
        return Finding(name, True, _(table["right"]), full, full, False, RULE)
    earned = round(full * (1 - len(wrong) / len(lines)), 2)
    says = " ".join([*(one.says for one in wrong), _(table["why"])])
    return Finding(name, False, says, earned, full, False, RULE, source)


def _table(key: Key, field: str) -> Key:
    table: Key = key["criterion"][f"note-{field}"]
    return table


def of(facts: Facts) -> dict[str, Any]:
    """Return the note of a case as it should be written: what was seen, and no more."""
    found: dict[str, float | str] = dict(happened(facts.made))
    near, seen = facts.book["scenario.note.heart"].band[1], looks(facts.made, facts.book)
    for id, entry in ENTRIES.items():
        if entry.minute:
            at = MINUTE * entry.minute
            rates = sorted((abs(one.time - at), one.rate) for one in seen.near(at, near))
            found[id] = rates[0][1] if rates else UNKNOWN
    whole = {id: v if isinstance(v, str) else float(round(v)) for id, v in found.items()}
    return Note(whole).to_data()
