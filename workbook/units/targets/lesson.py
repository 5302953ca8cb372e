"""The pressure lesson: what to set, read, predict, tell gauge and chest together, raise PIP."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from workbook.bench import Bench, read_hands
from workbook.bench.story import Stretch, story
from workbook.cases import Question
from workbook.cases.question import PRESSURE_UNITS
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.display.cards import Reading
from workbook.display.editions import side_by_side
from workbook.display.studies import Study
from workbook.lesson.page import UNSURE, opened, question_of
from workbook.lesson.shown import show, told_table
from workbook.rules import Rule, rulebook
from workbook.units.targets import practice, raise_practice
from workbook.units.targets.case import predictions, two_editions
from workbook.units.targets.draws import FIRST
from workbook.units.targets.starts import StartsLesson, Table
from workbook.units.targets.studies import TARGET_STUDIES

LESSON = "3_pressure_targets"
ACTS = ("hr.first", "corrective.order", "corrective.try")


def open_page(lesson: str = LESSON, folder: Path | None = None) -> TargetsLesson:
    """Open the pressure lesson in a folder, the notebook's own by default."""
    return TargetsLesson(*opened(lesson, folder))


class TargetsLesson(StartsLesson):
    """The lesson on pressures for one baby."""

    # --- reading a needle

    def read(self, id: str) -> None:
        """Give a needle to read."""
        table, stands = self._table("read", id), self.drawn.needles[id]
        shown = {"figure": self.drawn.figure(id)}
        asked = {**table, "kind": "number", "units": PRESSURE_UNITS, "shown": shown}
        says = self.data["read_says"]["needle"]
        self._ask(question_of(asked, self._fill),
                  lambda typed: practice.on_needle(typed, stands, self.book, says))  # fmt: skip
        show(cards.hints([self._fill(hint) for hint in table["hints"]]))

    # --- predictions

    def _table(self, kind: str, id: str) -> Table:
        """Return a table of the lesson, what is drawn for it filled in."""
        table = super()._table(kind, id)
        if "pairs" in table:
            pairs = self.drawn.pairs()
            return {**table, "options": {b: predictions.pair_says(p) for b, p in pairs.items()}}
        return {**table, **_of(self.drawn.strips[FIRST])} if "strip" in table else table

    def _compare(self, table: Table, question: Question, value: Any) -> Mapping[str, Any]:
        """Say what each belief overlooks, where the table has words for it.

        Who could not predict overlooked nothing: without a "surprise", only the result is said.
        """
        said = table.get("on", {}).get(str(value))
        spoken = {"surprise": said} if said else {}
        standing = {"surprise": ""} if value == UNSURE else {}
        return super()._compare({**standing, **table, **spoken}, question, value)

    @cache  # noqa: B019  a lesson lives as long as its page
    def study(self, name: str) -> Study:
        """Return what the model shows of a phenomenon, worked out once."""
        return TARGET_STUDIES[name](self.scenes.numbers)

    def _result(self, table: Table) -> cards.Shown:
        """Leave out that a model speaks, where rules or a scale do."""
        return super()._result(table) if _by_model(table) else cards.stack(self._shows(table))

    def _shows(self, table: Table) -> list[cards.Shown]:
        made = super()._shows(table)
        if "table_folds" in table:  # the result has said its numbers
            made = [cards.folded(self._fill(table["picture"]), cards.stack(made))]
        if "also_shows" not in table:
            return made
        also = _SHOWS[table["also_shows"]](self)
        return [*made, cards.folded(table["also_folds"], also) if "also_folds" in table else also]

    def _compared(self) -> cards.Shown:
        """Return what each edition says for the baby of the question, side by side."""
        facts = self.drawn.pair.facts
        what = _(two_editions.STARTS[facts["rule"]])
        asked = (facts["one"], facts["two"])
        return side_by_side(facts["rule"], what, two_editions.whom(facts), asked, self.book)

    def _flowing(self) -> cards.Shown:
        facts = self.drawn.turned
        flows = {facts["flow"], facts["to"], self.book["flow.range"].band[1]}
        return self._gauge("flow", [{**facts, "to": flow} for flow in sorted(flows)])

    def _gauge(self, name: str, stands: Sequence[Mapping[str, Any]]) -> cards.Shown:
        """Return what the gauge shows before and after a change, by the model."""
        table = self.data["gauge"][name]
        rows = [
            Reading(says, says, *predictions.shown(facts))
            for says, facts in (
                (self._said(table, facts, n), facts) for n, facts in enumerate(stands)
            )
        ]
        return cards.readings_table(table["title"], rows)

    def _said(self, table: Table, facts: Mapping[str, Any], n: int) -> str:
        if "rows" in table:
            return str(table["rows"][n])
        return str(table["row"]).format(flow=plain(facts["to"], "L/min"))

    def _acts(self) -> cards.Shown:
        """Return what comes next by heart rate and chest, and the corrective steps in order."""
        table = self.data["corrective"]
        return cards.stack([self._told("acts"), cards.numbered(table["title"], table["steps"])])

    def _told(self, name: str) -> cards.Shown:
        table = self.data[name]
        rows = [[self._fill(cell) for cell in row] for row in table["rows"]]
        return told_table(table["title"], table["columns"], rows)

    def _behind(self, table: Table) -> list[cards.Shown]:
        """Add to the cards a table names those of the two editions, or of what comes next."""
        behind, facts = super()._behind(table), self.drawn.pair.facts
        if table.get("also_shows") == "editions":
            books = [rulebook(facts[each]) for each in ("one", "two")]
            behind += [cards.rule_card(book, facts["rule"]) for book in books]
        if table.get("also_shows") == "acts":
            behind += [cards.rule_card(self.book, id) for id in ACTS]
        return behind

    # --- gauge and chest

    def strip(self, n: int) -> None:
        """Give the n-th picture of needle and chest to act on, with feedback."""
        asked, says = list(self.drawn.strips.values())[n], self.data["strips"]
        question = replace(asked, id=f"strip-{n}", help=self._fill(says["help"]))

        def check(chosen: Any) -> Mapping[str, Any]:
            return practice.on_strip(chosen, asked, self.book, says["says"])

        self._ask(question, check)

    # --- benches

    def _on_run(self, table: Table, bench: Bench, run: Any) -> Mapping[str, Any]:
        look = self.book["bench.look"].value
        seen = [each for each in story(bench, read_hands(run)) if each.length >= look]
        told = [self._read_off(FINDS[id], seen, bench) for id in table["reads"]]
        needle = " ".join(filter(None, told)) or self.data["words"]["unseen"]
        lines = [
            self._line(any(FINDS[id](each, bench) for each in seen), says)
            for id, says in table["finds"].items()
        ]
        heading = f"{self._prediction(table)} {needle}".strip()
        return {"heading": heading, "lines": lines}

    def _read_off(self, find: Find, seen: Sequence[Stretch], bench: Bench) -> str:
        """Return the needle's last reading of a kind in words; nothing if it was not seen."""
        last = [each for each in seen if find(each, bench)][-1:]
        words = self.data["words"]
        return " ".join(
            words["was_held" if s.held else "was_released"].format(needle=cards.shown(s.reading))
            for s in last
        )

    def raise_steps(self) -> None:
        """Show how PIP is raised in care, step by step, and the rules behind it."""
        table, book = self.data["raise"], self.book
        steps = [self._fill(step) for step in table["steps"]]
        found = [self._lent(rule) for rule in self.drawn.raise_rules if rule is not None]
        found += [cards.rule_card(book, id) for id in table["rules"]]
        folded = cards.folded(table["folded"], cards.stack(found))
        show(cards.stack([cards.numbered(self._fill(table["title"]), steps), folded]))

    def _lent(self, rule: Rule) -> cards.Shown:
        """Return a rule's card, from another edition where this one does not state it."""
        own = rule in (self.book.all(rule.id) if rule.id in self.book else ())
        return cards.rule_card(self.book if own else rulebook(rule.edition), rule.id)

    def raise_pip(self) -> None:
        """Give a stiff baby on the bench; its check says what to mend first."""
        asked, says = self.drawn.raised, self.data["raise"]["says"]

        def check(run: Any) -> Mapping[str, Any]:
            told = raise_practice.on_raise(run, asked, self.book, says)
            missed = [line for line in told["lines"] if not line["met"]]
            return {**told, "lines": missed[:1] or told["lines"]}

        table = self.data["raise"]
        context, help = (self._fill(table[name]) for name in ("context", "help"))
        self._ask(replace(asked, id=table["id"], context=context, help=help), check)


Find = Callable[[Stretch, Bench], bool]

# What can be seen in a stretch that lasts long enough to be read.
FINDS: Mapping[str, Find] = {
    "open-held": lambda s, _: s.held and s.outlet == "open",
    "sealed-released": lambda s, _: not s.held and s.outlet == "lung" and s.at("leak") == 0,
    "sealed-held": lambda s, _: s.held and s.outlet == "lung" and s.at("leak") == 0,
}

_SHOWS: Mapping[str, Callable[[TargetsLesson], cards.Shown]] = {
    "editions": TargetsLesson._compared,
    "flow": TargetsLesson._flowing,
    "acts": TargetsLesson._acts,
}


def _by_model(table: Table) -> bool:
    return table.get("also_shows") not in ("editions", "acts")


def _of(asked: Question) -> dict[str, Any]:
    """Return what a drawn question adds to a table of the lesson."""
    options = {option.id: option.text for option in asked.options}
    return {"context": asked.context, "options": options, "shown": asked.shows}
