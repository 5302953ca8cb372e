"""The course's home in a real browser: what is next, by name, by keyboard, at every size."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.control_page import axe
from tests.browser.lab_site import (
    LEARNER,
    SLOW_MS,
    TOKEN,
    Site,
    started,
    status,
    write_page,
)
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import digest
from workbook.course.laying import lay
from workbook.course.result import Place, Result, own

UNITS = ("1_setup_order", "3_pressure_targets")
COURSE = (
    'id = "toy"\ntitle = "Before the skills lab"\n'
    'units = ["1_setup_order", "3_pressure_targets"]\ndue = "2030-12-01T18:00+01:00"\n'
)
CODE = ("code", "print('it ran')")
SERIOUS = ("serious", "critical")
# The words of an element that stand in two lines.
BROKEN_WORDS = """(node) => {
  const walk = document.createTreeWalker(node, NodeFilter.SHOW_TEXT), broken = [];
  while (walk.nextNode())
    for (const { 0: word, index } of walk.currentNode.data.matchAll(/\\S+/g)) {
      const range = document.createRange();
      range.setStart(walk.currentNode, index);
      range.setEnd(walk.currentNode, index + word.length);
      const lines = new Set([...range.getClientRects()].map(({ top }) => Math.round(top)));
      if (lines.size > 1) broken.push(word);
    }
  return broken;
}"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start a course of two units: the first lesson done and its exercise handed in and marked."""
    top = tmp_path_factory.mktemp("home")
    lessons, out = top / "lessons", top / "exchange" / "toy" / "outbound"
    pages = {
        "start_here": "Start here", "1_setup_order": "Lesson 1: a safe order",
        "2_bench": "The bench", "3_pressure_targets": "Lesson 3: pressures for this baby",
    }  # fmt: skip
    for name, title in pages.items():
        about = {"unit": name, "kind": "lesson", "minutes": 12}
        write_page(lessons / f"{name}.ipynb", [("markdown", f"# {title}"), CODE], about)
    for unit in UNITS:
        about = {"unit": unit, "kind": "exercise", "minutes": 10}
        page = [("markdown", f"# Exercise {unit[0]}: {unit[2:7]}"), CODE]
        write_page(out / unit / f"{unit}.ipynb", page, about)
    (top / "exchange" / "toy" / "inbound").mkdir()
    with started(top, COURSE) as site:
        hand_in(site.folder)
        yield site


def hand_in(folder: Path) -> None:
    """Answer the first unit, and keep what nbgrader keeps of a hand-in; the result is there."""
    for page in (folder / "1_setup_order.ipynb", folder / "1_setup_order" / "1_setup_order.ipynb"):
        file = AnswersFile(answers_path(page), "toy", page.stem, LEARNER, "aha-2025")
        file.asks("q1", "Order of steps")
        file.append("q1", 1)
    sent = folder / ".tpiece" / "handed_in" / "toy" / f"{LEARNER}+1_setup_order+2026-11-20 10:00:00"
    shutil.copytree(folder / "1_setup_order", sent)
    (sent / "timestamp.txt").write_text("2026-11-20 10:00:00 UTC", encoding="utf-8")
    read = (Place("1_setup_order.ipynb", "A safe order"),)
    marked = Result(
        LEARNER, "toy", "1_setup_order", "Exercise 1: a safe set-up", "en",
        digest(sent / "1_setup_order.answers.jsonl"), 1, "2026-11-20T10:00:00+00:00",
        "not-yet", 3.0, 4.0, "Not ready yet.", "Read lesson 1.", read, (), (),
    )  # fmt: skip
    lay(json.dumps(marked.told()).encode(), own(folder, "1_setup_order"))


@pytest.fixture
def page(chromium: Browser, site: Site) -> Iterator[Page]:
    """Yield the home in a window of its own; no page may have an error."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(f"{site.url}/doc?token={TOKEN}")
    page.locator(".tpiece-way").wait_for(timeout=SLOW_MS)
    yield page
    context.close()
    assert errors == []


def test_the_home_says_what_is_next_and_how_far_the_rest_has_come(page: Page) -> None:
    """Names and times; no name of a file, and no word of the host."""
    said = page.locator(".tpiece-home-page").inner_text()
    for text in (
        "Before the skills lab", LEARNER, "Due on Sunday 1 December at", "Next, about 12 minutes",
        "all answered", "handed in on Friday 20 November at", "See the result", "Not yet",
        "3 of 4 points", "Read lesson 1.", "not begun",
    ):  # fmt: skip
        assert text in said, said
    assert not [word for word in ("ipynb", "1_setup", "Jupyter", "Kernel") if word in said]
    assert page.title() == "Before the skills lab"
    now = page.locator("[aria-current=step]")
    expect(now.get_by_role("heading")).to_have_text("The bench")
    names = page.locator(".tpiece-way h3").all_inner_texts()
    assert names == ["A safe order", "The bench", "Pressures for this baby"]


def test_the_first_key_press_leads_to_what_is_next_and_back_again(page: Page, site: Site) -> None:
    """Tab, Enter: the page; at its end and its top, the way home."""
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Begin: The bench")).to_be_focused()
    page.keyboard.press("Enter")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    assert page.title() == "The bench · Before the skills lab"
    home = page.get_by_role("link", name="All lessons and exercises")
    expect(home).to_have_count(2)
    home.last.press("Enter")
    expect(page.locator(".tpiece-way")).to_be_visible()
    assert page.evaluate("location.pathname") == "/doc"


def test_a_lesson_leads_on_to_its_exercise(page: Page) -> None:
    """At its end stands the next page by name."""
    page.get_by_role("link", name="Lesson 3: pressures for this baby").click()
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    on = page.get_by_role("link", name="Exercise 3: press")
    on.focus(timeout=SLOW_MS)
    expect(on).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Exercise 3: press")).to_be_visible(timeout=SLOW_MS)


def test_what_came_back_is_read_where_the_learner_is(page: Page) -> None:
    """One press from the home, at an address of its own; Back goes back; loading anew stays."""
    page.get_by_role("link", name="See the result").press("Enter")
    heading = page.get_by_role("heading", name="Exercise 1: a safe set-up")
    expect(heading).to_be_visible(timeout=SLOW_MS)
    assert page.evaluate("location.pathname").endswith("/1_setup_order/result")
    expect(page.get_by_role("link", name="Lesson 1: a safe order")).to_be_visible()
    page.reload()
    expect(heading).to_be_visible(timeout=SLOW_MS)
    page.get_by_role("link", name="All lessons and exercises").press("Enter")
    expect(page.locator(".tpiece-way")).to_be_visible()
    page.go_back()
    expect(heading).to_be_visible(timeout=SLOW_MS)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_home_and_page_are_accessible_with_all_that_is_around_them(
    chromium: Browser, site: Site, axe_source: str, scheme: str
) -> None:
    """The checker finds nothing serious on the whole page, the host's parts included."""
    context = chromium.new_context(color_scheme=scheme, viewport={"width": 820, "height": 900})
    page = context.new_page()
    page.goto(f"{site.url}/doc?token={TOKEN}")
    page.locator(".tpiece-way").wait_for(timeout=SLOW_MS)
    page.wait_for_timeout(300)
    assert axe(page, axe_source) == []
    paper = page.evaluate("getComputedStyle(document.querySelector('.tpiece-home-page'))"
                          ".backgroundColor")  # fmt: skip
    assert (paper == "rgb(20, 25, 28)") is (scheme == "dark")
    page.get_by_role("link", name="Exercise 3: press").click()
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    assert axe(page, axe_source) == []
    context.close()


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_nothing_is_wider_than_the_window(chromium: Browser, site: Site, width: int) -> None:
    """Home and page keep to the width there is, and every target is large enough."""
    context = chromium.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(f"{site.url}/doc?token={TOKEN}")
    page.locator(".tpiece-way").wait_for(timeout=SLOW_MS)
    wide = "(node) => node.scrollWidth - node.clientWidth"
    assert page.locator(".tpiece-home-page").evaluate(wide) == 0
    assert page.locator("html").evaluate(wide) == 0
    for link in page.locator(".tpiece-home-page a").all():
        box = link.bounding_box()
        assert box
        assert box["height"] >= 24
    context.close()


def test_no_title_breaks_inside_a_word_on_a_telephone(chromium: Browser, site: Site) -> None:
    """A word with a hyphen stands in one line; the words themselves stay as they are."""
    course = "A safe set-up of a T-piece for set-up teams and set-up days"
    settings = site.folder / "course.toml"
    before = settings.read_text(encoding="utf-8")
    settings.write_text(before.replace("Before the skills lab", course), encoding="utf-8")
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    try:
        page.goto(f"{site.url}/doc?token={TOKEN}")
        title = page.locator(".tpiece-home-page h1")
        expect(title).to_have_text(course, timeout=SLOW_MS)
        for width in range(320, 400, 7):  # some of them would break it
            page.set_viewport_size({"width": width, "height": 844})
            assert title.evaluate(BROKEN_WORDS) == []
    finally:
        settings.write_text(before, encoding="utf-8")
        context.close()
