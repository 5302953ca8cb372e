"""Pages, cases and numbers in another language: only what is read changes.

Drawn questions are the same for a learner in every language, so that marks are; a page keeps its
code, ids and links; a number is written as the language does, and read with either decimal sign.
"""

import json
import re
from pathlib import Path

import pytest

from workbook.cases import case, exercises
from workbook.core.language import BRACKETS, speaking
from workbook.core.quantities import UnitError, plain, quantity, typed_number
from workbook.course.pages import messages, translated
from workbook.lesson.page import FOLDER, texts
from workbook.rules import rulebook

EXERCISES = Path(__file__).parent.parent / "source_exercises"
PAGES = sorted([*FOLDER.glob("*.ipynb"), *EXERCISES.glob("*/*.ipynb")])
LINKS = re.compile(r"\]\(([^)]*)\)")


def read(path):
    """Return a notebook as data."""
    return json.loads(path.read_text(encoding="utf-8"))


def facts(exercise, learner, edition):
    """Return what of a case must not depend on the language it is told in."""
    drawn = case("practice", exercise, learner, rulebook(edition))
    return [
        (q.id, q.kind, q.units, [option.id for option in q.options], dict(q.facts))
        for q in drawn.questions
    ]


@pytest.mark.parametrize("code", ["es", "qps"])
@pytest.mark.parametrize("exercise", exercises())
def test_a_learner_is_asked_the_same_in_every_language(exercise, code):
    """Ids, options' order and drawn facts are the same; the texts alone differ."""
    for learner in ("nurse-1", "nurse-2", "nurse-3"):
        for edition in ("aha-2020", "erc-2021"):
            english = facts(exercise, learner, edition)
            with speaking(code):
                assert facts(exercise, learner, edition) == english


@pytest.mark.parametrize("exercise", exercises())
def test_no_two_options_of_a_question_read_alike(exercise):
    """Texts that are told apart by id are told apart by eye, in every language offered."""
    for code in ("en", "es"):
        with speaking(code):
            for question in case("practice", exercise, "nurse-1", rulebook("aha-2020")).questions:
                said = [option.text for option in question.options]
                assert len(set(said)) == len(said), (code, question.id)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_a_page_changes_in_its_words_alone(path):
    """Code, ids, metadata and links stay; every word of the prose is looked up."""
    page = read(path)
    with speaking("qps"):
        told = translated(page)
    assert told["metadata"]["tpiece"] == {**page["metadata"]["tpiece"], "language": "qps"}
    for before, after in zip(page["cells"], told["cells"], strict=True):
        same = {key: value for key, value in after.items() if key != "source"}
        assert same == {key: value for key, value in before.items() if key != "source"}
        one, two = ("".join(cell["source"]) for cell in (before, after))
        if before["cell_type"] == "code":
            assert one == two
            continue
        assert LINKS.findall(one) == LINKS.findall(two)
        assert len(one.split("\n")) == len(two.split("\n"))
        assert all(BRACKETS[0] in line for line in two.split("\n") if line.strip())


def test_an_english_page_is_as_it_was():
    """English needs no translation, and a page is not touched."""
    for path in PAGES:
        assert translated(read(path)) == read(path)


def test_each_line_of_prose_is_one_text_for_a_translator():
    """A heading, a paragraph or an entry comes without its marks, each once."""
    cell = {"cell_type": "markdown", "source": "# Title\n\nOne line.\n\n- An entry.\n1. Another."}
    code = {"cell_type": "code", "source": "# no text"}
    assert messages({"cells": [cell, code, cell]}) == [
        "Title",
        "One line.",
        "An entry.",
        "Another.",
    ]


def test_a_translation_nobody_reviewed_says_so_below_the_title():
    """A Spanish page warns its reader before anything else; an English one does not."""
    page = read(FOLDER / "start_here.ipynb")
    with speaking("es"):
        lines = "".join(translated(page)["cells"][0]["source"]).split("\n")
    assert lines[0].startswith("# ")
    assert lines[2].startswith("**")
    with speaking("en"):
        assert translated(page)["cells"][0]["source"] == page["cells"][0]["source"]


def test_a_lesson_is_told_in_the_language_in_force_each_time():
    """What was read in one language is not handed to the next reader in another."""
    english = texts("start_here")["try"][0]["label"]
    with speaking("qps"):
        assert texts("start_here")["try"][0]["label"].startswith(BRACKETS[0])
    assert texts("start_here")["try"][0]["label"] == english


def test_numbers_are_written_with_the_languages_decimal_sign():
    """A comma in Spanish (CLDR), a point in English; whole numbers are the same."""
    assert (plain(4.5, "cmH2O"), plain(25, "cmH2O")) == ("4.5 cmH2O", "25 cmH2O")
    with speaking("es"):
        assert (plain(4.5, "cmH2O"), plain(25, "cmH2O")) == ("4,5 cmH2O", "25 cmH2O")


@pytest.mark.parametrize("code", ["en", "es"])
def test_a_decimal_comma_is_a_decimal_point_in_every_language(code):
    """What one hand types is read alike whatever the page is told in."""
    with speaking(code):
        assert typed_number("12,5") == typed_number("12.5") == 12.5
        assert quantity("12,5 cmH2O") == quantity(12.5, "cmH2O")
        for text in ("1.234,5", "1,234.5", "twelve", ""):
            with pytest.raises(UnitError, match=re.escape(repr(text))):
                typed_number(text)
