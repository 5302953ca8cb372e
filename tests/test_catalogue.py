"""The catalogue of texts: up to date, well formed, and compiled from what translators wrote.

Babel reads the files; gettext of the standard library reads what was compiled.
"""

import gettext
import io
import re
import string

import pytest
from babel.messages.pofile import read_po

from tests.catalogue import POT, compiled, found, template, written
from workbook.core.language import DOMAIN, LOCALES, languages

TRANSLATED = [code for code in languages() if code != "en"]
LINK = re.compile(r"\]\(([^)]*)\)")


def catalogue_of(code):
    """Return a translation as Babel reads it, and its path."""
    path = LOCALES / code / "LC_MESSAGES" / f"{DOMAIN}.po"
    with path.open("rb") as text:
        return read_po(text, locale=code), path


def placeholders(text):
    """Return the names a text is filled in with, each with its format, sorted."""
    parts = string.Formatter().parse(text)
    return sorted(f"{name}:{spec}" for _, name, spec, _ in parts if name is not None)


def test_the_template_is_up_to_date():
    """Every text of code, data and pages stands in the template, and no other does."""
    with POT.open("rb") as text:
        kept = {message.id for message in read_po(text) if message.id}
    now = {message.id for message in template() if message.id}
    hint = "Run: python -m tests.catalogue"
    assert not now - kept, f"New texts. {hint}"
    assert not kept - now, f"Texts that are gone. {hint}"


def test_the_template_is_what_the_command_writes():
    """Two people who run the command get the same file, byte for byte."""
    assert POT.read_text(encoding="utf-8") == written(template())


def test_every_kind_of_place_gives_texts():
    """Python, JavaScript, fixed words, lessons, cases, marking, rules and pages all speak."""
    places = {where.rsplit("/", 1)[0] for where, _, _ in found()}
    assert {
        "workbook/core",
        "workbook/lesson",
        "workbook/units/sizing",
        "workbook/widgets",
        "workbook/labextension/page",
        "workbook/lessons",
        "workbook/cases",
        "workbook/units/setup/case",
        "graders/units/setup",
        "graders/units/rate",
        "workbook/rules/data",
        "source_exercises/1_setup_order",
    } <= places


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_translation_is_up_to_date_with_the_template(code):
    """A translator finds every text, and none that is gone."""
    catalogue, _ = catalogue_of(code)
    with POT.open("rb") as text:
        assert {m.id for m in catalogue if m.id} == {m.id for m in read_po(text) if m.id}


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_translation_keeps_placeholders_and_links(code):
    """What a program fills in or follows is the same in every language."""
    catalogue, _ = catalogue_of(code)
    wrong = [
        message.id
        for message in catalogue
        if message.id and message.string
        if placeholders(message.id) != placeholders(message.string)
        or LINK.findall(message.id) != LINK.findall(message.string)
    ]
    assert not wrong


@pytest.mark.parametrize("code", TRANSLATED)
def test_what_is_compiled_is_what_was_written(code):
    """The compiled file, which a wheel and a site carry, is made from the text beside it."""
    catalogue, path = catalogue_of(code)
    made = path.with_suffix(".mo").read_bytes()
    assert made == compiled(path)
    told = gettext.GNUTranslations(io.BytesIO(made))
    said = {message.id: message.string for message in catalogue if message.id and message.string}
    assert {text: told.gettext(text) for text in said} == said
