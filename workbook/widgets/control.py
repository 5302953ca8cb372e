"""What every control shares: a question, an answer that is saved and acknowledged, feedback."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import anywidget
import traitlets

HERE = Path(__file__).parent
Save = Callable[..., Mapping[str, Any]]
Check = Callable[[Any], Mapping[str, Any]]

# Every fixed word a control shows, so that a page can be given in another language.
WORDS = {
    "lang": "en",
    "blank": "Not answered yet.",
    "untouched": "Not answered yet: move a step to answer.",
    "saving": "Saving…",
    "saved": "Saved (answer {number} at {time})",
    "kept": "Received (answer {number} at {time}), for as long as this page is open",
    "stuck": "Not saved yet: the workbook's engine is busy or has stopped. Your answer is kept on "
    "this page and sent again every few seconds. If this lasts, choose “Start this page again” "
    "above, or reload the page. Then answer again.",
    "refused": "{says}",
    "again": "Try again",
    "elsewhere": "Another copy of this page saved a different answer. Yours is being saved now.",
    "elsewhereKept": "Another copy of this page saved a different answer. Yours is not saved.",
    "closed": "Not saved: the workbook has been closed for answers.",
    "wrongSequence": "Not saved: the answer does not name each step once. "
    "Reload the page and try again.",
    "wrongChoice": "Not saved: this is not one of the choices. Reload the page and choose again.",
    "wrongNumber": "Not saved: type a number, and choose one of the units.",
    "notNumber": "Not saved: type a number, for example 12 or 12,5.",
    "emptied": "Not saved: the field is empty; the last saved answer still counts.",
    "check": "Check my answer",
    "answerFirst": "Answer first, then check.",
    "met": "Right:",
    "notMet": "Look again:",
    "unit": "Unit",
    "undo": "Undo",
    "undone": "The last move is undone.",
    "up": "Move up",
    "down": "Move down",
    "upFull": "Move up: {step}",
    "downFull": "Move down: {step}",
    "placeFull": "Place of: {step}",
    "handle": "Step {place} of {count}: {step} Arrow keys move it.",
    "moved": "{step} Now {place} of {count}.",
}


@cache
def source(name: str) -> str:
    """Return a control's JavaScript: how saving works, then the control itself."""
    files = ("saving.js", name)
    return "\n".join((HERE / file).read_text(encoding="utf-8") for file in files)


class Control(anywidget.AnyWidget):  # type: ignore[misc]  # its base has no types
    """A question with one answer.

    ``save(value, client, seq)`` writes an answer down and returns its ``number`` and ``at``; the
    same (client, seq) must return the same number. ``check(value)`` returns practice feedback.
    Without ``save`` an answer lives as long as the control does, and the page says so.
    """

    _css = (HERE / "shared.css").read_text(encoding="utf-8")

    question = traitlets.Unicode().tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)
    help = traitlets.Unicode().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    saved = traitlets.Dict().tag(sync=True)
    lasts = traitlets.Bool(False).tag(sync=True)
    read_only = traitlets.Bool(False).tag(sync=True)
    can_check = traitlets.Bool(False).tag(sync=True)
    feedback = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        help: str = "",
        save: Save | None = None,
        check: Check | None = None,
        saved: Mapping[str, Any] | None = None,
        read_only: bool = False,
        words: Mapping[str, str] | None = None,
        **more: Any,
    ) -> None:
        super().__init__(
            question=question, label=label, help=help, words={**WORDS, **(words or {})},
            saved=dict(saved or {}), lasts=save is not None,
            read_only=read_only, can_check=check is not None, **more,
        )  # fmt: skip
        self._save, self._check = save or self._number, check
        self._count = 0
        self._known: dict[str, dict[str, Any]] = {}  # by page: the last message acknowledged
        self.on_msg(self._hear)

    @property
    def value(self) -> Any:
        """Return the last saved answer, or None."""
        return self.saved.get("value")

    def problem(self, value: Any) -> str:
        """Return what is wrong with the shape of an answer in a sentence, or nothing."""
        raise NotImplementedError

    def _hear(self, _: Any, content: Any, buffers: Any) -> None:
        told = content if isinstance(content, dict) else {}
        client, seq = told.get("client"), told.get("seq")
        if told.get("kind") == "answer" and isinstance(client, str) and type(seq) is int:
            self.send(self._reply(told.get("value"), client, seq))
        elif told.get("kind") == "check" and self._check is not None:
            self._give_feedback(self._check)

    def _reply(self, value: Any, client: str, seq: int) -> dict[str, Any]:
        """Save an answer and return its acknowledgement, or why it was refused."""
        known = self._known.get(client)
        if known is not None and seq <= known["seq"]:  # sent again: another view may be newer
            return known
        says = self.words["closed"] if self.read_only else self.problem(value)
        try:
            if not says:
                return self._keep(value, client, seq)
        except (OSError, ValueError) as error:
            says = str(error)
        return {"kind": "refused", "client": client, "seq": seq, "says": says}

    def _keep(self, value: Any, client: str, seq: int) -> dict[str, Any]:
        done = self._save(value, client=client, seq=seq)
        told = {"client": client, "seq": seq, "number": done["number"], "at": done["at"]}
        self._known[client] = {"kind": "saved", **told}
        self.saved = {"value": value, **told}
        self.feedback = {}  # it was about the answer before
        return self._known[client]

    def _number(self, value: Any, client: str, seq: int) -> Mapping[str, Any]:
        self._count += 1
        return {"number": self._count, "at": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")}

    def _give_feedback(self, check: Check) -> None:
        self.feedback = {}  # the same words again are shown, and read aloud, again
        try:
            found = None if self.value is None else dict(check(self.value))
        except (OSError, ValueError) as error:
            found = {"heading": str(error), "lines": []}
        self.feedback = found or {"heading": self.words["answerFirst"], "lines": []}
