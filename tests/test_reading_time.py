"""A unit with its lesson fits in half an hour, by its words and actions; no page says otherwise."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.reading_time import LIMIT, of_exercise, of_lesson, words
from tests.told_pages import EXERCISES
from workbook.cases import exercises
from workbook.lesson.page import FOLDER
from workbook.rules import rulebook

pytestmark = pytest.mark.slow

LESSONS = sorted(path.stem for path in FOLDER.glob("[0-9]*.ipynb"))


@pytest.mark.parametrize("name", LESSONS)
def test_a_unit_with_its_lesson_fits_in_half_an_hour(name: str):
    """The default edition; what is folded is not read, every question is answered once."""
    edition = rulebook().edition.id
    efforts = [of_lesson(name, edition)]
    efforts += [of_exercise(name, edition)] if name in exercises() else []
    said = "; ".join(f"{e.words} words, {e.actions} actions" for e in efforts)
    assert sum(effort.minutes for effort in efforts) <= LIMIT, said


def promised(page: Path) -> int:
    """Return the minutes that a page says it takes; another test holds its words to them."""
    return int(json.loads(page.read_text(encoding="utf-8"))["metadata"]["tpiece"]["minutes"])


@pytest.mark.parametrize("name", ["start_here", *LESSONS])
def test_a_lesson_takes_the_minutes_it_says(name: str):
    """What a page promises holds by its words and actions, and is no guess far above them."""
    said = promised(FOLDER / f"{name}.ipynb")
    assert said / 2 <= of_lesson(name, rulebook().edition.id).minutes <= said + 1


@pytest.mark.parametrize("name", exercises())
def test_an_exercise_takes_the_minutes_it_says(name: str):
    """The same for what is handed in."""
    said = promised(EXERCISES / name / f"{name}.ipynb")
    assert said / 2 <= of_exercise(name, rulebook().edition.id).minutes <= said + 1


def test_words_in_a_fold_are_not_counted():
    """A summary is seen, what it hides is not, and a drawing's own title is no text."""
    assert words("<p>one two</p><details><summary>three</summary><p>four five</p></details>") == 3
    assert words("<details open><summary>one</summary>two three</details>") == 3
    assert words("<style>p { color: red }</style><svg><title>a b c</title></svg>It's 8 L/min.") == 4
