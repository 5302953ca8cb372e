"""The counting lesson: which rate, the count worked out, what the model shows of both."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook import cards, rate_practice
from workbook.cases import Kind, Question, rhythms
from workbook.cases.rate_counting import texts as drawn_texts
from workbook.cases.rate_counting import usual_ratio
from workbook.curves import curves_picture
from workbook.lesson import opened, question_of
from workbook.lesson_rhythm import RhythmLesson
from workbook.rate_practice import Feedback, Wanted, count_words
from workbook.rate_shown import UNKNOWN, newest, show, told_table
from workbook.rate_studies import RATE_STUDIES
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.timing import Count
from workbook.studies import Study

LESSON = "4_rate_counting"
PARTS = ("last", "two", "all")  # of the faded practice


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
        return super()._result(table) if "study" in table else cards.stack(self._shows(table))

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
        """Return a card for each rate asked for: the course's own first, with who shares it."""
        own, words = rhythms.rate_rule(self.book), self.data["rates"]
        title = self.book.edition.title
        lead = words["own" if own.id == "rate" else "silent"].format(edition=title)
        shown = [cards.note(lead), cards.rule_card(self.book, own.id), *self._sharing(own)]
        shown.append(cards.note(words["others"]))
        for other in rhythms.other_rates(self.book):
            rule = newest("rate", other.band) if other.id == "rate" else other
            shown += [cards.rule_card(rulebook(rule.edition), rule.id), *self._sharing(rule)]
        return cards.stack([*shown, cards.note(self._silent())])

    def _sharing(self, rule: Rule) -> list[cards.Shown]:
        """Name the other editions that ask for the same rate."""
        named = [
            book.edition.title
            for book in map(rulebook, editions())
            if book.edition.id not in (rule.edition, self.book.edition.id) and _states(book, rule)
        ]
        says = self.data["rates"]["same"].format(who="; ".join(named))
        return [cards.note(says)] if named else []

    def _silent(self) -> str:
        named = [
            book.edition.title
            for book in map(rulebook, editions())
            if "rate" in book and rhythms.rate_rule(book).id != "rate"
        ]
        return str(self.data["rates"]["none"].format(who="; ".join(named)))

    def firsts(self) -> None:
        """Show the rules on long first inflations beside those on ordinary ones."""
        long = rulebook(newest("inflations.first-time").edition)
        ids = ("inflations.first", "inflations.first-time")
        parts = [cards.rule_card(long, id) for id in ids]
        parts.append(cards.rule_card(self.book, rhythms.longest(self.book).id))
        show(cards.stack(parts))

    def _compressions(self) -> cards.Shown:
        stated = rhythms.with_compressions(self.book)[1]
        first = "compressions.events" if stated else "fact.compressions.events"
        ids = (first, f"{first}-compressions", f"{first}-breaths")
        lead = "" if stated else self.data["words"]["study"].format(who=self.book.edition.title)
        return cards.stack([cards.note(lead), *(cards.rule_card(self.book, id) for id in ids)])

    # --- the count, worked out

    def worked_count(self) -> None:
        """Show every step from a rate to inflation and release, each with its purpose."""
        show(self._steps(self.count, len(self.data["step"])))

    def _steps(self, made: Count, shown: int) -> cards.Shown:
        """Return the steps as a table; after ``shown`` of them the result is left open."""
        words, rows = count_words(made), []
        for n, step in enumerate(self.data["step"]):
            gives = step["gives"].format_map(words) if n < shown else UNKNOWN
            rows.append([f"{n + 1}. {step['purpose']}", self.scenes.fill(step["does"], (), words),
                         gives])  # fmt: skip
        table = self.data["steps"]
        return told_table(table["title"].format_map(words), table["columns"], rows)

    def practise(self, part: str) -> None:
        """Give one part of the faded practice, at a rate of its own, with feedback and hints."""
        table, made = self.data["practice"][part], self.drawn_count(part)
        words, rule = count_words(made), self.book["count.beats"]
        says = self._says(table["says"])
        if table["given"]:
            show(self._steps(made, table["given"]))
        question = self._practised(part, table, words)

        def check(value: Any) -> Feedback:
            if question.kind is Kind.NUMBER:
                return rate_practice.on_number(value, self._held(made), says, words, rule)
            right = usual_ratio(self.book) if part == "last" else "right"
            return rate_practice.on_choice(value, right, says, words, rule)

        self._ask(question, check)
        show(cards.hints([self.scenes.fill(hint, (), words) for hint in table["hints"]]))

    def drawn_count(self, part: str) -> Count:
        """Return the count of one part of the practice: no two parts share a rate."""
        low, high = rhythms.rate_band(self.book)
        offered = [rate for rate in range(round(low), round(high) + 1) if rate != self.count.rate]
        drawn = self._draw("practice-rates").some(offered, len(PARTS))
        return rhythms.count_at(drawn[PARTS.index(part)], self.book)

    def _practised(self, part: str, table: Mapping[str, Any], words: Mapping[str, str]) -> Question:
        if part == "last":
            options = {ratio: ratio for ratio in drawn_texts()["ratios"]}
        else:
            options = {id: text.format_map(words) for id, text in table.get("options", {}).items()}
        mixed = dict(self._draw(f"practice-{part}").shuffled(options.items()))
        return question_of({**table, "options": mixed}, self._with(words))

    def _held(self, made: Count) -> Wanted:
        cycle = made.inflation + made.release
        slips = {"equal": cycle / 2, "turned": made.release, "cycle": cycle}
        return Wanted("s", made.inflation, self.book["count.accept"], slips)


def _states(book: RuleBook, rule: Rule) -> bool:
    """Say whether an edition itself asks for the same rate."""
    own = rhythms.rate_rule(book)
    return own.id == "rate" and own.band == rule.band
