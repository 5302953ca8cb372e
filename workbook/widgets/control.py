"""What every control shares: a question, an answer that is saved and acknowledged, feedback."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import anywidget
import traitlets

HERE = Path(__file__).parent
Save = Callable[..., Mapping[str, Any]]
Check = Callable[[Any], Mapping[str, Any]]

WORDS = {
    "lang": "en",
    "blank": "Not answered yet.",
    "saving": "Saving…",
    "saved": "Saved (answer {number} at {time})",
    "stuck": "Not saved yet: the page's engine is busy or has stopped. Your answer is kept on this "
    "page and sent again every few seconds. If this lasts, reload the page and answer again.",
    "refused": "{says}",
    "elsewhere": "Another copy of this page saved a different answer. Yours is being saved now.",
    "notNumber": "Not saved: type a number, for example 12 or 12,5.",
    "emptied": "Not saved: the field is empty; the last saved answer still counts.",
    "check": "Check my answer",
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


class Control(anywidget.AnyWidget):
    """A question with one answer.

    ``save(value, client, seq)`` writes an answer down and returns its ``number`` and ``at``; the
    same (client, seq) must return the same number. ``check(value)`` returns practice feedback.
    """

    _css = (HERE / "shared.css").read_text(encoding="utf-8")

    question = traitlets.Unicode().tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)
    help = traitlets.Unicode().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    saved = traitlets.Dict().tag(sync=True)
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
        **more: Any,
    ) -> None:
        super().__init__(
            question=question, label=label, help=help, words=WORDS, saved=dict(saved or {}),
            read_only=read_only, can_check=check is not None, **more,
        )  # fmt: skip
        self._save, self._check = save, check
        self._count = 0
        self.on_msg(self._hear)

    @property
    def value(self) -> Any:
        """Return the last saved answer, or None."""
        return self.saved.get("value")

    def problem(self, value: Any) -> str:
        """Return what is wrong with the shape of an answer in a sentence, or nothing."""
        raise NotImplementedError

    def _hear(self, _: Any, content: Any, buffers: Any) -> None:
        kind = content.get("kind") if isinstance(content, dict) else None
        if kind == "answer":
            self._answer(content.get("value"), str(content.get("client")), content.get("seq"))
        elif kind == "check" and self._check is not None:
            self._give_feedback(self._check)

    def _answer(self, value: Any, client: str, seq: Any) -> None:
        told = {"client": client, "seq": seq}
        if self.saved.get("client") == client and self.saved.get("seq") == seq:
            self._tell_saved()
            return
        says = "Not saved: the workbook has been closed for answers." if self.read_only else ""
        says = says or self.problem(value)
        if not says:
            try:
                self._keep(value, client, int(seq))
            except (OSError, ValueError) as error:
                says = str(error)
        if says:
            self.send({"kind": "refused", **told, "says": says})
        else:
            self._tell_saved()

    def _keep(self, value: Any, client: str, seq: int) -> None:
        if self._save is None:
            self._count += 1
            done: Mapping[str, Any] = {"number": self._count, "at": ""}
        else:
            done = self._save(value, client=client, seq=seq)
        self.saved = {"value": value, "client": client, "seq": seq, **done}

    def _tell_saved(self) -> None:
        told = {key: self.saved[key] for key in ("client", "seq", "number", "at")}
        self.send({"kind": "saved", **told})

    def _give_feedback(self, check: Check) -> None:
        if self.value is None:
            self.feedback = {"heading": "Answer first, then check.", "lines": []}
        else:
            self.feedback = dict(check(self.value))
