"""Lessons and exercises worked through without a kernel, and what of them was not looked up.

A page runs in this process under a language; each control is answered and asked for feedback, so
that what appears later is there too. Under a pseudo-language every text that was looked up stands
in brackets: what stands outside must be a name, a unit, a number or a sign.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

from IPython.display import Markdown
from markdown_it import MarkdownIt

from tests.control_kinds import values
from tests.lesson_screen import Handle, Screen, answer, ask
from workbook.core.language import BRACKETS
from workbook.core.quantities import MEASURES
from workbook.course.pages import translated
from workbook.display.cards import Shown, spoken
from workbook.lesson.page import FOLDER
from workbook.rules import editions
from workbook.rules.files import RULE_FILES, file, rulebook
from workbook.widgets import Control

EXERCISES = Path(__file__).parent.parent / "source_exercises"
LESSONS = sorted(path.stem for path in FOLDER.glob("*.ipynb"))
UNITS = sorted(path.parent.name for path in EXERCISES.glob("*/*.ipynb"))
FOR_GRADING = ("### BEGIN SOLUTION", "### BEGIN HIDDEN TESTS")
PLAIN = set("aeioun")  # a text that was looked up has none of them without its mark


class Page(Screen):
    """A screen that shows receipts, too."""

    def handle(self) -> PageHandle:
        """Return what a receipt is displayed by, and changed."""
        return PageHandle(self, len(self.shown))


class PageHandle(Handle):
    """A place that is shown by its own method, as IPython's is."""

    def display(self, bundle: Mapping[str, str], **_: Any) -> None:
        """Show a receipt in a place of its own."""
        self.place = len(self.screen.shown)
        self.screen.display(Shown(bundle.get("text/html", ""), bundle["text/plain"]))

    def update(self, bundle: Mapping[str, str], **_: Any) -> None:
        """Show another receipt in its place."""
        super().update(Shown(bundle.get("text/html", ""), bundle["text/plain"]))


def cells(name: str, *, exercise: bool) -> list[dict[str, Any]]:
    """Return the cells of a page as a learner in the language in force gets it."""
    path = EXERCISES / name / f"{name}.ipynb" if exercise else FOLDER / f"{name}.ipynb"
    page = translated(json.loads(path.read_text(encoding="utf-8")))
    found: list[dict[str, Any]] = page["cells"]
    return found


def worked_through(found: list[dict[str, Any]], screen: Screen) -> None:
    """Run a page's cells on a screen, its prose between them, then answer every question."""
    names: dict[str, Any] = {}
    for cell in found:
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            screen.display(Markdown(source))
        elif not source.startswith(FOR_GRADING):
            exec(compile(source, "cell", "exec"), names)  # noqa: S102  (our own page)
    for control in [each for each in screen.shown if isinstance(each, Control)]:
        for seq, value in enumerate(values(control), start=1):
            answer(control, value, seq)
            assert control.saved.get("seq") == seq, f"{control.question}: {value} was not saved"
            if control._check is not None:
                screen.display(as_shown(ask(control)))


def as_shown(feedback: Mapping[str, Any]) -> Shown:
    """Return feedback as a control would show it, to be looked at with the rest."""
    lines = [part for line in feedback["lines"] for part in (line["says"], line["source"])]
    lines += [str(feedback.get("picture", {}).get(key, "")) for key in ("title", "says")]
    texts = [feedback["heading"], *lines]
    return Shown("".join(f"<p>{escape(text)}</p>" for text in texts if text), " ".join(texts))


def as_html(thing: Any) -> str:
    """Return what is shown in a page beside its controls."""
    if isinstance(thing, Markdown):
        return spoken(MarkdownIt().enable("table").render(thing.data))
    bundle = thing._repr_mimebundle_() if hasattr(thing, "_repr_mimebundle_") else {}
    return str(bundle.get("text/html", ""))


# --- what was not looked up


def outside(text: str) -> str:
    """Return the words of a text that stand outside all brackets and are no name or unit."""
    bare, depth = [], 0
    for letter in text:
        depth += letter == BRACKETS[0]
        if not depth:
            bare.append(letter)
        depth -= letter == BRACKETS[1]
    left = "".join(bare)
    for name in NAMES:
        left = left.replace(name, " ")
    words = re.findall(r"[^\W\d_]+(?:[.-][\w-]+)*", left)
    return " ".join(w for w in words if w not in KNOWN and PLAIN & set(w) and len(w) > 1)


def _names() -> list[str]:
    """Return the names of publications and editions: they stay as they are printed."""
    books = [*map(rulebook, editions()), *map(file, RULE_FILES)]
    known = editions().values()
    found = {name for each in known for name in (each.id, each.title, each.named)}
    for book in books:
        for rule in book.rules:
            found |= {str(rule.citation.source), rule.citation.source.body, rule.id}
    return sorted(found, key=len, reverse=True)


NAMES = _names()
_UNITS = {part for unit in MEASURES for part in re.findall(r"[^\W\d]+", unit)}
KNOWN = {*_UNITS, "learner", "Practice"}
