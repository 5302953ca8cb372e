"""What a lesson's notebook calls: predictions, what the model shows, explanations, practice.

A lesson is data (``lessons/<id>.toml``); its numbers come from the rules and the model.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbook.cases import Draw, Kind, Option, Question, spoken
from workbook.cases.unit import units
from workbook.core.answer_sheet import AnswerFileError
from workbook.core.answers import AnswersFile
from workbook.core.language import _, data
from workbook.core.quantities import convert, typed_number
from workbook.course.settings import FILE, Course, read_course
from workbook.course.standing import of_edition
from workbook.display import cards
from workbook.display.scene import Scenes
from workbook.lesson.play import baby_of
from workbook.lesson.unit import control, local_protocol, open_lesson
from workbook.rules import RuleBook
from workbook.rules.signed import follow

if TYPE_CHECKING:
    from workbook.widgets import Control

FOLDER = Path(__file__).parents[1] / "lessons"
LOOKED = ".looked"  # the prediction as it stood when the result was first looked at
UNSURE = "unsure"  # the choice of somebody who cannot predict, and says so

Check = Callable[[Any], Mapping[str, Any]]
Fill = Callable[[str], str]


def texts(lesson: str) -> Mapping[str, Any]:
    """Return what a lesson asks and says, in the language in force."""
    return data(FOLDER / f"{lesson}.toml")


def open_page(lesson: str, folder: Path | None = None) -> Lesson:
    """Open a lesson in a folder, the notebook's own by default, for whoever is at work.

    A unit whose lesson is of a kind of its own names it (`Unit.lesson`); nothing here knows which.
    """
    unit = units().get(lesson)
    kind = import_module(unit.lesson).KIND if unit and unit.lesson else Lesson
    made: Lesson = kind(*opened(lesson, folder))
    return made


def opened(
    lesson: str, folder: Path | None = None
) -> tuple[Mapping[str, Any], RuleBook, AnswersFile]:
    """Return what a lesson is made of: its texts, the course's rules, the learner's answers."""
    folder = Path.cwd() if folder is None else folder
    file = open_lesson(lesson, folder)  # first, for it settles the language
    course = read_course(folder) if (folder / FILE).is_file() else Course()
    book = course.book
    follow(book.signed)  # rules of other editions, too, say who of the site read them
    return texts(lesson), book, file


class Lesson:
    """One lesson as one learner sees it."""

    def __init__(self, data: Mapping[str, Any], book: RuleBook, file: AnswersFile) -> None:
        self.data, self.book, self.file = data, book, file
        self.scenes = Scenes(data.get("numbers", {}), data.get("does", {}), book)
        self._on_look: dict[str, list[Callable[[], None]]] = {}

    def introduce(self) -> None:
        """Say whose page this is and which edition's rules it shows."""
        edition = self.book.edition.title
        said = _("**Learner:** {learner}. **Edition shown:** {edition}.").format(
            learner=self.file.learner, edition=edition
        )
        standing = of_edition(self.book)
        lines = [f"{said} {local_protocol(self.book)}".rstrip(), *([standing] if standing else [])]
        _write("\n\n".join(lines))

    def say(self, text: str) -> None:
        """Show a text of the lesson, its numbers filled in from the rules."""
        _write(self.scenes.fill(self.data["text"][text]["says"]))

    def predict(self, id: str) -> None:
        """Ask for a prediction; once it is saved and looked at, show what the gauge shows."""
        table = self._table("predict", id)
        question = _with_unsure(question_of(table, self.scenes.fill))

        def look(value: Any) -> Mapping[str, Any]:
            self._see(id, value)
            return self._compare(table, question, value)

        made = self._ask(question, look, "look")
        if self._looked(id) and made.value is not None:
            made.feedback = self._compare(table, question, made.value)
        self._show_on_look(id, lambda looked: self._result(table) if looked else _NOT_YET)

    def explain(self, id: str) -> None:
        """Show why, once the prediction was looked at; "I cannot predict" is one too.

        A number cannot say that, so there a fold says it. A sentence with a number to move, where
        there is one, comes first.
        """
        table = self._table("predict", id)
        if "sentence" in table:
            self._sentence(id, **table["sentence"])
        why, closed = self._why(table), cards.note(self.data["words"]["folded"])
        if table["kind"] != Kind.CHOICE:
            closed = cards.folded(_("I cannot predict this: open the explanation."), why)
        self._show_on_look(id, lambda looked: why if looked else closed)

    def _sentence(self, id: str, moves: str, says: str, label: str, **plays: str) -> None:
        """Show a sentence with a number to move, once the prediction was looked at."""
        from IPython.display import display

        from workbook.display.sentences import FOLLOWS, MOVING
        from workbook.widgets.sentence import Sentence

        kept = {name: f"{{{name}}}" for name in FOLLOWS}
        more: dict[str, Any] = {**baby_of(self.book), **plays, "open": self._looked(id)}
        moving = MOVING[moves](self.scenes.numbers, self.book)
        made = Sentence(self.scenes.fill(says, (), kept), label, moving, **more)
        display(made)
        self._on_look.setdefault(id, []).append(made.show)

    def show_rules(self, name: str) -> None:
        """Show the cards of some rules."""
        area(self._cards(self.data["cards"][name]))

    def _cards(self, rules: Sequence[str]) -> cards.Shown:
        return cards.stack([cards.rule_card(self.book, rule) for rule in rules])

    def quiz(self, id: str) -> None:
        """Ask one question to check oneself; the feedback names the next step."""
        table = self._table("check", id)
        options = table["options"]

        def feedback(value: Any) -> Mapping[str, Any]:
            line = {"met": value == table["right"], "says": options[value]["says"], "source": ""}
            return {"heading": table["heading"], "lines": [line]}

        asked = {**table, "kind": "choice", "options": {k: o["text"] for k, o in options.items()}}
        self._ask(question_of(asked, self.scenes.fill), feedback)

    def try_control(self, id: str) -> None:
        """Give a control to try; its feedback repeats what was received, and judges nothing."""
        words = self.data["words"]
        question = question_of(self._table("try", id), str)

        def feedback(value: Any) -> Mapping[str, Any]:
            said = words["received"].format(said=spoken(question, value).rstrip("."))
            return {"heading": f"{said} {words['like_this']}", "lines": []}

        self._ask(question, feedback)

    def _draw(self, part: str) -> Draw:
        return Draw(self.file.course, self.file.exercise, self.file.learner, part)

    def _table(self, kind: str, id: str) -> Mapping[str, Any]:
        tables: dict[str, Mapping[str, Any]] = {table["id"]: table for table in self.data[kind]}
        if id not in tables:
            raise KeyError(f"There is no {id!r} in this lesson; there are {', '.join(tables)}.")
        return tables[id]

    def _ask(self, question: Question, check: Check, button: str = "check") -> Control:
        from IPython.display import display

        def answer_for(value: Any) -> Mapping[str, Any]:
            try:
                return check(value)
            except AnswerFileError as error:  # a full disk, a folder that may not be written to
                return {"heading": str(error), "lines": []}

        self.file.asks(question.id, question.label)
        last = self.file.sheet().latest().get(question.id)
        made = control(question, save=self._saves(question.id), check=answer_for, last=last)
        made.words = {**made.words, "check": self.data["words"][button]}
        display(made)
        return made

    def _saves(self, id: str) -> Callable[..., Mapping[str, Any]]:
        """Return what keeps an answer to a question, and says under which number."""

        def save(value: Any, client: str, seq: int) -> Mapping[str, Any]:
            answer = self.file.append(id, value, client=client, seq=seq)
            return {"number": answer.number, "at": answer.at, "back": self.file.took_back()}

        return save

    def _looked(self, id: str) -> bool:
        return id + LOOKED in self.file.sheet().latest()

    def _see(self, id: str, value: Any) -> None:
        """Keep the prediction as it stands at the first look, and show all that waits for it."""
        if not self._looked(id):
            self.file.append(id + LOOKED, value)
        for show in self._on_look.get(id, ()):
            show()

    def _show_on_look(self, id: str, make: Callable[[bool], cards.Shown]) -> None:
        """Show something that changes once the prediction was saved and looked at."""
        show = area(make(self._looked(id)))
        self._on_look.setdefault(id, []).append(lambda: show(make(True)))

    def _compare(
        self, table: Mapping[str, Any], question: Question, value: Any
    ) -> Mapping[str, Any]:
        said = table["agreed" if self._agrees(table, value) else "surprise"]
        parts = self._expected(question, value), self._found(table), self.scenes.fill(said)
        heading = " ".join(part for part in parts if part)
        # A needle that was predicted has the true one drawn over it.
        needle = {} if table["kind"] == "choice" else {"needle": self._released(table)}
        return {"heading": heading, "lines": [], **needle}

    def _released(self, table: Mapping[str, Any]) -> float:
        """Return what the gauge shows (cmH2O) at the end of a scene, the hole open."""
        return self.scenes.play(table["scene"])[-1].released

    def _expected(self, question: Question, value: Any) -> str:
        """Return what was expected; nothing of somebody who could not predict."""
        if value == UNSURE:
            return ""
        said = spoken(question, value).rstrip(".")
        return str(self.data["words"]["expected"].format(said=said))

    def _found(self, table: Mapping[str, Any]) -> str:
        more = {}
        if "contrast" in table:
            other = self.scenes.play(table["contrast"]["scene"])[-1]
            more = {"other_held": cards.shown(other.held), "other": cards.shown(other.released)}
        return self.scenes.fill(table["result"], self.scenes.play(table["scene"]), more)

    def _agrees(self, table: Mapping[str, Any], value: Any) -> bool:
        if table["kind"] == "choice":
            return bool(value == table["shows"])
        number, near = pressure(value), self.book[table["near"]].value
        return number is not None and abs(number - self._released(table)) <= near

    def _result(self, table: Mapping[str, Any]) -> cards.Shown:
        """Return what is shown, and that a model speaks; a folded table says that itself."""
        folded = "scene" in table and "study" not in table
        model = [] if folded else [cards.note(self.data["words"]["model"])]
        return cards.stack([*self._shows(table), *model])

    def _shows(self, table: Mapping[str, Any]) -> list[cards.Shown]:
        """Return what is shown once the prediction was looked at."""
        title = table.get("title", self.data["words"]["title"])
        shown = [self._readings(title, table["scene"])]
        return [*shown, self._readings(**table["contrast"])] if "contrast" in table else shown

    def _readings(self, title: str, scene: list[str]) -> cards.Shown:
        """Return a table of readings, folded: the result has said where they end."""
        model = cards.note(self.data["words"]["model"])
        made = cards.readings_table(title, self.scenes.play(scene))
        return cards.folded(title, cards.stack([made, model]))

    def _why(self, table: Mapping[str, Any]) -> cards.Shown:
        parts = [cards.note(self.scenes.fill(line)) for line in table["explain"]]
        if "also" in table:
            parts.append(self._readings(**table["also"]))
        steps = self.book.procedure("set-up")
        parts += [cards.step_card(steps[step]) for step in table.get("steps", ())]
        parts += [cards.rule_card(self.book, rule) for rule in table.get("rules", ())]
        behind = self._behind(table)
        fold = [cards.folded(self.data["words"]["cards"], cards.stack(behind))] if behind else []
        return cards.stack([*parts, *fold])

    def _behind(self, table: Mapping[str, Any]) -> list[cards.Shown]:
        """Return the cards of rules that an explanation rests on, to be folded."""
        return [cards.rule_card(self.book, rule) for rule in table.get("fold", ())]


def question_of(table: Mapping[str, Any], fill: Fill) -> Question:
    """Return a question from its table, numbers filled in."""
    options = tuple(Option(id, fill(text)) for id, text in table.get("options", {}).items())
    context, help = (fill(table.get(key, "")) for key in ("context", "help"))
    kind, units = Kind(table["kind"]), tuple(table.get("units", ()))
    shows = table.get("shown", {})
    return Question(
        table["id"], kind, fill(table["label"]), context, help, options, units, shows=shows
    )


def _with_unsure(question: Question) -> Question:
    """Return a prediction that can also be answered by "I cannot predict this"."""
    if question.kind is not Kind.CHOICE:
        return question
    return replace(
        question, options=(*question.options, Option(UNSURE, _("I cannot predict this.")))
    )


def pressure(value: Any) -> float | None:
    """Return a typed pressure in cmH2O; None when it cannot be read as one."""
    try:
        return convert(typed_number(value["text"]), value["unit"], "cmH2O")
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


_NOT_YET = cards.note("")


def area(first: cards.Shown) -> Callable[[cards.Shown], None]:
    """Show something now and return what shows something else in its place."""
    from IPython.display import display

    handle = display(first, display_id=True)

    def show(new: cards.Shown) -> None:
        if handle is not None:
            handle.update(new)

    return show


def _write(text: str) -> None:
    from IPython.display import Markdown, display

    display(Markdown(text))
