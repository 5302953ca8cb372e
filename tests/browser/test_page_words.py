"""What JupyterLab's bar and dialogs say in each language, read by a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

from tests.page_words import PAGE, WRITTEN, texts, translations
from workbook.core.language import BRACKETS, languages, pseudo, speaking

PLACE = "http://page.test/"
NO_WORDS = {"language", "direction", "locale"}

# Returns every word of a language, each function called with values that stand for themselves.
READ = """async (code) => {
  const { wordsIn } = await import("./words.js");
  const run = [{ time: 1, pressure: 2 }, { time: 3, pressure: 4 }];
  const sent = [["1", "b", "c", ""], [1, 1, 1], [2, 3, 4]];
  const bare = (value) => String(value).replace(/\\/\\*.*?\\*\\//gs, "");
  const call = (name, value) => {
    const given = bare(value).replaceAll(" ", "").startsWith("(points)") ? [[run]] : sent;
    return given.map((values) => read(name, value(...values)));
  };
  const read = (name, value) => {
    if (typeof value === "function") return call(name, value);
    if (Array.isArray(value)) return value.map((each) => read(name, each));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, read(key, each)]));
  };
  return read("", wordsIn(code));
}"""


def served(route: Route, codes: list[str]) -> None:
    """Serve the extension's files, with the translations of these languages."""
    name = route.request.url.removeprefix(PLACE)
    if not name:
        route.fulfill(content_type="text/html", body="<!doctype html><title>Words</title>")
        return
    made = translations(codes) if name == WRITTEN.name else (PAGE / name).read_text("utf-8")
    route.fulfill(content_type="text/javascript", body=made)


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    """Yield a page that can ask for words, those of the pseudo-languages too."""
    page = chromium.new_page()
    page.route(f"{PLACE}**", lambda route: served(route, [*languages(), "qps", "qps-rtl"]))
    page.goto(PLACE)
    yield page
    page.close()


def said(found: Any) -> Iterator[str]:
    """Return every text of some words."""
    if isinstance(found, dict):
        for name, value in found.items():
            yield from () if name in NO_WORDS else said(value)
    elif isinstance(found, list):
        for value in found:
            yield from said(value)
    elif isinstance(found, str):
        yield found


def test_every_word_is_looked_up(page: Page) -> None:
    """Under the pseudo-language nothing stands outside its brackets, and no text is lost."""
    found = list(said(page.evaluate(READ, "qps")))
    begin, end = BRACKETS
    assert [text for text in found if not (text.startswith(begin) and text.endswith(end))] == []
    plain = {pseudo(text) for text in texts() if "{" not in text}
    assert plain <= set(found)


def test_values_stand_in_a_text_where_it_names_them(page: Page) -> None:
    """What is filled in is whole, in both languages; English is said as it always was."""
    words = page.evaluate(READ, "en")
    assert words["waiting"][1:] == [
        "Waiting for 1 answer to be saved…", "Waiting for 2 answers to be saved…"
    ]  # fmt: skip
    assert words["unanswered"]["text"][2] == ["2 of 3 questions are answered. These are not:"]
    assert words["cause"]["noReply"][1].endswith("(code 1).")
    assert not [text for text in said(words) if "{" in text]
    assert not [text for text in said(page.evaluate(READ, "qps")) if "{" in text]


@pytest.mark.parametrize("code", ["", "xx", "constructor", "__proto__", None, 7])
def test_a_language_that_is_not_known_is_told_in_english(page: Page, code: object) -> None:
    """A page of a later version, or one that somebody edited, still has a bar."""
    assert page.evaluate(READ, code) == page.evaluate(READ, "en")
    assert page.evaluate(READ, code)["language"] == "en"


def test_each_language_says_its_name_and_direction(page: Page) -> None:
    """The bar and the dialogs carry ``lang`` and ``dir`` from here."""
    told = {code: page.evaluate(READ, code) for code in ("en", "es", "qps-rtl")}
    assert [(each["language"], each["direction"]) for each in told.values()] == [
        ("en", "ltr"), ("es", "ltr"), ("qps-rtl", "rtl"),
    ]  # fmt: skip


def test_what_is_written_is_what_the_catalogue_says() -> None:
    """Hint for who changes words: python -m tests.page_words."""
    assert WRITTEN.read_text(encoding="utf-8") == translations(languages())


def test_a_translation_of_a_word_is_shown(page: Page) -> None:
    """What the catalogue holds in Spanish is what the page says; the rest stays English."""
    from workbook.core.language import _

    words = set(said(page.evaluate(READ, "es")))
    with speaking("es"):
        assert {_(text) for text in texts() if "{" not in text} <= words
