"""A control for the note of a case: an entry a line, each typed, chosen, or left blank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import traitlets

from workbook.core.language import _
from workbook.scenario.note import FORMAT, VERSION, NoteError, read_note
from workbook.widgets.control import Control, style
from workbook.widgets.modules import joined


class NoteControl(Control):
    """What a team writes on a case: ``{"format": "tpiece-note", "begun": 48, …}``.

    ``entries`` are those of `workbook.scenario.told_note.entries`: a number with its unit, which
    may say “not done” or “not known” instead, or one of several options.
    """

    _esm = joined("note.js")
    _css = style("note.css")

    entries = traitlets.List().tag(sync=True)
    head = traitlets.Dict({"format": FORMAT, "version": VERSION}).tag(sync=True)

    def __init__(
        self, question: str, label: str, *, entries: Sequence[Mapping[str, Any]], **more: Any
    ) -> None:
        super().__init__(question, label, entries=[dict(one) for one in entries], **more)

    def problem(self, value: Any) -> str:
        """Say in one sentence why a value is no note."""
        try:
            read_note(value)
        except NoteError as error:
            return _("Not saved: {why}").format(why=error)
        return ""
