"""How long a page takes: its words at a reader's pace, and its actions by their kind.

``python -m tests.reading_time`` prints words, actions and minutes of each lesson and exercise.

Counted is what a learner sees without opening a fold, and the feedback to one answer to each
question; a citation under it is there to be looked up, and is not read. The pace and the seconds
of an action are assumptions, on the slow side: silent reading of English prose is about 238 words
a minute (Brysbaert 2019, Journal of Memory and Language 109: 104047, cited from memory); here a
nurse reads in small pieces, perhaps in a second language.
"""

from __future__ import annotations

import os
import re
import tempfile
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import Any
from unittest.mock import patch

from IPython.display import Markdown

from tests.control_kinds import kind_of, values
from tests.lesson_screen import LESSONS, Screen, answer, ask
from tests.told_pages import as_html, as_shown, cells
from workbook.cases import Kind, Question, case, exercises
from workbook.rules import rulebook
from workbook.widgets import Control
from workbook.widgets.sentence import Sentence

PACE = 180.0  # words a minute
ACTION = {  # seconds of thinking and doing, beside reading
    Kind.CHOICE: 10.0,
    Kind.CHOICES: 20.0,
    Kind.NUMBER: 15.0,
    Kind.SEQUENCE: 60.0,
    Kind.BENCH: 60.0,
    Kind.FACE: 45.0,
    Kind.SKETCH: 30.0,
    Kind.TRIAL: 75.0,  # it lasts 30 to 90 s
    Kind.TAPS: 10.0,  # and the taps themselves
    # Seven minutes at most; an expert's baby is well after two and a half, the median of nine.
    Kind.CASE: 180.0,
    Kind.NOTE: 60.0,
}
MOVED = 10.0  # seconds in which the number of a sentence is moved, and the picture watched
LIMIT = 30.0  # minutes: a unit with its lesson
# A fold with no other fold inside it; those around it are met after it.
FOLDED = re.compile(r"<details(?![^>]*\bopen\b)[^>]*>((?:(?!<details\b).)*?)</details>", re.DOTALL)
SUMMARY = re.compile(r"<summary[^>]*>(.*?)</summary>", re.DOTALL)


@dataclass(frozen=True)
class Effort:
    """What a page asks of a learner: words to read, actions, and their seconds."""

    words: int
    actions: int
    seconds: float

    @property
    def minutes(self) -> float:
        """Return how long the page takes."""
        return self.words / PACE + self.seconds / 60


def words(html: str) -> int:
    """Return how many words of a page are seen without opening a fold."""
    seen, before = html, ""
    while seen != before:
        before, seen = seen, FOLDED.sub(lambda fold: " ".join(SUMMARY.findall(fold[0])), seen)
    seen = re.sub(r"<(style|script|title|desc)\b.*?</\1>", " ", seen, flags=re.DOTALL)
    return len(re.findall(r"\w[\w.,'’-]*", unescape(re.sub(r"<[^>]+>", " ", seen))))


def of_lesson(name: str, edition: str) -> Effort:
    """Return the effort of a lesson that is worked through once, each question answered once."""
    screen = Screen()
    environment = {"TPIECE_LEARNER": "nurse.one"}
    with (
        tempfile.TemporaryDirectory() as folder,
        patch("IPython.display.display", screen.display),
        patch.dict(os.environ, environment),
    ):
        Path(folder, "course.toml").write_text(f'id = "time"\nedition = "{edition}"\n')
        before = Path.cwd()
        os.chdir(folder)
        try:
            _run(name, screen)
        finally:
            os.chdir(before)
    controls = [thing for thing in screen.shown if isinstance(thing, Control)]
    moved = sum(isinstance(thing, Sentence) for thing in screen.shown)
    text = sum(words(_spoken(thing)) for thing in screen.shown)
    seconds = sum(map(_seconds, controls)) + MOVED * moved
    return Effort(text, len(controls) + moved, seconds)


def _run(name: str, screen: Screen) -> None:
    names: dict[str, Any] = {}
    for cell in cells(name, exercise=False):
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            screen.display(Markdown(source))
        else:
            exec(compile(source, "cell", "exec"), names)  # noqa: S102  (our own page)
    for control in [thing for thing in screen.shown if isinstance(thing, Control)]:
        answer(control, next(iter(values(control))))
        if control._check is not None:
            feedback = ask(control)
            lines = [{**line, "source": ""} for line in feedback["lines"]]
            screen.display(as_shown({**feedback, "lines": lines}))


def _spoken(thing: Any) -> str:
    if isinstance(thing, Sentence):
        assert thing.first, f"{thing.label} is shown to nobody"
        given = {**thing.first["answers"], "drag": thing.stops[thing.at]["says"]}
        return thing.says.format_map(given)
    if not isinstance(thing, Control):
        return as_html(thing)
    options = getattr(thing, "options", None) or getattr(thing, "items", None) or ()
    return " ".join([thing.label, thing.help, *(option["text"] for option in options)])


def _seconds(control: Control) -> float:
    kind = kind_of(control)
    return ACTION[kind] + (float(control.duration) if kind is Kind.TAPS else 0.0)


def of_exercise(unit: str, edition: str) -> Effort:
    """Return the effort of an exercise as one learner gets it."""
    drawn = case("time", unit, "nurse.one", rulebook(edition))
    prose = [
        "".join(cell["source"])
        for cell in cells(unit, exercise=True)
        if cell["cell_type"] == "markdown"
    ]
    text = sum(map(words, prose)) + sum(words(_asked(question)) for question in drawn.questions)
    return Effort(text, len(drawn.questions), sum(map(_taken, drawn.questions)))


def _asked(question: Question) -> str:
    options = [option.text for option in question.options]
    return " ".join([question.label, question.context, question.help, *options])


def _taken(question: Question) -> float:
    taps = float(question.shows["duration"]) if question.kind is Kind.TAPS else 0.0
    return ACTION[question.kind] + taps


def main() -> None:
    """Print every page's effort."""
    edition = rulebook().edition.id
    for name in LESSONS:
        pages = {"lesson": of_lesson(name, edition)}
        if name in exercises():
            pages["exercise"] = of_exercise(name, edition)
        for kind, effort in pages.items():
            print(
                f"{name} {kind}: {effort.words} words, {effort.actions} actions "
                f"({effort.seconds:.0f} s): {effort.minutes:.1f} min"
            )
        print(f"{name} in all: {sum(effort.minutes for effort in pages.values()):.1f} min")


if __name__ == "__main__":
    main()
