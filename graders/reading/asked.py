"""Which rules a course really asks for: found by running it, in a process of its own.

Cases of invented learners are drawn and marked with right, missing and mistaken answers, until
new learners ask for nothing new; every cell of every lesson is run; ids that a lesson's data names
are looked up. What was remembered from before could hide a question, so nothing is: the process
is new, and every rule that it asks for, reads the number of or shows is noted.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from workbook.core.errors import PlainError
from workbook.course.settings import FILE, PROTOCOL, Course, read_course
from workbook.rules.signed import key_of

Key = tuple[str, str, str]  # edition or file, rule, population
SETTLED = 15  # learners in a row who ask for nothing new
MOST = 200  # learners
LAB = "lab"  # the hands-on lab's checklist and brief


class AskedError(PlainError, RuntimeError):
    """A course that could not be run through."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The rules a course asks for: each with the units that ask, in teaching order.

    A unit is an exercise's id, ``lesson <id>``, or ``lab``. ``learners`` is how many were drawn.
    """

    rules: Mapping[Key, tuple[str, ...]]
    learners: int


def asked(course: Course) -> Asked:
    """Return the rules that a course asks for; raises AskedError when it cannot be run."""
    with tempfile.TemporaryDirectory(prefix="tpiece-") as name:
        folder = Path(name)
        (folder / FILE).write_text(
            replace(course, due="", protocol=course.protocol and PROTOCOL).text(), encoding="utf-8"
        )
        if course.protocol and course.folder is not None:
            (folder / PROTOCOL).write_bytes((course.folder / course.protocol).read_bytes())
        run = subprocess.run(
            [sys.executable, "-m", "graders.reading.asked"],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
            capture_output=True,
            text=True,
            check=False,
        )
    if run.returncode:
        raise AskedError(f"The course cannot be run through: {run.stderr.strip()[-500:]}")
    told = json.loads(run.stdout.splitlines()[-1])
    return Asked({tuple(key): tuple(units) for key, units in told["rules"]}, told["learners"])


# --- in the process of its own


class _Notes:
    """What was asked, and by whom."""

    def __init__(self) -> None:
        self.found: dict[Key, dict[str, None]] = {}
        self.unit = ""

    def note(self, rule: Any) -> None:
        if self.unit:
            old = rule.replaces if rule.corrected else rule
            self.found.setdefault(key_of(old or rule), {})[self.unit] = None

    @contextlib.contextmanager
    def of(self, unit: str) -> Iterator[None]:
        self.unit = unit
        try:
            yield
        finally:
            self.unit = ""


def _listen(notes: _Notes) -> None:
    """Note every rule that a book is asked for, and every one whose number is read or shown."""
    from workbook.rules import Rule, RuleBook

    get, all_, find = RuleBook.__getitem__, RuleBook.all, RuleBook.find

    def one(self: RuleBook, id: str) -> Rule:
        notes.note(rule := get(self, id))
        return rule

    def several(self: RuleBook, id: str) -> tuple[Rule, ...]:
        for rule in (found := all_(self, id)):
            notes.note(rule)
        return found

    def found(self: RuleBook, id: str, **baby: Any) -> Rule:
        before, notes.unit = notes.unit, ""  # of all that the id has, one is asked for
        try:
            rule = find(self, id, **baby)
        finally:
            notes.unit = before
        notes.note(rule)
        return rule

    for name, spy in {"__getitem__": one, "all": several, "find": found}.items():
        setattr(RuleBook, name, spy)
    for name in ("value", "band", "text"):
        setattr(Rule, name, property(_seen(getattr(Rule, name).fget, notes)))


def _seen(read: Callable[[Any], Any], notes: _Notes) -> Callable[[Any], Any]:
    def reading(self: Any) -> Any:
        notes.note(self)
        return read(self)

    return reading


def _draw_and_mark(course: Course, notes: _Notes) -> int:
    """Draw and mark cases until nobody asks for anything new; return for how many learners."""
    from graders.marking.exercise import mark_all
    from graders.marking.personas import answers_of, played
    from workbook.cases import case, spoken

    new_at = drawn = 0
    while drawn < MOST and drawn - new_at < SETTLED:
        drawn += 1
        before = _size(notes)
        for unit in course.units:
            with notes.of(unit):
                mine = case(course.id, unit, f"learner-{drawn}", course.book)
                mark_all(mine, {}, course.book)
                for belief in ("", *played(unit)):
                    answers = answers_of(mine, course.book, belief)
                    mark_all(mine, answers, course.book)
                    for id, value in answers.items():
                        spoken(mine[id], value)
        new_at = drawn if _size(notes) > before else new_at
    return drawn


def _size(notes: _Notes) -> int:
    return sum(map(len, notes.found.values()))


def _run_lessons(course: Course, notes: _Notes) -> None:
    from workbook.lesson.page import FOLDER

    wanted = {unit.partition("_")[0] for unit in course.units}
    own = {path.stem.partition("_")[0] for path in FOLDER.glob("*.toml")}
    with_exercise = {unit.partition("_")[0] for unit in _exercises()}
    for page in sorted(FOLDER.glob("[0-9]*.ipynb")):
        number = page.stem.partition("_")[0]
        if number in own and (number in wanted or number not in with_exercise):
            with notes.of(f"lesson {page.stem}"):
                _run(page)
                _look_up(page.with_suffix(".toml"), course)


def _exercises() -> Sequence[str]:
    from workbook.cases import exercises

    return exercises()


def _run(page: Path) -> None:
    """Run each cell of a lesson of ours, as a learner who opens it does."""
    cells = json.loads(page.read_text(encoding="utf-8"))["cells"]
    names: dict[str, Any] = {}
    for cell in cells:
        if cell["cell_type"] == "code":
            exec(compile("".join(cell["source"]), page.name, "exec"), names)  # noqa: S102  ours


def _look_up(data: Path, course: Course) -> None:
    """Ask for every rule that a lesson's data names."""
    import tomllib

    from workbook.rules.files import file

    for text in set(_texts(tomllib.loads(data.read_text(encoding="utf-8")))):
        for book in (course.book, file("sizes"), file("gas")):
            if text in book:
                book.all(text)


def _texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, Mapping):
        for each in tree.values():
            yield from _texts(each)
    elif isinstance(tree, list):
        for each in tree:
            yield from _texts(each)


def main() -> None:
    """Run the course of this folder through, and print what it asked for."""
    from graders.lab.checklist import checklist
    from workbook.rules.signed import follow

    course, notes = read_course(Path.cwd()), _Notes()
    _listen(notes)
    follow(course.book.signed)
    with contextlib.redirect_stdout(io.StringIO()):
        learners = _draw_and_mark(course, notes)
        _run_lessons(course, notes)
        with notes.of(LAB):
            checklist(course.book)
    rules = [[list(key), list(units)] for key, units in notes.found.items()]
    print(json.dumps({"rules": rules, "learners": learners}))


if __name__ == "__main__":
    main()
