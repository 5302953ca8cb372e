"""The page on the questions in a browser: accessible, narrow, printed, without scripts."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from graders.items.gains import Gain
from tests.browser.steps import drawn, grave
from tests.test_items_page import STUDY, UNIT, group, html_of, scores_of


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write the page of sixty learners, nine of whom tried again, and return its address."""
    gains = [Gain(f"l{k:02d}", UNIT, 0.5, 0.4 + k / 20, 2, "2026-05-04 10:00:00 UTC")
             for k in range(9)]  # fmt: skip
    gains.append(Gain("l09", UNIT, 1.0, 1.0, 2))
    path = tmp_path_factory.mktemp("items") / "items.html"
    path.write_text(html_of(scores_of(*group(60)), studies=[STUDY], gains=gains), encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_nothing_serious_and_nothing_sideways(
    tab: Page, address: str, axe_source: str, scheme: Any, width: int
) -> None:
    """The checker finds nothing serious, and only tables and the picture scroll sideways."""
    tab.emulate_media(color_scheme=scheme)
    tab.set_viewport_size({"width": width, "height": 900})
    tab.goto(address)
    assert grave(tab, axe_source) == []
    assert tab.evaluate("document.documentElement.scrollWidth") == width


def test_the_picture_has_a_name_and_is_reached_by_keyboard(tab: Page, address: str) -> None:
    """What it shows is its name in words, and on a phone the arrow key moves it."""
    tab.set_viewport_size({"width": 360, "height": 800})
    tab.goto(address)
    says = tab.get_by_role("img").get_attribute("aria-label")
    assert says is not None
    assert says.startswith("The fewest points are earned in")
    assert tab.get_by_text(says).first.is_visible()
    region = tab.get_by_role("region", name=f"Picture of the questions of {UNIT}")
    drawn(tab)
    region.focus()
    tab.keyboard.press("ArrowRight")
    tab.wait_for_function("e => e.scrollLeft > 0", arg=region.element_handle())


def test_no_dot_lies_outside_the_picture(tab: Page, address: str) -> None:
    """Every figure and interval is drawn within its frame, and no two words overlap."""
    tab.goto(address)
    box = tab.locator("svg.plot").bounding_box()
    assert box is not None
    parts = tab.locator("svg.plot :is(circle, path, line, text)")
    boxes = [each.bounding_box() for each in parts.all()]
    assert len(boxes) > 40
    for each in boxes:
        assert each is not None
        assert each["x"] >= box["x"] - 1
        assert each["x"] + each["width"] <= box["x"] + box["width"] + 1
    apart = """() => { const t = [...document.querySelectorAll('svg.plot text')]
        .map(e => e.getBoundingClientRect());
        return t.some((a, i) => t.slice(i + 1).some(b => a.left < b.right && b.left < a.right
            && a.top + 2 < b.bottom - 2 && b.top + 2 < a.bottom - 2)); }"""
    assert tab.evaluate(apart) is False


def test_tables_sort_by_keyboard_and_what_is_missing_comes_last(tab: Page, address: str) -> None:
    """Enter on a header sorts up, Enter again down; the header says which."""
    tab.goto(address)
    head = tab.get_by_role("columnheader", name="With the rest").first
    head.get_by_role("button").focus()
    column = "e => [...e.closest('table').tBodies[0].rows].map(r => r.cells[2].dataset.value)"
    for said in ("ascending", "descending"):
        tab.keyboard.press("Enter")
        assert head.get_attribute("aria-sort") == said
        values = [float(v) for v in head.evaluate(column)]
        assert values == sorted(values, reverse=said == "descending")
        assert len(values) == len(set(values)) > 5
    part = tab.get_by_role("columnheader", name="Part of what was left")
    part.get_by_role("button").focus()
    for _ in range(2):
        tab.keyboard.press("Enter")
        last = part.evaluate("e => [...e.closest('table').tBodies[0].rows].at(-1).textContent")
        assert "Nothing was left" in last


def test_it_asks_the_network_for_nothing_and_needs_no_script(
    chromium: Browser, address: str
) -> None:
    """With scripts switched off all is there, and the page itself is the only request."""
    context = chromium.new_context(java_script_enabled=False)
    tab, asked = context.new_page(), []
    tab.on("request", lambda request: asked.append(request.url))
    tab.goto(address)
    assert tab.get_by_role("heading", name="Before and after").is_visible()
    assert asked == [address]
    context.close()


def test_paper_is_white_and_no_table_is_cut_off(tab: Page, address: str) -> None:
    """Printed from a dark screen on either paper."""
    tab.emulate_media(media="print", color_scheme="dark")
    tab.goto(address)
    white = "() => getComputedStyle(document.documentElement).backgroundColor"
    assert tab.evaluate(white) == "rgb(255, 255, 255)"
    tab.set_viewport_size({"width": 690, "height": 900})
    cut = "() => [...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > 690).length"
    assert tab.evaluate(cut) == 0
    for paper in ("A4", "Letter"):
        assert tab.pdf(format=paper).count(b"/Type /Page\n") in range(3, 10)
