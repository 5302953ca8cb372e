"""The lesson on mask and tube: drawn babies, a mask to lay on, an interface, a depth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from workbook.cases import Question
from workbook.core.answers import AnswersFile
from workbook.core.language import number as say_number
from workbook.display import cards
from workbook.face.fit import FaceError, read_fit
from workbook.face.mask import Face, Mask, best_beside, covers
from workbook.lesson.page import Lesson, opened, question_of
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units.sizing.draws import DRAWS, Drawn, stands, table
from workbook.units.sizing.practice import PRACTICE, on_depth

LESSON = "5_interface_sizing"
DRAWN = {**DRAWS, **PRACTICE}


def open_page(lesson: str = LESSON, folder: Path | None = None) -> SizesLesson:
    """Open the sizing lesson in a folder, the notebook's own by default."""
    return SizesLesson(*opened(lesson, folder))


class SizesLesson(Lesson):
    """The lesson whose babies, faces and tubes are drawn for the learner."""

    def __init__(self, data: Mapping[str, Any], book: RuleBook, file_: AnswersFile) -> None:
        sized = replace(book, rules=(*book.rules, *file("sizes").rules))
        super().__init__(data, sized, file_)
        added = {"plus_kg": "depth.weight-plus.add", "plus_ntl": "depth.ntl-plus.add"}
        self.added = {name: say_number(sized[id].value) for name, id in added.items()}
        spans = {"seconds": "suction.brief", "vacuum": "suction.set"}
        self.added |= {name: sized[id].text for name, id in spans.items()}

    def phenomenon(self, id: str) -> None:
        """Ask for a prediction, then show what comes of it, and why."""
        self.predict(id)
        self.explain(id)

    def say(self, text: str) -> None:
        """Show a text of the lesson, filled in with what was drawn."""
        from IPython.display import Markdown

        self._put(Markdown(self._filled(self.data["text"][text])["says"]))

    def worked_example(self) -> None:
        """Show how one baby's sizes are found, each step with its purpose."""
        t = self._filled(self.data["worked"])
        sources = [str(self.book.all(rule)[0].citation) for rule in t["rules"]]
        self._put(table(t["title"], t["columns"], t["rows"], list(dict.fromkeys(sources))))

    def practise(self, part: str) -> None:
        """Give one part of the faded practice, with feedback on request and hints."""
        t, says = self._filled(self.data["practice"][part]), self.data["practice"]["says"]
        drawn = self.drawn(part)
        if "steps" in t:
            self._put(cards.numbered(t["done"], t["steps"]))
        spoken = {name: self._fill(text, drawn) for name, text in says.items()}
        self._ask(question_of(t, str), lambda typed: on_depth(typed, drawn, spoken))
        self._put(cards.stack([cards.hints(t["hints"]), self._tables(t)]))

    @cache  # noqa: B019  a lesson lives as long as its page
    def drawn(self, name: str) -> Drawn:
        """Return what is drawn for one part of the lesson, always the same for one learner."""
        return DRAWN[name](self._draw(name), self.scenes.numbers, self.book)

    def _table(self, kind: str, id: str) -> Mapping[str, Any]:
        return self._filled(super()._table(kind, id))

    def _filled(self, t: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return a table of the lesson with what was drawn for it in its words."""
        drawn = self.drawn(t["draws"]) if "draws" in t else Drawn({})
        shown = {"shown": drawn.shown} if drawn.shown else {}
        return {name: self._fill(value, drawn) for name, value in t.items()} | shown

    def _fill(self, value: Any, drawn: Drawn) -> Any:
        """Return a text, or every text in a list or table, with its words in braces filled in."""
        if isinstance(value, list):
            return [self._fill(each, drawn) for each in value]
        if isinstance(value, dict):
            return {name: self._fill(each, drawn) for name, each in value.items()}
        more = {**self.added, **drawn.words}
        return self.scenes.fill(value, more=more) if isinstance(value, str) else value

    def _compare(self, t: Mapping[str, Any], question: Question, value: Any) -> Mapping[str, Any]:
        if t["kind"] == "face":
            return self._on_mask(t, value)
        return super()._compare(t, question, value)

    def _found(self, t: Mapping[str, Any]) -> str:
        return str(t["results"][t["shows"]] if "results" in t else t["result"])

    def _result(self, t: Mapping[str, Any]) -> cards.Shown:
        note = [cards.note(t["note"])] if "note" in t else []
        return cards.stack([*self._shows(t), *note])

    def _shows(self, t: Mapping[str, Any]) -> list[cards.Shown]:
        return self.drawn(t["draws"]).parts(t) if "draws" in t else []

    def _why(self, t: Mapping[str, Any]) -> cards.Shown:
        return cards.stack([super()._why(t), self._tables(t)])

    def _tables(self, t: Mapping[str, Any]) -> cards.Shown:
        """Return published tables, folded: they are long."""
        rules = [cards.rule_card(self.book, rule) for rule in t.get("tables", ())]
        title = self.data["words"]["tables"]
        return cards.folded(title, cards.stack(rules)) if rules else cards.note("")

    def _on_mask(self, t: Mapping[str, Any], value: Any) -> Mapping[str, Any]:
        """Return how a placed mask fits, and what the gauge then shows."""
        face = Face(self.drawn(t["draws"]).facts["length"])
        try:
            mask = read_fit(value, face)
        except FaceError as error:
            return {"heading": str(error), "lines": []}
        fit = covers(face, mask)
        needle = cards.shown(fit.gauge(stands(self.scenes.numbers)))
        lines = [
            {"met": met, "says": t["finds"][id]["met" if met else "not"], "source": ""}
            for id, met in _judged(face, mask).items()
        ]
        heading = self._fill(self.data["words"]["needle"], Drawn({"needle": needle}))
        return {"heading": heading, "lines": lines}

    def _put(self, shown: Any) -> None:
        from IPython.display import display

        display(shown)


def _judged(face: Face, mask: Mask) -> dict[str, bool]:
    """Return what is right of a placed mask."""
    fit, notch_up = covers(face, mask), covers(face, replace(mask, turn=0.0))
    return {
        "size": mask.diameter in best_beside(face, mask.diameter),
        "covers": fit.by_hand.covers,
        "eyes": fit.by_hand.spares_eyes,
        "chin": fit.by_hand.keeps_chin,
        "turn": notch_up.by_hand.leak >= fit.by_hand.leak,
        "seal": fit.by_hand.leak == 0,
    }
