"""Where a case of the lesson is talked over, by turns with the same baby who begins again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from workbook.cases import Question
from workbook.core.answer_sheet import AnswerSheet
from workbook.display import cards
from workbook.lesson.unit import as_saved
from workbook.rules import RuleBook
from workbook.scenario import ScenarioError
from workbook.units.scenario.practice import on_case, replayed
from workbook.widgets import Control, Debrief
from workbook.widgets.case import PRACTICE, CaseControl

DEBRIEF, AGAIN = ".debrief", ".again"  # what is added to the id of a case


class Keeping(Protocol):
    """What a place to talk needs of its page."""

    book: RuleBook

    def sheet(self) -> AnswerSheet:
        """Return the answers so far."""

    def saves(self, id: str, label: str) -> Callable[..., Mapping[str, Any]]:
        """Return what keeps an answer."""


class Talk:
    """A case talked over before it is said how it went, and the same baby again.

    ``show`` puts something in the place; ``words`` are the lesson's, ``went`` says how a case went.
    """

    def __init__(
        self,
        page: Keeping,
        asked: Question,
        show: Callable[[Any], None],
        words: Mapping[str, str],
        went: Mapping[str, Any],
    ) -> None:
        self._page, self._asked, self._show = page, asked, show
        self._words, self._went = words, went
        self._case = asked.facts["case"]
        self.shown: Control | None = None

    def resume(self) -> None:
        """Show what was talked over last, if anything was played to its end or spoken of."""
        found = self._page.sheet().latest()
        played = [found[id] for id in (self._asked.id, self._asked.id + AGAIN) if id in found]
        if not played:
            return
        last = max(played, key=lambda answer: answer.number)
        if last.value.get("ended") == "whole" or self._said_since(last.number):
            self.open(last.value, arrives=False)

    def open(self, record: Any, *, arrives: bool = True) -> Mapping[str, Any]:
        """Talk over a record; return what is said where it was asked for."""
        try:
            made = replayed(self._case, record, self._page.book)
        except ScenarioError as error:
            return {"heading": str(error), "lines": []}
        id, label = self._asked.id + DEBRIEF, self._words["talk_label"]
        self._put(Debrief(
            id, label, made=made, book=self._page.book, help=self._words["talk_help"],
            lines=lambda: on_case(self._case, record, self._page.book, self._went)["lines"],
            again=lambda at: self.again(record, at), saved=self._saved(record),
            save=self._page.saves(id, label), arrives=arrives,
        ))  # fmt: skip
        return {"heading": self._words["talk_below"], "lines": []}

    def again(self, record: Any, at: float) -> None:
        """Let the same baby begin again from a second (s) of a record."""
        id, label = self._asked.id + AGAIN, self._words["again_label"]
        made = CaseControl(
            id, label, case=self._case, book=self._page.book, record=record, start=at,
            mode=PRACTICE, prompts=self._asked.shows["prompts"], help=self._words["model"],
            save=self._page.saves(id, label), check=self.open, arrives=True,
        )  # fmt: skip
        made.words = {**made.words, "check": self._words["went"]}
        self._put(made)

    def _put(self, control: Control) -> None:
        self.shown = control
        self._show(control)

    def _said_since(self, number: int) -> bool:
        said = self._page.sheet().latest().get(self._asked.id + DEBRIEF)
        return said is not None and said.number > number

    def _saved(self, record: Any) -> dict[str, Any] | None:
        """Return what was said of this very record; nothing of an earlier one."""
        found = self._page.sheet().latest()
        played = [found[id] for id in (self._asked.id, self._asked.id + AGAIN) if id in found]
        number = max((one.number for one in played if one.value == record), default=None)
        if number is None or not self._said_since(number):
            return None
        return as_saved(found[self._asked.id + DEBRIEF])


def waiting(words: Mapping[str, str]) -> cards.Shown:
    """Return what stands in the place before anything was played."""
    return cards.note(words["talk_first"])
