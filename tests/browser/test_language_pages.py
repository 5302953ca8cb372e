"""Every lesson and exercise under the pseudo-languages, drawn by a real browser.

Under the first, whatever a person reads or hears (text and accessible names) was looked up in the
catalogue; under the second, it runs from right to left, and pictures do not.
"""

from __future__ import annotations

import os
from typing import Any

import pytest
from playwright.sync_api import Page as BrowserPage

from tests.browser.control_page import open_control
from tests.told_pages import LESSONS, UNITS, Page, as_html, cells, outside, worked_through
from workbook.core.language import BRACKETS, VARIABLE
from workbook.widgets import BenchControl, Control, Face, Taps
from workbook.widgets.sentence import Sentence

PAGES = [*((name, False) for name in LESSONS), *((name, True) for name in UNITS)]
KEEP = os.environ.get("TPIECE_SHOTS", "")  # a folder for screenshots, to be looked at

# Everything on the page that is read by eye or by a screen reader, folded parts too.
READ = """() => {
  const out = [];
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    if (!node.parentElement.closest("style, script, h1.test")) out.push(node.textContent);
  }
  for (const node of document.querySelectorAll("main *")) {
    for (const name of ["aria-label", "aria-valuetext", "aria-roledescription", "alt", "title",
                        "placeholder"]) {
      if (node.hasAttribute(name)) out.push(node.getAttribute(name));
    }
  }
  return out;
}"""


@pytest.fixture
def told(monkeypatch, tmp_path, chromium):
    """Yield what works a page through under a language, and shows it in the browser."""
    opened: list[BrowserPage] = []
    monkeypatch.setattr("workbook.core.language._chosen", [])
    monkeypatch.setenv("TPIECE_LEARNER", "learner")
    monkeypatch.chdir(tmp_path)

    def _told(name: str, exercise: bool, code: str, **context: Any) -> BrowserPage:
        monkeypatch.setenv(VARIABLE, code)
        if exercise:
            (tmp_path / "course.toml").write_text('id = "practice"\n', encoding="utf-8")
        screen = Page()
        monkeypatch.setattr("IPython.display.display", screen.display)
        monkeypatch.setattr("IPython.display.DisplayHandle", screen.handle)
        worked_through(cells(name, exercise=exercise), screen)
        opened.append(shown(chromium, screen, **context))
        return opened[-1]

    yield _told
    for page in opened:
        page.context.close()


def shown(chromium: Any, screen: Page, **context: Any) -> BrowserPage:
    """Return a browser's page with everything on a screen, in its order."""
    controls = [thing for thing in screen.shown if isinstance(thing, DRAWN)]
    errors: list[str] = []

    def prepare(page: BrowserPage) -> None:
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.expose_function("laws", lambda message: None)
        page.expose_function("place", lambda message: None)

    page = open_control(chromium, *controls, prepare=prepare, **context)
    for kind in (BenchControl, Face, Taps, Sentence):
        page.add_style_tag(content=kind._css)
    page.evaluate("document.querySelector('h1').className = 'test'")
    for n, thing in enumerate(screen.shown):
        if not isinstance(thing, DRAWN):
            before = sum(isinstance(each, DRAWN) for each in screen.shown[:n])
            page.evaluate(LAY, [as_html(thing), before])
    page.wait_for_timeout(300)  # drawings are made as wide as their place
    assert errors == []
    return page


DRAWN = (Control, Sentence)  # by scripts of their own

# Lays markup before the n-th control, where the page has it.
LAY = """([html, n]) => {
  const box = document.createElement("div");
  box.className = "jp-RenderedHTMLCommon";
  box.innerHTML = html;
  const main = document.querySelector("main");
  const controls = [...main.children].filter((each) => each.querySelector(":scope > .tpiece"));
  main.insertBefore(box, controls[n] ?? null);
}"""


def kept(page: BrowserPage, name: str) -> None:
    """Keep a picture of a page, where somebody asked for it."""
    if KEEP:
        page.screenshot(path=f"{KEEP}/{name}.png", full_page=True)


@pytest.mark.parametrize(("name", "exercise"), PAGES)
def test_nothing_a_learner_meets_is_left_in_english(told, name, exercise):
    """Each text and accessible name was looked up; what was not is a name, a unit or a number."""
    page = told(name, exercise, "qps", viewport={"width": 1280, "height": 900})
    kept(page, f"qps-{name}{'-exercise' * exercise}")
    read = page.evaluate(READ)
    assert sum(BRACKETS[0] in text for text in read) > 20
    assert {left: text for text in read if (left := outside(text))} == {}


@pytest.mark.parametrize(("name", "exercise"), PAGES)
def test_a_page_runs_from_right_to_left_and_its_pictures_do_not(told, name, exercise):
    """Questions and cards begin at the right; drawings and sliders keep their left and right."""
    page = told(name, exercise, "qps-rtl", viewport={"width": 1280, "height": 900})
    ways = "(found) => [...new Set(found.map((each) => getComputedStyle(each).direction))]"
    tags = "(found) => [...new Set(found.map((each) => each.lang))]"
    assert page.eval_on_selector_all(".tpiece .tpiece-label", ways) == ["rtl"]
    assert page.eval_on_selector_all(".tpiece svg, input[type=range]", ways) in ([], ["ltr"])
    assert page.eval_on_selector_all(".tpiece", tags) == ["qps-x-rtl"]
    for width in (1280, 400):
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_timeout(300)
        kept(page, f"rtl-{width}-{name}{'-exercise' * exercise}")
        assert page.evaluate(OUTSIDE) == []


# What reaches beyond the page's edge: it could be neither read nor reached.
OUTSIDE = """() => [...document.querySelectorAll(".tpiece, .tpiece :is(button, input, p, li)")]
  .filter((each) => each.getClientRects().length && !each.closest("svg, table"))
  .filter((each) => {
    const { left, right } = each.getBoundingClientRect();
    return left < -1 || right > innerWidth + 1;
  }).map((each) => each.outerHTML.slice(0, 120))"""
