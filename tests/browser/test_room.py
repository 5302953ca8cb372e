"""The learner's room in a real browser: a quiet page that no key and no click can break.

Every trap of the full JupyterLab that is kept out here is named by the test that holds it.
"""

from __future__ import annotations

import json
import os
import re
import signal
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.lab_site import (
    SLOW_MS,
    UNIT,
    Site,
    bar,
    open_page,
    open_workshop,
    status,
)
from workbook.room import parts

RUNS = "jupyterapp.listPlugins().filter((id) => jupyterapp.isPluginActivated(id))"
KNOWN = "jupyterapp.listPlugins()"
OTHERS = ("tpiece-workbook:", "anywidget:", "@jupyter-widgets/", "@jupyterlab/services-extension:")
# Of JupyterLab's own parts, those a learner's page is made of; "mimedocument" stands for nothing.
OURS = {
    "application-extension": "info main mimedocument notfound paths router shell status "
    "tree-resolver",
    "apputils-extension": "sanitizer sessionDialogs settings settings-connector state "
    "themes toolbar-registry",
    "codemirror-extension": "extensions languages services themes",
    "docmanager-extension": "contexts manager opener plugin",
    "json-extension": "factory",
    "markedparser-extension": "plugin",
    "mathjax-extension": "plugin",
    "notebook-extension": "cell-executor factory tracker widget-factory",
    "rendermime-extension": "plugin",
    "theme-dark-extension": "plugin",
    "theme-light-extension": "plugin",
    "translation-extension": "translator translator-connector",
    "ui-components-extension": "form-renderer-registry labicon-manager",
    "vega5-extension": "factory",
}
LETTERS = ["a", "b", "m", "y", "x", "d", "d", "z", "0", "0", "c", "v", "Shift+V", "i", "i"]
CHORDS = ["Shift+Enter", "Control+Enter", "Alt+Enter", "Control+s", "Control+b", "Control+Shift+c"]
KEYS = [*LETTERS, *CHORDS, "Enter", "Escape", "Shift+l"]
STATE = """() => {
  const { content } = jupyterapp.shell.currentWidget;
  const cells = content.widgets.map((cell) => cell.model.sharedModel.getSource());
  const shown = (node) => node.getClientRects().length > 0;
  const editors = [...document.querySelectorAll(".cm-editor")].filter(shown).length;
  const windows = document.querySelectorAll(".jp-Dialog, dialog, [role=dialog], .lm-Menu").length;
  return { cells, editors, windows, mode: content.mode, dirty: content.model.dirty };
}"""
EVERYWHERE = """() => {
  const kinds = ["mousedown", "mouseup", "click", "mousedown", "mouseup", "dblclick"];
  const nodes = [...document.querySelectorAll(".jp-Notebook *, .tpiece-bar, .tpiece-bar span")]
    .filter((node) => node.getClientRects().length && !node.closest("button, a, input, summary"));
  for (const node of nodes)
    for (const kind of kinds) node.dispatchEvent(new MouseEvent(kind, { bubbles: true }));
  return nodes.length;
}"""

BLANK = """() => {
  const end = document.querySelector(".tpiece-end");
  const scroller = end.parentElement;
  scroller.scrollTop = 1e9;
  const last = end.querySelector("button").getBoundingClientRect().bottom;
  const below = scroller.getBoundingClientRect().bottom - last;
  return scroller.scrollHeight > scroller.clientHeight ? below : Math.min(below, 0) ;
}"""

FOCUS = "(node) => { node.focus(); return document.activeElement === node; }"


def state(page: Page) -> dict[str, Any]:
    """Return what a page holds, and what stands over it."""
    found: dict[str, Any] = page.evaluate(STATE)
    return found


def test_only_what_a_page_is_made_of_runs(unit: Page) -> None:
    """A newer JupyterLab may bring a part that nobody has looked at: it shows here."""
    expected = {f"@jupyterlab/{name}:{part}" for name, all in OURS.items() for part in all.split()}
    running = {id for id in unit.evaluate(RUNS) if not id.startswith(OTHERS)}
    assert running == expected


def test_every_part_that_is_left_out_is_there_to_be_left_out(workshop: Page) -> None:
    """A name that means nothing any more would leave the part in, under its new name."""
    known = workshop.evaluate(KNOWN)
    beside = {"@jupyter/nbgrader", "@jupyterlab/extensionmanager-extension"}  # out there as well
    beside |= {name for name in parts() if not name.startswith("@jupyterlab/")}
    beside |= {"@jupyterlab/apputils-extension:announcements"}
    extensions = {id.partition(":")[0] for id in known}
    assert [part for part in parts() if part not in {*known, *extensions, *beside}] == []


def test_a_learner_sees_the_page_and_nothing_of_the_host(unit: Page) -> None:
    """No menu, file list, side bar, status bar, tab, cell mark, and no word of theirs."""
    for part in (".jp-MenuBar", ".lm-MenuBar", ".jp-DirListing", ".jp-SideBar", "#jp-bottom-panel",
                 "#jp-top-panel", "#jp-menu-panel", ".jp-InputPrompt", ".jp-OutputPrompt",
                 ".lm-DockPanel-tabBar", ".jp-Toolbar", ".jp-cell-toolbar"):  # fmt: skip
        assert [each for each in unit.locator(part).all() if each.is_visible()] == [], part
    said = unit.evaluate("document.body.innerText")
    words = r"\b(File|Edit|View|Kernel|Tabs|Settings|Help|Python|Mode|Launcher|JupyterLab)\b|ipynb"
    assert re.findall(words, said) == []
    assert "panel" not in unit.evaluate("document.body.innerText")


def test_a_click_or_two_anywhere_changes_nothing(unit: Page) -> None:
    """By hand on a heading, and on every part of the page that is no control."""
    before = state(unit)
    unit.get_by_role("heading", name="A unit").dblclick()
    assert unit.evaluate(EVERYWHERE) > 5
    assert state(unit) == before
    assert before["editors"] == before["windows"] == 0
    assert before["mode"] == "command"


def test_no_key_of_the_host_acts_on_the_page(unit: Page) -> None:
    """Cells are not added, moved or cut, no kernel is asked about, nothing opens."""
    before = state(unit)
    unit.get_by_role("heading", name="A unit").click()
    for key in KEYS:
        unit.keyboard.press(key)
    unit.wait_for_timeout(500)
    assert state(unit) == before


def test_a_page_is_never_unsaved_and_leaving_it_asks_nothing(
    unit: Page, visitor: BrowserContext, site: Site
) -> None:
    """Run, clicked, typed at and closed: the browser does not ask."""
    page = open_page(visitor, site, f"{UNIT}/{UNIT}.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.get_by_role("heading", name="A unit").dblclick()
    for key in KEYS:
        page.keyboard.press(key)
    page.evaluate("jupyterapp.shell.currentWidget.content.model.dirty = true")
    assert not state(page)["dirty"]
    page.reload()
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    assert asked == []
    page.close()


def test_a_page_that_another_program_changed_asks_nothing(unit: Page, site: Site) -> None:
    """Nothing is saved over it, by key or by handing in."""
    file = site.folder / UNIT / f"{UNIT}.ipynb"
    changed = json.loads(file.read_text(encoding="utf-8")) | {"nbformat_minor": 4}
    file.write_text(json.dumps(changed), encoding="utf-8")
    unit.get_by_role("heading", name="A unit").click()
    unit.keyboard.press("Control+s")
    unit.keyboard.press("Alt+Shift+H")
    expect(unit.get_by_role("dialog", name="Handed in")).to_be_visible(timeout=SLOW_MS)
    unit.keyboard.press("Escape")
    expect(unit.get_by_role("dialog")).to_have_count(0)
    assert json.loads(file.read_text(encoding="utf-8")) == changed


def test_a_kernel_that_dies_opens_no_dialog(unit: Page, site: Site) -> None:
    """The page's own line says what is safe and what happens next."""
    assert unit.evaluate("typeof jupyterapp.shell.currentWidget._onSessionStatusChanged") == (
        "function"  # JupyterLab's own name for what opens it, which page/lock.js takes away
    )
    os.kill(site.runs()[-1], signal.SIGKILL)
    expect(status(unit)).to_contain_text("starts again by itself", timeout=SLOW_MS)
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert state(unit)["windows"] == 0


@pytest.mark.parametrize("height", [500, 900])
def test_a_page_ends_where_its_words_end(unit: Page, height: int) -> None:
    """No blank screen below the last button."""
    unit.set_viewport_size({"width": 1280, "height": height})
    blank = unit.evaluate(BLANK)
    assert 0 <= blank < 100


def test_back_and_forward_and_a_new_start_show_what_the_address_says(
    visitor: BrowserContext, site: Site
) -> None:
    """The browser's own keys work as anywhere: each page has an address of its own."""
    page = open_page(visitor, site, "start_here.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    where = "location.pathname + location.search"
    assert page.evaluate(where) == "/doc/tree/start_here.ipynb"
    page.get_by_role("link", name="the unit").click()
    shown = page.get_by_role("heading", name="A unit")
    expect(shown).to_be_visible(timeout=SLOW_MS)
    assert page.evaluate(where) == f"/doc/tree/{UNIT}/{UNIT}.ipynb"
    page.go_back()
    expect(page.get_by_role("heading", name="Start here")).to_be_visible()
    expect(shown).to_be_hidden()
    assert page.evaluate(where) == "/doc/tree/start_here.ipynb"
    page.go_forward()
    expect(shown).to_be_visible()
    page.reload()
    expect(shown).to_be_visible(timeout=SLOW_MS)
    assert page.evaluate(where) == f"/doc/tree/{UNIT}/{UNIT}.ipynb"
    page.close()


def test_the_workshop_is_the_whole_of_jupyterlab(visitor: BrowserContext, site: Site) -> None:
    """On the same server, for educators and developers: menu, files, code."""
    page = open_workshop(visitor, site, "start_here.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    expect(page.locator(".lm-MenuBar").first).to_be_visible()
    expect(page.locator(".jp-DirListing")).to_be_visible()
    expect(bar(page).get_by_role("button", name="Show code")).to_be_visible()
    assert len(page.evaluate(RUNS)) > 150
    page.close()


def test_of_two_windows_the_newer_counts_and_the_older_says_so(
    unit: Page, visitor: BrowserContext, site: Site
) -> None:
    """At once, in words, and without a control that would take an answer; one button changes it."""
    newer = open_page(visitor, site, f"{UNIT}/{UNIT}.ipynb")
    expect(status(newer)).to_have_text("Ready", timeout=SLOW_MS)
    expect(status(unit)).to_contain_text("open in another window")
    control = unit.get_by_role("button", name="Answer", exact=True)
    assert not control.evaluate(FOCUS)
    expect(bar(unit).get_by_role("button", name="Save and hand in")).to_be_hidden()
    unit.keyboard.press("Alt+Shift+H")
    expect(unit.get_by_role("dialog")).to_have_count(0)
    before = len(site.runs())
    bar(unit).get_by_role("button", name="Go on here").press("Enter")
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert control.evaluate(FOCUS)
    expect(status(newer)).to_contain_text("open in another window")
    assert len(site.runs()) == before + 1
    os.kill(site.runs()[-1], signal.SIGKILL)  # the older one leaves the new kernel to the newer
    expect(status(unit)).to_contain_text("starts again by itself", timeout=SLOW_MS)
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert len(site.runs()) == before + 2
    expect(status(newer)).to_contain_text("open in another window")
    newer.close()


def test_when_nothing_replies_a_line_says_what_is_safe_and_goes_away(
    unit: Page, visitor: BrowserContext
) -> None:
    """No dialog; offline is called offline; once it is back, the page goes on by itself."""
    line = unit.locator(".tpiece-connection")
    expect(line).to_be_hidden()
    visitor.set_offline(True)
    expect(line).to_contain_text(
        "You are offline. Answers marked “Saved” are kept", timeout=SLOW_MS
    )
    visitor.set_offline(False)
    expect(line).to_have_text("The workbook replies again.", timeout=SLOW_MS)
    expect(line).to_be_hidden(timeout=SLOW_MS)
    unit.route("**/api/status*", lambda route: route.abort())
    unit.evaluate("document.dispatchEvent(new Event('tpiece-no-reply'))")
    expect(line).to_contain_text("The workbook does not reply. Answers marked “Saved” are kept")
    unit.unroute("**/api/status*")
    expect(line).to_have_text("The workbook replies again.", timeout=SLOW_MS)
    assert unit.get_by_role("dialog").count() == 0
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)


SEEN = """
globalThis.shift = 0;
globalThis.said = new Set();
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) if (!entry.hadRecentInput) globalThis.shift += entry.value;
}).observe({ type: "layout-shift", buffered: true });
new MutationObserver(() => {
  const status = document.querySelector(".tpiece-status");
  if (!status?.textContent) return;
  const hidden = document.querySelector(".tpiece-opening") ? " (nothing to see)" : "";
  said.add(status.textContent === "Ready" ? `Ready${hidden}` : status.textContent);
}).observe(document, { childList: true, characterData: true, subtree: true });
"""


def test_a_page_that_opens_says_no_wrong_word_and_nothing_jumps(
    visitor: BrowserContext, site: Site
) -> None:
    """In a kernel of its own; the share of the window that moves is the browser's own measure."""
    visitor.add_init_script(SEEN)
    page = open_page(visitor, site, f"{UNIT}/{UNIT}.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    expect(page.locator(".tpiece-opening")).to_have_count(0)
    assert set(page.evaluate("[...said]")) == {"Preparing the page…", "Ready"}
    assert page.evaluate("shift") < 0.1
