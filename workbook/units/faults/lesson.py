"""The lesson on fault finding: a trial to begin with, two tests, families of look-alikes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from workbook.cases import Kind, Question
from workbook.cases.starting import Baby, baby
from workbook.core.answers import AnswersFile
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.lesson.page import Lesson, opened
from workbook.rules import RuleBook
from workbook.trial import NAMED, Scene, named_in
from workbook.trial.moves import BABY
from workbook.units.faults.case.questions import facts_of, shows
from workbook.units.faults.pictures import strip
from workbook.units.faults.practice import on_trial

LESSON = "6_fault_finding"
SET = ("flow", "pip", "peep", "relief")
WAITS = {"act": "trial.act", "unventilated": "trial.unventilated"}
Table = Mapping[str, Any]


def open_page(lesson: str = LESSON, folder: Path | None = None) -> FaultsLesson:
    """Open the lesson on fault finding in a folder, the notebook's own by default."""
    return FaultsLesson(*opened(lesson, folder))


class FaultsLesson(Lesson):
    """The lesson whose needles come from the model with something wrong in it."""

    def __init__(self, data: Table, book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        self.met: Baby = baby(self._draw("baby"), "term", book)
        self.spans = {name: plain(book[id].band[1], "s") for name, id in WAITS.items()}

    # --- trials

    def trial(self, id: str) -> None:
        """Give a trial; its check says what was wrong, and what was done about it."""
        table = self._table("trial", id)
        asked = self.asked(table)
        says = {**self.data["practice"]["says"], **table["says"]}
        self._ask(asked, lambda value: on_trial(asked, value, self.book, says), "found")
        if "hints" in table:
            _put(cards.hints(table["hints"]))

    def asked(self, table: Table) -> Question:
        """Return a trial as a question: its fault is drawn where the table names several."""
        fault = self._draw(table["id"]).pick(table["faults"])
        facts = self._facts(fault, table.get("setting", BABY))
        shown = shows(facts, table["goal"], "", self.book)
        return Question(
            table["id"], Kind.TRIAL, table["label"], context=table["context"], facts=facts,
            shows=shown,
        )  # fmt: skip

    def break_it(self, id: str) -> None:
        """Give a bench to break: what is wrong is chosen, and shows at once."""
        from workbook.widgets.bench.broken import BrokenBench

        table = self._table("break", id)
        facts = self._facts("", BABY)
        bench = replace(Scene.of(facts).bench, outlet=table["outlets"][-1])
        low, high = self.book["volume.window"].band
        _put(BrokenBench(
            table["id"], table["label"], faults=table["faults"], bench=bench,
            outlets=table["outlets"], dials=table["dials"], chest={"low": low, "high": high},
            help=table["help"],
        ))  # fmt: skip

    # --- predictions and what the model shows

    def phenomenon(self, id: str) -> None:
        """Ask for a prediction, then show what comes of it, and why."""
        self.predict(id)
        self.explain(id)

    def worked_example(self) -> None:
        """Show one trial from the first look to the last reading, each step with its purpose."""
        table = self._filled(self.data["worked"])
        _put(cards.rows_table(table["title"], table["columns"], table["rows"]))

    def _table(self, kind: str, id: str) -> Table:
        filled: Table = self._filled(super()._table(kind, id))
        return {**filled, **self._pictured(filled["strip"])} if "strip" in filled else filled

    def _pictured(self, fault: str) -> dict[str, Any]:
        """Return what a question shows of a fault: needle and chest over a few inflations."""
        scene = Scene.of(self._facts(fault, BABY))
        return {
            "shown": {"strip": strip(scene, self.scenes.numbers, self.book, self.data["strip"])}
        }

    def _filled(self, value: Any) -> Any:
        """Return a table with every number filled in; what is said of a trial waits for it."""
        if isinstance(value, Mapping):
            if "was" in value:
                return value
            return {name: self._filled(each) for name, each in value.items()}
        if isinstance(value, list):
            return [self._filled(each) for each in value]
        return self.scenes.fill(value, more=self._words) if isinstance(value, str) else value

    @cached_property
    def _words(self) -> dict[str, str]:
        named = self.data["readings"]
        read = {name: cards.shown(self.reading(**where)) for name, where in named.items()}
        return {**read, **self.spans, "baby": self.met.says}

    def reading(self, fault: str, outlet: str, held: bool) -> float:
        """Return what the needle shows (cmH2O) with a fault, by the model."""
        scene = Scene.of(self._facts(fault, BABY))
        return scene.needle(scene.start.joined(outlet), held=held)

    def _facts(self, fault: str, setting: str) -> dict[str, Any]:
        numbers = {name: self.scenes.numbers[name] for name in SET}
        return facts_of(fault, setting, numbers, self.met, self.book)

    def _released(self, table: Table) -> float:
        return self.reading(**self.data["readings"][table["reads"]])

    def _found(self, table: Table) -> str:
        return str(table["result"])

    def _result(self, table: Table) -> cards.Shown:
        """Say that a model speaks where it alone does: a family's table says that itself."""
        return super()._result(table) if "reads" in table else cards.stack(self._shows(table))

    def _shows(self, table: Table) -> list[cards.Shown]:
        if "family" not in table:
            return []
        faults = named_in(BABY, table["family"])
        rows = [[_(NAMED[id].text), *self._row(id)] for id in faults]
        words = self.data["family"]
        made = cards.rows_table(table["picture"], words["columns"], rows)
        model = cards.note(self.data["words"]["model"])
        return [cards.folded(table["picture"], cards.stack([made, model]))]

    def _row(self, fault: str) -> Sequence[str]:
        """Return the needle, hole covered and open: mask on, outlet capped, mask off."""
        return [
            f"{cards.shown(self.reading(fault, outlet, held=True))}, "
            f"{cards.shown(self.reading(fault, outlet, held=False))}"
            for outlet in ("lung", "capped", "open")
        ]


def _put(shown: Any) -> None:
    from IPython.display import display

    display(shown)
