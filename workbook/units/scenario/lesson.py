"""Lesson 7, from birth to stabilised: a case to begin with, what decides, a case with less help."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from workbook.cases import Kind, Question
from workbook.cases.starting import Baby
from workbook.core.answer_sheet import AnswerSheet
from workbook.core.answers import AnswersFile
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.lesson.page import Lesson, area, opened
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.edition import PRACTICE
from workbook.scenario.demands import MINUTES
from workbook.scenario.told_note import entries
from workbook.units.scenario.case.questions import born
from workbook.units.scenario.practice import Went, on_note
from workbook.units.scenario.talk import Talk, waiting

LESSON = "7_from_birth"
BEATS = (7, 9)  # counted beats that are drawn: their rate is that of no limit
MINUTE = 60.0  # s
Table = Mapping[str, Any]


def open_page(lesson: str = LESSON, folder: Path | None = None) -> ScenarioLesson:
    """Open the lesson from birth to stabilised in a folder, the notebook's own by default."""
    return ScenarioLesson(*opened(lesson, folder))


class ScenarioLesson(Lesson):
    """The lesson in which a baby is looked after from birth on."""

    def __init__(self, data: Table, book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        self.talks: dict[str, Talk] = {}  # where each case is talked over

    # --- cases

    def case(self, id: str) -> None:
        """Give a case to play, with prompts; once it is over it is talked over below."""
        made = self._ask(
            self.asked(super()._table("case", id)), lambda got: self._talk(id, got), "went"
        )

        def saved(change: Mapping[str, Any]) -> None:
            value = change["new"].get("value") or {}
            if id in self.talks and value.get("ended") == "whole":
                self.talks[id].open(value, arrives=False)

        made.observe(saved, "saved")

    def _talk(self, id: str, value: Any) -> Mapping[str, Any]:
        return self.talks[id].open(value)

    def debrief(self, id: str) -> None:
        """Talk a case over: the learner's own say, then an expert's course, then the baby again."""
        asked, words = self.asked(super()._table("case", id)), self.data["words"]
        talk = Talk(self, asked, area(waiting(words)), words, self._said["went"])
        self.talks[id] = talk
        talk.resume()

    def sheet(self) -> AnswerSheet:
        """Return the answers of this page so far."""
        return self.file.sheet()

    def saves(self, id: str, label: str) -> Callable[..., Mapping[str, Any]]:
        """Return what keeps an answer of this page."""
        self.file.asks(id, label)
        return self._saves(id)

    def asked(self, table: Table) -> Question:
        """Return a case as a question: its baby is drawn for this learner."""
        made = born(table["id"], table["course"], self._draw(table["id"]), self.book)
        baby = Baby(int(made.weeks), made.kg).says
        return Question(
            table["id"], Kind.CASE, table["label"],
            context=table["context"].format(baby=f"{baby[0].upper()}{baby[1:]}"),
            help=table["goal"], facts={"case": made, "course": made.hidden.id, "book": self.book},
            shows={"mode": "practice", "prompts": table["prompts"]},
        )  # fmt: skip

    def note(self) -> None:
        """Ask for the note of the last case; its check compares it with what happened."""
        table, case = self.data["note"], super()._table("case", "case-faded")
        made = self.asked(case).facts["case"]
        shows = {"entries": entries(self.book)}
        asked = Question(table["id"], Kind.NOTE, table["label"], help=table["help"], shows=shows)

        def compared(value: Any) -> Mapping[str, Any]:
            last = self.file.sheet().latest().get(case["id"])
            return on_note(made, value, None if last is None else last.value, self.book, table)

        self._ask(asked, compared)

    @cached_property
    def _said(self) -> dict[str, Any]:
        filled: dict[str, Any] = self._filled({"went": self.data["went"]}, kept=Went)
        return filled

    # --- what decides

    def phenomenon(self, id: str) -> None:
        """Ask what follows, then show it, and why."""
        self.predict(id)
        self.explain(id)

    def editions(self) -> None:
        """Show when to do what by each edition, side by side; what one does not state is said."""
        table = self.data["editions"]
        rows = [[name, *(self._stated(book, id) for id in table["rules"])]
                for name, book in _every().items()]  # fmt: skip
        made = cards.rows_table(table["title"], table["columns"], rows)
        _put(cards.folded(table["title"], cards.stack([cards.note(table["note"]), made])))

    def saturations(self) -> None:
        """Show the saturation to aim for, minute by minute and edition by edition."""
        table = self.data["saturation"]
        heads = [table["minute"].format(minute=number(minute)) for minute in MINUTES]
        rows = [[name, *(self._stated(book, f"spo2.{m}min") for m in MINUTES)]
                for name, book in _every().items()]  # fmt: skip
        _put(cards.rows_table(table["title"], [table["edition"], *heads], rows))

    def _stated(self, book: RuleBook, id: str) -> str:
        """Return what one edition itself states, in words; or that it states nothing."""
        found = [rule for rule in (book.all(id) if id in book else ()) if _own(rule, book)]
        told = dict.fromkeys(rule.text for rule in found)
        if len(told) > 1:
            told = dict.fromkeys(f"{_(rule.population.says)}: {rule.text}" for rule in found)
        return "; ".join(told) or self.data["words"]["blank"]

    # --- texts

    def _table(self, kind: str, id: str) -> Table:
        filled: Table = self._filled(super()._table(kind, id))
        return filled

    def _filled(self, value: Any, kept: Mapping[str, str] | None = None) -> Any:
        """Return a table with every number filled in; words that are ``kept`` wait."""
        if isinstance(value, Mapping):
            return {name: self._filled(each, kept) for name, each in value.items()}
        if isinstance(value, list):
            return [self._filled(each, kept) for each in value]
        more = {**self._words, **(kept or {})}
        return self.scenes.fill(value, more=more) if isinstance(value, str) else value

    @cached_property
    def _words(self) -> dict[str, str]:
        beats = self._draw("beats").whole(*BEATS)
        window = self.book["scenario.time.listen"].value
        rate = beats * MINUTE / window
        return {
            "beats": number(beats), "rate": plain(rate, "1/min"), "half": plain(rate / 2, "1/min"),
            "near": plain(self.book["scenario.heart.near"].value, "1/min"), "baby": "{baby}",
        }  # fmt: skip

    def _found(self, table: Table) -> str:
        return str(table["result"])

    def _shows(self, table: Table) -> list[cards.Shown]:
        return []

    def _result(self, table: Table) -> cards.Shown:
        return cards.stack([])


def _own(rule: Rule, book: RuleBook) -> bool:
    return rule.stated and rule.edition == book.edition.id


def _every() -> dict[str, RuleBook]:
    books = [rulebook(id) for id in editions() if id != PRACTICE]
    return {book.edition.named: book for book in books}


def _put(shown: Any) -> None:
    from IPython.display import display

    display(shown)
