"""The language a learner reads: what is in force, and how a text and a number are said in it.

How numbers are written is held against the Unicode consortium's data (CLDR, through Babel).
"""

import pytest
from babel import Locale
from babel.numbers import get_decimal_symbol

from workbook.core.language import (
    BRACKETS,
    N_,
    VARIABLE,
    LanguageError,
    _,
    direction,
    follow,
    in_force,
    languages,
    number,
    pseudo,
    speaking,
    told,
    use,
)


@pytest.fixture(autouse=True)
def nothing_settled(monkeypatch):
    """Each test begins as a new process does, and leaves nothing behind."""
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setattr("workbook.core.language._chosen", [])


def test_english_is_spoken_unless_something_else_is_asked_for():
    """English is the language of code and data, and costs no look-up."""
    assert (in_force(), direction(), _("Step"), number(4.5)) == ("en", "ltr", "Step", "4.5")


def test_the_environment_names_a_language_and_outdoes_a_course(monkeypatch):
    """A person may read a course in another language than the course's own."""
    monkeypatch.setenv(VARIABLE, "es")
    assert in_force() == "es"
    follow("en")
    assert in_force() == "es"


def test_a_course_names_a_language():
    """Without a word from the environment the course's language is spoken."""
    follow("es")
    assert in_force() == "es"


def test_a_language_lasts_as_long_as_its_block():
    """What was spoken before is spoken after, also after an error."""
    use("es")
    with pytest.raises(LanguageError), speaking("qps"):  # noqa: PT012  (the block is the matter)
        assert in_force() == "qps"
        use("tlh")
    assert in_force() == "es"


@pytest.mark.parametrize("begin", [use, follow])
def test_an_unknown_language_is_one_clear_sentence(begin):
    """The sentence names what was asked for and what there is; pseudo-languages are not told."""
    with pytest.raises(LanguageError) as error:
        begin("tlh")
    said = str(error.value)
    assert said.startswith("There is no language 'tlh'; choose one of: en (English), es (Español)")
    assert "qps" not in said


def test_an_unknown_language_of_the_environment_is_told_when_it_is_first_needed(monkeypatch):
    """A wrong setting is not passed over in silence."""
    monkeypatch.setenv(VARIABLE, "tlh")
    with pytest.raises(LanguageError, match="no language 'tlh'"):
        _("Step")


def test_languages_decimals_and_directions_are_those_of_cldr():
    """Each language's name, decimal sign and direction are the Unicode consortium's."""
    for code, name in languages().items():
        locale = Locale.parse(code)
        with speaking(code):
            assert number(0.5) == f"0{get_decimal_symbol(locale)}5"
            assert direction() == {"left-to-right": "ltr"}[locale.character_order]
        assert name == locale.get_display_name(code).capitalize()


def test_a_pseudo_text_keeps_what_a_program_reads():
    """Placeholders, links, code and tags are the same; all else stands accented in brackets."""
    made = pseudo("See [the note](a_note.html): **{value:g}** `nine` <b>one</b>.")
    assert made.startswith(BRACKETS[0])
    assert made.endswith(BRACKETS[1])
    for kept in ("](a_note.html)", "{value:g}", "`nine`", "<b>", "</b>", "**"):
        assert kept in made
    assert "note]" not in made
    assert made.format(value=2)


def test_a_tree_of_data_is_told_but_for_the_keys_that_are_no_text():
    """Ids and units stay, texts are looked up, and the data itself is left as it was."""
    tree = {"id": "one", "label": "One", "units": ["cm"], "more": [{"id": "two", "says": "Two"}]}
    with speaking("qps"):
        assert told(tree) == {
            "id": "one",
            "label": pseudo("One"),
            "units": ["cm"],
            "more": [{"id": "two", "says": pseudo("Two")}],
        }
    assert tree["label"] == "One"
    assert told(tree) is tree


def test_a_mark_changes_nothing():
    """N_ only marks."""
    assert N_("Step") == "Step"
