"""The bar and the hand-in of a page in another language, in a real JupyterLab.

The pseudo-language right to left stands in for any: no translation needs to be ready for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress

import pytest
from playwright.sync_api import Browser, Locator, Page, Route, expect
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

from tests.browser.lab_site import (
    QUESTIONS,
    SLOW_MS,
    UNIT,
    Site,
    dialog,
    open_page,
    open_workshop,
    started,
    write_pages,
)
from tests.page_words import translations
from workbook.core.language import BRACKETS, pseudo

LANGUAGE = "qps-rtl"
TRIES = 10


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start the workbook on pages given out in the pseudo-language."""
    top = tmp_path_factory.mktemp("language")
    write_pages(top, language=LANGUAGE)
    with started(top) as site:
        yield site


@pytest.fixture
def page(chromium: Browser, site: Site) -> Iterator[Page]:
    """Yield the exercise, one of its two questions answered, in a narrow window."""
    site.answer("q1")
    context = chromium.new_context(viewport={"width": 700, "height": 800})
    context.route("**/tpiece-workbook/page/translations.js", pseudo_translations)
    page = open_page(context, site, f"{UNIT}/{UNIT}.ipynb")
    expect(bar(page).get_by_role("status")).to_have_text(pseudo("Ready"), timeout=SLOW_MS)
    yield page
    context.close()


def pseudo_translations(route: Route) -> None:
    """Serve the file that holds the translations as if this language had been translated."""
    route.fulfill(content_type="text/javascript", body=translations([LANGUAGE]))


def bar(page: Page) -> Locator:
    """Return the bar, by its name in the pseudo-language."""
    return page.get_by_role("group", name=pseudo("This page"))


def outside(texts: list[str]) -> list[str]:
    """Return the texts that were not looked up; what a question is called is the unit's."""
    names = {question["label"] for question in QUESTIONS}
    said = [text.strip() for text in texts if text.strip() and text.strip() not in names]
    return [text for text in said if not (text.startswith(BRACKETS[0]) and text.endswith("⟧"))]


def test_the_bar_is_in_the_course_s_language(page: Page) -> None:
    """Every button and the status, marked with the language and its direction."""
    assert outside(bar(page).locator("a, button, [role=status]").all_inner_texts()) == []
    for part in (bar(page), page.locator(".jp-Notebook")):
        expect(part).to_have_attribute("lang", LANGUAGE)
    expect(bar(page)).to_have_attribute("dir", "rtl")
    # What is first is on the right of its row; with long words the others go below it.
    boxes = [each.bounding_box() for each in bar(page).locator("a, button").all()]
    (first, *others) = [box for box in boxes if box is not None]
    assert others
    row = [box for box in others if box["y"] < first["y"] + first["height"]]
    assert all(box["x"] + box["width"] <= first["x"] for box in row)
    below = [box for box in others if box not in row]
    assert all(box["x"] + box["width"] <= first["x"] + first["width"] + 1 for box in below)


def test_handing_in_is_told_in_the_course_s_language(page: Page, site: Site) -> None:
    """The question about what is open, the answer that it came in, the status at the end."""
    bar(page).get_by_role("button", name=pseudo("Save and hand in")).focus()
    page.keyboard.press("Enter")
    asked = dialog(page, pseudo("Some questions are not answered"))
    expect(asked).to_have_attribute("lang", LANGUAGE)
    expect(asked).to_have_attribute("dir", "rtl")
    assert outside(asked.locator("p, li, .jp-Dialog-header, button").all_inner_texts()) == []
    page.keyboard.press("Enter")
    done = dialog(page, pseudo("Handed in"))
    assert outside(done.locator("p, .jp-Dialog-header, button").all_inner_texts()) == []
    assert re.search(r"1 .* 2 ", done.inner_text())
    page.keyboard.press("Escape")
    assert outside([bar(page).get_by_role("status").inner_text()]) == []
    assert len(site.handed_in()) == 1


def test_the_palette_lists_the_commands_in_the_course_s_language(page: Page, site: Site) -> None:
    """Whoever works in the full JupyterLab by keyboard alone finds them there."""
    page = open_workshop(page.context, site, f"{UNIT}/{UNIT}.ipynb")
    expect(bar(page).get_by_role("status")).to_have_text(pseudo("Ready"), timeout=SLOW_MS)
    found = page.locator(".lm-CommandPalette-item", has_text=pseudo("Save and hand in"))
    for _ in range(TRIES):  # JupyterLab reads its own keys after a page may have run
        page.keyboard.press("Control+Shift+C")
        with suppress(PlaywrightTimeoutError):
            found.wait_for(timeout=SLOW_MS / TRIES)
            break
    expect(found).to_be_visible()
    expect(page.locator(".lm-CommandPalette-header", has_text=pseudo("Workbook"))).to_be_attached()
