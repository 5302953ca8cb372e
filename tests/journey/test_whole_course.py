"""Every page of a real course in the learner's room: no hand breaks it, no host shows through."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from tests.browser.control_page import axe
from tests.journey.pages import SHOWN, Opened, opened, status
from tests.journey.room import host_words, kept, state
from tests.lesson_screen import CONTROLS

UNITS = ("1_setup_order", "3_pressure_targets", "4_rate_counting", "5_interface_sizing",
         "6_fault_finding", "7_from_birth")  # fmt: skip
LESSONS = ("start_here", "1_setup_order", "2_bench", *UNITS[1:])
PAGES = [f"{name}.ipynb" for name in LESSONS] + [f"{unit}/{unit}.ipynb" for unit in UNITS]
WIDE: ViewportSize = {"width": 1280, "height": 900}
# What the host does with these keys: insert, change, cut, undo, restart, run, save, find, ...
LETTERS = [*"abmyxcvzshlfr", "d", "d", "0", "0", "i", "i", "Shift+m", "Shift+l", "Shift+v"]
CHORDS = ["Shift+Enter", "Control+Enter", "Alt+Enter", "Control+s", "Control+b", "Control+Shift+c",
          "Control+Shift+d", "Control+Shift+h", "Control+z", "Control+Shift+Minus"]  # fmt: skip
KEYS = [*LETTERS, *CHORDS, "ArrowDown", "ArrowUp", "Enter", "Escape"]

# A press on an answer gives that answer: everything else is told to have been clicked twice.
EVERYWHERE = """() => {
  const takes = "button, a, input, select, textarea, label, summary, [role=application], " +
    "[role=slider], .tpiece-bench, .tpiece-taps, .tpiece-face-stage";
  const nodes = [...document.querySelectorAll(".jp-NotebookPanel:not(.lm-mod-hidden) *")]
    .filter((node) => node.getClientRects().length && !node.closest(takes));
  const kinds = ["mousedown", "mouseup", "click", "mousedown", "mouseup", "click", "dblclick"];
  for (const node of nodes)
    for (const kind of kinds)
      node.dispatchEvent(new MouseEvent(kind, { bubbles: true, cancelable: true, detail: 2 }));
  getSelection().removeAllRanges();
  return nodes.length;
}"""
# Where a hand may double-click: each text block of the page, and each question's own words.
BLOCKS = """() => {
  const parts = ":is(.jp-RenderedMarkdown > *, .jp-RenderedHTMLCommon > *, .tpiece-label, " +
    ".tpiece-help)";
  const page = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden)");
  globalThis.blocks = [...page.querySelectorAll(parts)]
    .filter((node) => node.getClientRects().length && !node.closest("a, label, summary"));
  return globalThis.blocks.length;
}"""
AT = """(n) => {
  const node = globalThis.blocks[n];
  node.scrollIntoView({ block: "center" });
  const box = node.getBoundingClientRect();
  return [box.left + 3, box.top + Math.min(8, box.height / 2)];
}"""
HANDS = 12  # blocks of a page that are double-clicked by hand; the rest are told so


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    """Yield a running workbook of the learner ada, all units of it."""
    with opened(tmp_path_factory.mktemp("workbook"), "ada") as running:
        config = running.own / ".tpiece" / "config" / "labconfig" / "page_config.json"
        told = json.loads(config.read_text(encoding="utf-8"))
        config.write_text(json.dumps({**told, "exposeAppInBrowser": True}), encoding="utf-8")
        yield running


@contextmanager
def shown(chromium: Browser, workbook: Opened, path: str, **context: Any) -> Iterator[Page]:
    """Yield a page that is ready, in a window of its own; its kernel goes with it."""
    window = chromium.new_context(viewport=WIDE, **context)
    page = window.new_page()
    page.goto(workbook.page(path))
    expect(status(page)).to_have_text("Ready", timeout=90_000)
    yield page
    window.close()
    for session in workbook.ask("GET", "/api/sessions"):
        workbook.ask("DELETE", f"/api/sessions/{session['id']}")


@pytest.mark.parametrize("path", PAGES)
def test_no_hand_changes_a_page(
    chromium: Browser, workbook: Opened, axe_source: str, path: str
) -> None:
    """Clicked twice everywhere, tapped twice, typed at: page, modes and files are as they were.

    Nothing on the screen speaks of the host, and axe finds nothing serious in all of it. In what a
    lesson shows, with every fold open, it finds nothing at all.
    """
    with shown(chromium, workbook, path, has_touch=True) as page:
        before, files = state(page), kept(workbook)
        assert (before["editors"], before["windows"], before["unsaved"]) == (0, 0, False)
        assert all(each is not False for each in before["rendered"])
        assert host_words(page) == []
        assert axe(page, axe_source) == []
        by_hand(page)
        assert page.evaluate(EVERYWHERE) > 50
        page.evaluate("document.activeElement.blur()")
        for key in KEYS:
            page.keyboard.press(key)
        page.wait_for_timeout(300)
        assert state(page) == before
        assert kept(workbook) == files
        assert host_words(page) == []
        if (name := path.removesuffix(".ipynb")) in LESSONS:
            faultless_unfolded(page, CONTROLS[name])


def faultless_unfolded(page: Page, controls: int) -> None:
    """See that cards, tables and controls hold no fault the checker knows, every fold open."""
    expect(page.locator(f"{SHOWN} .tpiece")).to_have_count(controls)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    found = page.evaluate("axe.run({ include: [['.jp-OutputArea'], ['.jp-RenderedMarkdown']] })")
    assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"]] == []
    assert len(found["passes"]) > 5


def by_hand(page: Page) -> None:
    """Double-click on some blocks of a page, and tap twice on the first and on the last of them."""
    count = page.evaluate(BLOCKS)
    assert count > 5
    chosen = sorted({n * (count - 1) // (HANDS - 1) for n in range(HANDS)})
    for n in chosen:
        page.mouse.dblclick(*page.evaluate(AT, n))
    for n in (chosen[0], chosen[-1]):
        place = page.evaluate(AT, n)
        page.touchscreen.tap(*place)
        page.touchscreen.tap(*place)


@pytest.mark.parametrize(
    "path", ["", PAGES[0], "1_setup_order.ipynb", f"{UNITS[0]}/{UNITS[0]}.ipynb"]
)
def test_nothing_serious_in_the_dark(
    chromium: Browser, workbook: Opened, axe_source: str, path: str
) -> None:
    """Home, first page, lesson and exercise follow a dark browser, every control of them too."""
    window = chromium.new_context(viewport=WIDE, color_scheme="dark")
    page = window.new_page()
    page.goto(workbook.page(path) if path else f"{workbook.address}/doc?token={workbook.token}")
    if path:
        expect(status(page)).to_have_text("Ready", timeout=90_000)
    else:
        page.locator(".tpiece-way").wait_for(timeout=90_000)
        assert host_words(page) == []
    ours = f"{SHOWN} .tpiece, .tpiece-home-page"
    page.wait_for_function(
        f"(parts) => ({SCHEMES})(parts).every((one) => one === 'dark')", arg=ours
    )
    assert set(page.evaluate(SCHEMES, ours)) == {"dark"}
    assert axe(page, axe_source) == []
    window.close()


# What native inputs and light-dark() go by.
SCHEMES = """(parts) => [...document.querySelectorAll(parts)]
  .map((node) => getComputedStyle(node).colorScheme)"""
