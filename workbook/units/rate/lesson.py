"""The counting lesson: which rate, how an edition begins, what the model shows of a count."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook.cases import pace
from workbook.display import cards
from workbook.display.curves import curves_picture
from workbook.display.studies import Study
from workbook.lesson.page import opened
from workbook.lesson.shown import show, told_table
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.units.rate.case import rhythms
from workbook.units.rate.rhythm import RhythmLesson
from workbook.units.rate.shown import newest
from workbook.units.rate.studies import RATE_STUDIES

LESSON = "4_rate_counting"


def open_page(lesson: str = LESSON, folder: Path | None = None) -> RateLesson:
    """Open the counting lesson in a folder, the notebook's own by default."""
    return RateLesson(*opened(lesson, folder))


class RateLesson(RhythmLesson):
    """The lesson on rate and counting."""

    # --- predictions

    def phenomenon(self, id: str) -> None:
        """Ask for a prediction, then show what the model or the rules show, and why."""
        self.predict(id)
        self.explain(id)

    @cache  # noqa: B019  a lesson lives as long as its page
    def study(self, name: str) -> Study:
        """Return what the model shows of a phenomenon, worked out once."""
        numbers = {**self.scenes.numbers, "rate": self.count.rate}
        return RATE_STUDIES[name](numbers, self.book)

    def _found(self, table: Mapping[str, Any]) -> str:
        more = self.study(table["study"]).words if "study" in table else {}
        return self.scenes.fill(table["result"], (), more)

    def _result(self, table: Mapping[str, Any]) -> cards.Shown:
        modelled = "study" in table or table.get("model", False)
        return super()._result(table) if modelled else cards.stack(self._shows(table))

    def _shows(self, table: Mapping[str, Any]) -> list[cards.Shown]:
        shown = [self._picture(table)] if "study" in table else []
        return [*shown, self._table_of(table["table"])] if "table" in table else shown

    def _picture(self, table: Mapping[str, Any]) -> cards.Shown:
        study = self.study(table["study"])
        made = curves_picture(self.scenes.fill(table["picture"]), study.along, study.panels)
        return cards.Shown(made._repr_mimebundle_()["text/html"], made.text)

    def _table_of(self, table: Mapping[str, Any]) -> cards.Shown:
        rows = [[self.scenes.fill(cell) for cell in row] for row in table["rows"]]
        return told_table(self.scenes.fill(table["title"]), table["columns"], rows)

    def _why(self, table: Mapping[str, Any]) -> cards.Shown:
        words = self.study(table["study"]).words if "study" in table else {}
        filled = [self.scenes.fill(line, (), words) for line in table["explain"]]
        more = {"rates": self._rates, "compressions": self._compressions}
        shown = [more[table["cards"]]()] if "cards" in table else []
        return cards.stack([super()._why({**table, "explain": filled}), *shown])

    # --- which rate

    def _rates(self) -> cards.Shown:
        """Return the course's own rate as a card, and every other in a table with its sources."""
        own, words = pace.rate_rule(self.book), self.data["rates"]
        title = self.book.edition.named
        lead = words["own" if own.id == "rate" else "silent"].format(edition=title)
        others = [newest("rate", other.band) if other.id == "rate" else other
                  for other in rhythms.other_rates(self.book)]  # fmt: skip
        rows = [[rule.text, self._askers(rule), rule.citation.word] for rule in others]
        sure = dict.fromkeys(rule.citation.says for rule in others)
        sources = [cards.rule_card(rulebook(rule.edition), rule.id) for rule in others]
        more = cards.stack([*sources, cards.note(self._silent())])
        shared = self._sharing(own)
        return cards.stack([
            cards.note(lead), cards.rule_card(self.book, own.id), cards.note(shared),
            told_table(words["others"], words["columns"], rows),
            cards.note(" ".join(sure)),
            cards.folded(self.data["words"]["more"], more),
        ])  # fmt: skip

    def _sharing(self, rule: Rule) -> str:
        """Name the other editions that ask for the same rate as the course's own."""
        named = [book.edition.named for book in _others(self.book) if _states(book, rule)]
        return str(self.data["rates"]["same"].format(who="; ".join(named))) if named else ""

    def _askers(self, rule: Rule) -> str:
        """Name every edition that asks for a rate; common practice has its own name."""
        named = [book.edition.named for book in _others(self.book) if _states(book, rule)]
        return "; ".join(named) or rulebook(rule.edition).edition.named

    def _silent(self) -> str:
        named = [
            book.edition.named
            for book in map(rulebook, editions())
            if "rate" in book and pace.rate_rule(book).id != "rate"
        ]
        return str(self.data["rates"]["none"].format(who="; ".join(named)))

    # --- how an edition begins

    def firsts(self) -> None:
        """Show how the course's edition begins; where that is with long inflations, tap them."""
        begins = rhythms.firsts(self.book)
        kind = "own" if begins else "none" if rhythms.begins_at_once(self.book) else "blank"
        lead = self.data["firsts"][kind].format(edition=self.book.edition.named)
        shown = [cards.rule_card(self.book, id) for id in self._first_rules(kind)]
        others = () if begins else self._others_begin()
        show(cards.stack([cards.note(lead), *shown, *others]))
        if begins:
            self.tap("tap-first")

    def _first_rules(self, kind: str) -> Iterator[str]:
        ids = ("inflations.first", "inflations.first-time", "inflations.first-pressure")
        for id in ids[: {"own": None, "none": 1, "blank": 0}[kind]]:
            if id in self.book and any(rule.stated for rule in self.book.all(id)):
                yield id

    def _others_begin(self) -> Iterator[cards.Shown]:
        """Say of the other editions that state it that they begin with long inflations."""
        named: dict[tuple[str, str, str], list[str]] = {}
        for book in _others(self.book):
            if rhythms.firsts(book):
                many, time = book["inflations.first"], book["inflations.first-time"]
                same = (many.text, time.text, time.citation.says)
                named.setdefault(same, []).append(book.edition.named)
        says = self.data["firsts"]["others"]
        for (count, held, basis), who in named.items():
            yield cards.note(says.format(count=count, time=held, who="; ".join(who), basis=basis))

    def _compressions(self) -> cards.Shown:
        stated = rhythms.with_compressions(self.book)[1]
        first = "compressions.events" if stated else "fact.compressions.events"
        parts = (f"{first}-compressions", f"{first}-breaths")
        lead = "" if stated else self.data["words"]["study"].format(who=self.book.edition.named)
        more = cards.stack([cards.rule_card(self.book, id) for id in parts])
        return cards.stack([
            cards.note(lead), cards.rule_card(self.book, first),
            cards.folded(self.data["words"]["more"], more),
        ])  # fmt: skip


def _others(own: RuleBook) -> list[RuleBook]:
    return [book for book in map(rulebook, editions()) if book.edition.id != own.edition.id]


def _states(book: RuleBook, rule: Rule) -> bool:
    """Say whether an edition itself asks for the same rate."""
    own = pace.rate_rule(book)
    return own.id == "rate" and own.band == rule.band
