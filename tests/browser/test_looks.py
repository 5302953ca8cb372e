"""The bench and its kin in a reader's own colours, in print and at twice the size."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.bench_page import bench, stands
from tests.browser.control_page import axe, faultless, open_live
from tests.browser.face_page import LAID, face
from tests.browser.test_bench_compare import QUESTION, RUN, TOLD
from tests.browser.test_ghost import asked
from tests.browser.test_sentence import sentence
from tests.browser.test_sketch import SAVED, sketch
from tests.browser.trial_page import trial
from workbook.widgets import BenchControl
from workbook.widgets.bench import ComparedBench, bench_of

AT = "2026-05-04T10:00:00Z"


def compared() -> BenchControl:
    saved = {"value": RUN, "number": 1, "at": AT}
    made = ComparedBench("run", "Raise PIP.", **bench_of(QUESTION.shows), saved=saved)
    made.feedback = TOLD
    return made


def needle() -> Any:
    made = asked(saved={"value": {"text": "20", "unit": "cmH2O"}, "number": 1, "at": AT})
    made.feedback = {"heading": "It shows 25.", "lines": [], "needle": 25.0}
    return made


MADE = {
    "bench": lambda: bench(bench=stands("lung", leak=1), chest={"low": 4, "high": 8}),
    "compare": compared,
    "sentence": lambda: sentence("leak"),
    "needle": needle,
    "face": lambda: face(saved=LAID, live="fit"),
    "trial": trial,
    "sketch": lambda: sketch(saved=SAVED, told=True),
}


@pytest.fixture
def look(chromium):
    """Yield what opens a page with one of them; each page is closed, and none may have an error."""
    with faultless() as (pages, errors):

        def _look(name: str, **context: Any) -> Page:
            pages.append(open_live(chromium, MADE[name](), errors, "laws", "place", **context))
            drawn = "document.querySelector('.tpiece svg')?.childElementCount > 0"
            pages[-1].wait_for_function(drawn)
            return pages[-1]

        yield _look


# Every colour in which something of a drawing is painted, and every one that a reader chose.
PAINTED = """() => {
  const found = {};
  for (const node of document.querySelectorAll(".tpiece svg *")) {
    if (!node.getClientRects().length) continue;
    const { fill, stroke, fillOpacity, strokeOpacity } = getComputedStyle(node);
    const paints = [[fill, fillOpacity], [stroke, strokeOpacity]];
    for (const [paint, seen] of paints) if (paint !== "none" && Number(seen)) found[paint] ??= node.outerHTML.slice(0, 120);
  }
  return found;
}"""  # noqa: E501
CHOSEN = """() => ["Canvas", "CanvasText", "GrayText", "Highlight", "HighlightText", "ButtonText"].map((name) => {
  const probe = document.body.appendChild(document.createElement("i"));
  probe.style.cssText = `forced-color-adjust: none; color: ${name}`;
  const { color } = getComputedStyle(probe);
  probe.remove();
  return color;
})"""  # noqa: E501


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", MADE)
def test_drawings_keep_to_the_colours_a_reader_chose(look, name, scheme):
    """In forced colours nothing is painted in a colour of ours, whatever scheme lies behind."""
    page = look(name, forced_colors="active", color_scheme=scheme)
    painted, chosen = page.evaluate(PAINTED), set(page.evaluate(CHOSEN))
    clear = re.compile(r"rgba\(.*, 0\)")
    ours = {c: node for c, node in painted.items() if c not in chosen and not clear.match(c)}
    assert painted
    assert ours == {}


@pytest.mark.parametrize("name", MADE)
def test_nothing_stands_in_anybodys_way_in_forced_colours(look, axe_source, name):
    """Axe finds nothing."""
    assert axe(look(name, forced_colors="active"), axe_source) == []


# The darkest and lightest of the words and lines that are printed, by their luminance.
INKS = """() => {
  const shade = (colour) => {
    const canvas = Object.assign(document.createElement("canvas"), { width: 1, height: 1 });
    const pen = canvas.getContext("2d");
    pen.fillStyle = colour;
    pen.fillRect(0, 0, 1, 1);
    const [r, g, b] = pen.getImageData(0, 0, 1, 1).data;
    return (0.2126 * r + 0.7152 * g + 0.0722 * b) / 255;
  };
  const told = [...document.querySelectorAll(".tpiece, .tpiece *")].filter((node) => {
    const own = [...node.childNodes].some((each) => each.nodeType === 3 && each.data.trim());
    return own && node.getClientRects().length && getComputedStyle(node).visibility === "visible";
  });
  return told.map((node) => {
    const style = getComputedStyle(node);
    return [shade(node.closest("svg") ? style.fill : style.color), node.textContent.slice(0, 40), node.getAttribute("class")];
  });
}"""  # noqa: E501


@pytest.mark.parametrize("name", MADE)
def test_print_is_dark_on_white_whatever_the_screen(look, name):
    """A printer leaves out the ground: light words of a dark screen would be lost on paper."""
    page = look(name, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    light = [row for row in page.evaluate(INKS) if row[0] > 0.45 and "number" not in str(row[2])]
    assert light == []


@pytest.mark.parametrize("name", MADE)
def test_print_shows_the_drawing_whole_and_no_buttons(look, name):
    """What only a hand needs is left out; the drawing is as wide as the paper and no wider."""
    page = look(name, viewport={"width": 718, "height": 1000})  # A4 between its margins
    page.emulate_media(media="print")
    assert page.locator(".tpiece .tpiece-key:visible").count() == 0
    drawing = page.locator(".tpiece svg:visible").first.bounding_box()
    assert drawing["height"] > 100
    assert page.evaluate("document.documentElement.scrollWidth") <= 718


@pytest.mark.parametrize(("width", "height"), [(640, 360), (512, 384), (410, 590), (320, 640)])
@pytest.mark.parametrize("name", MADE)
def test_at_200_percent_nothing_is_cut_off(look, name, width, height):
    """No scrolling sideways, and no word or key that lies outside the page."""
    page = look(name, viewport={"width": width, "height": height})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = page.evaluate(
        """() => [...document.querySelectorAll(".tpiece :is(button, input, p, text, li, summary)")]
            .filter((node) => {
                const { left, right, width } = node.getBoundingClientRect();
                const unseen = node.closest(".tpiece-unseen, .tpiece-face-aloud");
                return width && !unseen && (left < -1 || right > innerWidth + 1);
            }).map((node) => node.outerHTML.slice(0, 120))"""
    )
    assert outside == []
