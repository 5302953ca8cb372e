"""The pressure lesson's first part: where a baby starts, and what two editions ask for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from workbook import cards
from workbook import target_practice as practice
from workbook.answers import AnswersFile
from workbook.cards import Reading
from workbook.cases import starting
from workbook.lesson import question_of
from workbook.lesson_bench import BenchLesson
from workbook.rate_shown import UNKNOWN, show, told_table
from workbook.rules import RuleBook
from workbook.scene import Scenes
from workbook.target_draws import Drawn, whence

STARTS = ("pip.start", "peep.start", "relief.limit", "oxygen.start")
EXAMPLES = ("pip.example", "peep.example")

Table = Mapping[str, Any]


class Spoken(Scenes):
    """A lesson's scenes, and the words for what was drawn besides."""

    said: Mapping[str, str] = {}

    def fill(
        self, text: str, played: Sequence[Reading] = (), more: Mapping[str, str] | None = None
    ) -> str:
        """Return a text with numbers, readings and drawn words filled in."""
        return super().fill(text, played, {**self.said, **(more or {})})


class StartsLesson(BenchLesson):
    """A lesson that prepares for babies drawn for the learner."""

    def __init__(self, data: Table, book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        self.drawn = Drawn(self._draw, book)
        self.scenes = Spoken(data["numbers"], data["does"], book)
        self.scenes.said = self.drawn.words

    # --- where a baby starts

    def starts(self) -> None:
        """Show where a baby starts: the edition's rules, the site's beside them, the example."""
        words, book = self.data["starts"], self.book
        site = words["site" if book.protocol else "no_site"].format(protocol=book.protocol)
        known = [cards.rule_card(book, id) for id in STARTS if id in book]
        blank = words["blank" if self._is_blank() else "whole"]
        example = [cards.rule_card(book, id) for id in EXAMPLES]
        lead = [cards.note(self._fill(text)) for text in (words["lead"], site)]
        show(cards.stack([*lead, *known, cards.note(self._fill(blank)), *example]))

    def _is_blank(self) -> bool:
        """Say whether the edition leaves PIP or PEEP open for some baby."""
        ids = STARTS[:2]
        return any(
            id not in self.book or not all(r.stated for r in self.book.all(id)) for id in ids
        )

    def worked_start(self) -> None:
        """Show how one baby's set is found, each step with its purpose."""
        table, met = self.data["worked"], self.drawn.babies["worked"]
        rows = [*self._rule_rows(met), [*table["check"], starting.says(self.drawn.example)]]
        show(
            told_table(table["title"].format(baby=met.says), table["columns"], numbered_rows(rows))
        )

    def _rule_rows(self, met: starting.Baby) -> list[list[str]]:
        """Return, for each setting, where its number for a baby is found and what it is."""
        rules, table = starting.wanted(self.book, met), self.data["worked"]
        return [
            [table["part"][part], self._fill(table["whence"][whence(part, rule, self.book)]),
             "–" if rule is None else rule.text]
            for part, rule in ((part, rules.get(part)) for part in starting.PARTS)
        ]  # fmt: skip

    def practise_start(self, part: str) -> None:
        """Give a baby to prepare for: first with its rules shown, then without."""
        table, met, sets = self.data["start"][part], self.drawn.babies[part], self.drawn.sets(part)
        if table["with_steps"]:
            rows = [*self._rule_rows(met), [*self.data["worked"]["check"], UNKNOWN]]
            title = self.data["worked"]["title"].format(baby=met.says)
            show(told_table(title, self.data["worked"]["columns"], numbered_rows(rows)))
        context = starting.asks(self.book, met)
        options = {letter: starting.says(each) for letter, each in sets.items()}
        context = " ".join([context, *starting.notes(self.book, met)])
        asked = {**table, "kind": "choice", "context": context, "options": options}
        says = self.data["start"]["says"]
        self._ask(question_of(asked, self._fill),
                  lambda chosen: practice.on_set(chosen, sets, met, self.book, says))  # fmt: skip
        show(cards.hints(table["hints"]))

    def practise_two(self) -> None:
        """Give two editions for another baby, with statements to choose from."""
        asked, says = self.drawn.two("two"), self.data["two"]["says"]
        self._ask(replace(asked, id=self.data["two"]["id"]),
                  lambda chosen: practice.on_two(chosen, asked, says))  # fmt: skip


def numbered_rows(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return rows with a number before each first cell."""
    return [[f"{n}. {first}", *rest] for n, (first, *rest) in enumerate(rows, start=1)]
