"""A unit with its lesson fits in half an hour, by its words and actions; no page says otherwise."""

from __future__ import annotations

import pytest

from tests.reading_time import LIMIT, of_exercise, of_lesson, words
from workbook.cases import exercises
from workbook.lesson import FOLDER
from workbook.rules import rulebook

LESSONS = sorted(path.stem for path in FOLDER.glob("[0-9]*.ipynb"))


@pytest.mark.parametrize("name", LESSONS)
def test_a_unit_with_its_lesson_fits_in_half_an_hour(name: str):
    """The default edition; what is folded is not read, every question is answered once."""
    edition = rulebook().edition.id
    efforts = [of_lesson(name, edition)]
    efforts += [of_exercise(name, edition)] if name in exercises() else []
    said = "; ".join(f"{e.words} words, {e.actions} actions" for e in efforts)
    assert sum(effort.minutes for effort in efforts) <= LIMIT, said


def test_words_in_a_fold_are_not_counted():
    """A summary is seen, what it hides is not, and a drawing's own title is no text."""
    assert words("<p>one two</p><details><summary>three</summary><p>four five</p></details>") == 3
    assert words("<details open><summary>one</summary>two three</details>") == 3
    assert words("<style>p { color: red }</style><svg><title>a b c</title></svg>It's 8 L/min.") == 4
