"""What the page of lesson 1 calls: a bench to play with, orders tried, the whole procedure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from workbook.bench import Bench
from workbook.cases import Draw, Question
from workbook.cases.dials import set_for
from workbook.core.answers import AnswersFile
from workbook.core.language import _
from workbook.display import cards
from workbook.display.studies import lung
from workbook.lesson.page import Fill, Lesson, area, question_of
from workbook.lesson.play import baby_of
from workbook.rules import RuleBook
from workbook.units.setup import practice

if TYPE_CHECKING:
    from workbook.widgets import BenchControl

SET = ("flow", "relief", "pip", "peep")


class SetupLesson(Lesson):
    """Lesson 1 as one learner sees it."""

    def __init__(self, data: Mapping[str, Any], book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        self.procedure = book.procedure("set-up")

    def play(self) -> None:
        """Give the bench to play with, before anything is asked; nothing of it is kept."""
        from IPython.display import display

        display(bench_to_play(self.data["play"]["says"], self.scenes.numbers, self.book))

    def try_order(self) -> None:
        """Let the learner arrange the settings; show what the gauge shows in that order."""
        table = self.data["try-order"]
        question = self._steps_question(table, self._draw(table["id"]), self.scenes.fill)

        def run(order: Any) -> Mapping[str, Any]:
            played = self.scenes.play(order, as_left=True)
            show(cards.readings_table(table["title"], played))
            heading = self.scenes.fill(table["result"], played)
            return {**self._on_order(order), "heading": heading}

        self._ask(question, run, "run")
        show = area(cards.note(""))

    def worked_example(self) -> None:
        """Show the whole procedure, folded: its steps by purpose, each with its reason.

        Below it, folded too, the rules on which parts fit.
        """
        words, table = self.data["words"], self.data["purposes"]
        steps = cards.folded(words["steps"], cards.procedure_table(self.procedure, table))
        parts = cards.folded(words["parts"], self._cards(self.data["cards"]["parts"]))
        area(cards.stack([steps, parts]))

    def practise(self, part: str) -> None:
        """Give one part of the practice, with feedback on request and hints."""
        table = self.data["practice"][part]
        self._practise_next(table, self._draw(f"practice-{part}"))
        area(cards.hints(table["hints"]))

    def _practise_next(self, table: Mapping[str, Any], draw: Draw) -> None:
        done, choices = practice.next_step(self.procedure, draw)
        area(cards.numbered(table["done"], [_(self.procedure[step].says) for step in done]))
        options = {step: _(self.procedure[step].says) for step in choices}
        question = question_of({**table, "kind": "choice", "options": options}, str)
        says = self.data["practice"]["says"]
        self._ask(question, lambda got: practice.on_next(self.procedure, done, got, says))

    def _steps_question(self, table: Mapping[str, Any], draw: Draw, fill: Fill) -> Question:
        steps = table.get("steps", self.procedure.ids)
        start = draw.shuffled(steps)
        while not practice.broken(self.procedure, start):  # a right start would ask nothing
            start = draw.shuffled(start)
        options = {step: _(self.procedure[step].says) for step in start}
        return question_of({**table, "kind": "sequence", "options": options}, fill)

    def _on_order(self, order: Any) -> Mapping[str, Any]:
        return practice.on_order(self.procedure, order, self.data["practice"]["says"])


def bench_to_play(says: str, numbers: Mapping[str, float], book: RuleBook) -> BenchControl:
    """Return a bench whose gas flows by itself; its pressures are set, its mask seals."""
    from workbook.widgets import BenchControl

    baby = baby_of(book)
    positions = set_for({name: numbers[name] for name in SET})
    bench = Bench(positions, lung(), baby["weight"], "lung")
    return BenchControl("play", says, bench=bench, chest=baby["chest"], offers=(), plays=True)


KIND = SetupLesson  # what `workbook.lesson.open_page` opens
