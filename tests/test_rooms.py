"""The house: one unit is one room, no folder is a heap, and each says what it is for."""

from __future__ import annotations

import ast
import json
import re
import tomllib
from pathlib import Path

import pytest

import graders
import workbook
from graders.course.coursefolder import exercise_source
from graders.marks.misconceptions import misconceptions
from graders.units import units
from tests.believers import UNITS as BELIEVERS
from workbook.cases import exercises

GRADERS = Path(graders.__file__).parent
WORKBOOK = Path(workbook.__file__).parent
ROOMS = GRADERS / "units"
MOST = 15  # modules of one folder, so that a reader sees them at once
TREE = GRADERS.parent
FULLER = {"workbook/scenario"}  # still to be laid out by idea
TINY, PAGE = "9_tiny", "source_exercises"  # the unit to copy
FOLDERS = sorted({path.parent for path in (*GRADERS.rglob("*.py"), *WORKBOOK.rglob("*.py"))})


def test_every_exercise_is_marked_and_nothing_else_is() -> None:
    """One side of the wall has no unit that the other lacks."""
    assert sorted(units()) == sorted(exercises())


def test_a_room_is_marked_wherever_it_has_the_marks() -> None:
    """Who adds a room and forgets to say what it is finds out here."""
    files = ROOMS.glob("*/misconceptions.toml")
    asked = {path: tomllib.loads(path.read_text("utf-8"))["unit"] for path in files}
    with_marks = {path.parent.name for path, unit in asked.items() if unit in exercises()}
    said = {unit.marks.__name__.split(".")[-2] for unit in units().values()}
    assert said == with_marks


@pytest.mark.parametrize("exercise", exercises())
def test_what_a_unit_calls_a_misconception_can_be_played(exercise: str) -> None:
    """A belief without a play would be looked for by nobody."""
    unit = units()[exercise]
    room = ROOMS / unit.marks.__name__.split(".")[-2]
    tables = tomllib.loads((room / "misconceptions.toml").read_text(encoding="utf-8"))
    assert tables.pop("unit") == exercise
    assert set(tables) <= set(unit.plays.PLAYS)


@pytest.mark.parametrize("exercise", exercises())
def test_who_holds_a_misconception_is_played_from_its_sentence_too(exercise: str) -> None:
    """A play that was made with the marks agrees with them; one that was not may show a gap."""
    own = {belief for belief, about in misconceptions().items() if about.unit == exercise}
    assert own <= set(BELIEVERS.get(exercise, ()))


@pytest.mark.parametrize("exercise", [*exercises(), TINY])
def test_a_page_opens_its_own_unit_and_asks_all_of_it(exercise: str) -> None:
    """A page that was copied and still opens another's would ask another's questions."""
    home = exercise_source(exercise) if exercise != TINY else TREE / "tests/tiny_unit" / PAGE / TINY
    page = json.loads((home / f"{exercise}.ipynb").read_text("utf-8"))
    code = "".join(line for cell in page["cells"] for line in [*cell["source"], "\n"])
    assert re.findall(r'open_unit\("(.*?)"\)', code) == [exercise]
    assert page["metadata"]["tpiece"]["unit"] == exercise
    asked = re.findall(r'unit\.ask\("(.*?)"\)', code)
    assert asked == re.findall(r'award\(unit, "(.*?)"\)', code)
    assert exercise == TINY or sorted(asked) == sorted(units()[exercise].marks.POINTS)


def test_a_question_is_of_one_unit_only() -> None:
    """What a question shows is found by its id alone."""
    asked = [question for unit in units().values() for question in unit.marks.POINTS]
    assert len(asked) == len(set(asked))


@pytest.mark.parametrize(
    "folder", FOLDERS, ids=lambda path: path.relative_to(GRADERS.parent).as_posix()
)
def test_a_folder_is_no_heap_and_says_what_it_is_for(folder: Path) -> None:
    """Its modules can be seen at once, and its first line tells them apart from others'."""
    modules = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
    heap = folder.relative_to(TREE).as_posix() in FULLER
    assert (len(modules) > MOST) == heap
    tree = ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))
    assert len((ast.get_docstring(tree) or "").split()) > 3
