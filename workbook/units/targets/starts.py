"""The pressure lesson's first part: what to set for a baby, and oxygen by the table."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from workbook.cases import Question, starting
from workbook.core.answers import AnswersFile
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.display.cards import Reading
from workbook.display.scene import Scenes
from workbook.lesson.bench import BenchLesson
from workbook.lesson.shown import told_table
from workbook.rules import Basis, Rule, RuleBook
from workbook.units.targets import practice
from workbook.units.targets.case import oxygen, starting_sets
from workbook.units.targets.draws import Drawn, whence

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

    def start_first(self) -> None:
        """Ask what to set for a first baby; once answered, show where its numbers come from."""
        asked = self.drawn.start
        self._ask_first(asked, self._on_set, lambda: self.whence_shown(asked))

    def _on_set(self, chosen: Any, asked: Question) -> Mapping[str, Any]:
        return practice.on_set(chosen, asked, self.book, self.data["start"]["says"])

    def _ask_first(
        self,
        asked: Question,
        check: Callable[[Any, Question], Mapping[str, Any]],
        shows: Callable[[], cards.Shown],
    ) -> None:
        """Ask a question, and show what it is about only after an answer was checked."""

        def look(value: Any) -> Mapping[str, Any]:
            self._see(asked.id, value)
            return check(value, asked)

        self._ask(self._named(asked), look)
        self._show_on_look(asked.id, lambda looked: shows() if looked else cards.note(""))

    def _named(self, asked: Question) -> Question:
        """Return a drawn question under the lesson's own heading for it."""
        return replace(asked, help=self._fill(self.data["drawn"].get(asked.id, "")))

    def whence_shown(self, asked: Question) -> cards.Shown:
        """Return the four settings of a baby, where each number is from, and every rule folded."""
        words, book = self.data["starts"], self.book
        met = starting.Baby(asked.facts["weeks"], asked.facts["kg"])
        rules = starting.wanted(book, met)
        rows = [
            [
                _(starting.NAMES[part]),
                self._number(part, rules, met),
                whence(part, rules.get(part), book),
            ]
            for part in starting.PARTS
        ]
        told = told_table(words["title"].format(baby=met.says), words["columns"], [
            [name, number, words["whence"][where]] for name, number, where in rows
        ])  # fmt: skip
        return cards.stack([
            told,
            cards.note(words["guard"]),
            *([cards.note(words["memory"])] if any(map(_from_memory, rules.values())) else []),
            cards.note(self._site()),
            cards.folded(words["folded"], self._every_card()),
        ])  # fmt: skip

    def _number(self, part: str, rules: Mapping[str, Rule], met: starting.Baby) -> str:
        if part not in rules:
            return "–"
        said = starting_sets.asked_of(part, rules, self.book, met).partition(": ")[2]
        return said if part == "relief" else rules[part].shown

    def _site(self) -> str:
        words = self.data["starts"]
        return str(words["site" if self.book.protocol else "no_site"]).format(
            protocol=self.book.protocol
        )

    def _every_card(self) -> cards.Shown:
        """Return the cards of every rule on starting: all babies, sources, how sure."""
        ids = [id for id in STARTS if id in self.book]
        return cards.stack([cards.rule_card(self.book, id) for id in (*ids, *EXAMPLES)])

    # --- oxygen by the table

    def oxygen_first(self) -> None:
        """Ask what to do with the oxygen; once answered, show the table."""
        self._ask_first(self.drawn.oxygen, self._on_oxygen, self.oxygen_table)

    def _on_oxygen(self, chosen: Any, asked: Question) -> Mapping[str, Any]:
        return practice.on_oxygen(chosen, asked, self.book, self.data["oxygen"]["says"])

    def oxygen_table(self) -> cards.Shown:
        """Return the saturation of each minute, by the edition or by the table that stands in."""
        words, used = self.data["oxygen"], oxygen.table(self.book)
        rows, cited = list[list[str]](), list[str]()
        for minute in oxygen.MINUTES:
            rules = [rule for rule in oxygen.at(used, minute) if rule.stated]
            several = len(rules) > 1
            for rule in rules:
                whom = f" ({_(rule.population.says)})" if several else ""
                rows.append([plain(minute, "min") + whom, rule.text])
                cited.append(str(rule.citation))
        title = words["title"].format(whose=used.edition.named)
        made = cards.rows_table(title, words["columns"], rows, list(dict.fromkeys(cited)))
        text = "\n".join([f"{title}.", *("; ".join(row) for row in rows)])
        told = [cards.Shown(made.html, text)]
        if any(_from_memory(r) for m in oxygen.MINUTES for r in oxygen.at(used, m) if r.stated):
            told.append(cards.note(Basis.MEMORY.says))
        return cards.stack([*told, *(cards.note(self._fill(line)) for line in words["explain"])])


def _from_memory(rule: Rule) -> bool:
    return rule.citation.from_memory


def numbered_rows(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return rows with a number before each first cell."""
    return [[f"{n}. {first}", *rest] for n, (first, *rest) in enumerate(rows, start=1)]
