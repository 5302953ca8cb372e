"""A sentence with a number in it: by mouse, touch, keys and typing; the picture follows it."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.bench_page import needle
from tests.browser.control_page import axe, faultless, open_live
from workbook.display.scene import Scenes
from workbook.display.sentences import MOVING
from workbook.lesson.page import texts
from workbook.lesson.play import baby_of
from workbook.physics import steady_reading
from workbook.rules import rulebook
from workbook.widgets.sentence import Sentence

BOOK, DATA = rulebook("aha-2025"), texts("2_bench")
NUMBERS = Scenes(DATA["numbers"], DATA["does"], BOOK).numbers
SIZES = [(1280, 720), (820, 1180), (390, 844), (844, 390)]
SAYS = {
    "flow": "Turn the flow to {drag}: {held} with the hole covered, {released} with it open.",
    "leak": "When {drag} leaks, the needle reaches {held} and falls to {released}: {taken}.",
    "relief": "Turn the relief to {drag}: the needle shows {held}.",
}
PLAYS = {"flow": {}, "leak": {"outlet": "lung"}, "relief": {"hand": "held"}}


def sentence(kind: str, *, open: bool = True) -> Sentence:
    moving = MOVING[kind](NUMBERS, BOOK)
    return Sentence(SAYS[kind], kind, moving, **baby_of(BOOK), **PLAYS[kind], open=open)


@pytest.fixture
def told(chromium: Browser):
    """Yield what opens a page with one sentence; no page may have an error."""
    with faultless() as (pages, errors):

        def _open(kind: str, *, open: bool = True, **context: Any) -> Page:
            made = sentence(kind, open=open)
            pages.append(open_live(chromium, made, errors, "laws", **context))
            return pages[-1]

        yield _open


def value(page: Page) -> Locator:
    return page.get_by_role("spinbutton")


def says(page: Page) -> str:
    found: str = page.locator(".tpiece-sentence-says").evaluate(
        """(line) => [...line.childNodes]
            .map((node) => node.querySelector?.("input")?.value ?? node.textContent).join("")"""
    )
    return found


def expected(kind: str, at: float) -> dict[str, str]:
    return MOVING[kind](NUMBERS, BOOK).answers(at)


def test_it_reads_as_a_sentence_and_its_number_has_name_value_and_range(told):
    """A screen reader meets words, a spin button with its unit, and words again."""
    page = told("flow")
    number = value(page)
    expect(number).to_have_accessible_name("flow")
    assert number.get_attribute("aria-valuetext") == "8 L/min"
    assert (number.get_attribute("aria-valuemin"), number.get_attribute("aria-valuemax")) == (
        "5", "15",
    )  # fmt: skip
    expect(number).to_have_accessible_description("Drag it sideways, use the arrow keys, or type.")
    said = expected("flow", 8)
    assert said["held"] in says(page)
    assert said["released"] in says(page)
    expect(page.get_by_role("group", name="flow")).to_be_visible()


def test_arrow_keys_move_it_and_words_and_needle_follow_the_model(told):
    """Up and right for more, down and left for less, ends by Home and End."""
    page = told("flow")
    value(page).focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowRight")
    expect(value(page)).to_have_attribute("aria-valuetext", "9 L/min")
    expect(page.locator(".tpiece-sentence-says")).to_contain_text(expected("flow", 9)["released"])
    page.keyboard.press("End")
    expect(page.locator(".tpiece-sentence-says")).to_contain_text(expected("flow", 15)["released"])
    page.get_by_role("button", name="Stop").click()
    circuit = MOVING["flow"](NUMBERS, BOOK).standing(15).circuit
    assert needle(page) == pytest.approx(steady_reading(circuit, held=False), abs=0.5)
    page.keyboard.press("Tab")
    value(page).focus()
    for key in ("Home", "ArrowDown", "ArrowLeft"):
        page.keyboard.press(key)
    expect(value(page)).to_have_attribute("aria-valuetext", "5 L/min")
    expect(page.get_by_role("button", name="flow: less")).to_have_attribute("aria-disabled", "true")


def test_a_number_is_typed_with_either_decimal_sign_and_nonsense_is_told(told):
    """Enter takes the nearest value; what is no number in the range leaves it where it was."""
    page = told("flow")
    value(page).click()
    page.keyboard.type("9,6")
    page.keyboard.press("Enter")
    expect(value(page)).to_have_attribute("aria-valuetext", "9.5 L/min")
    for wrong in ("99", "x"):
        value(page).click()
        page.keyboard.press("Control+a")
        page.keyboard.type(wrong)
        page.keyboard.press("Enter")
        expect(value(page)).to_have_attribute("aria-invalid", "true")
        expect(value(page)).to_have_attribute("aria-valuetext", "9.5 L/min")
        expect(page.get_by_role("status").last).to_have_text("Type a number from 5 to 15.")


def test_it_is_dragged_sideways_by_the_mouse(told):
    """To the right for more; a click alone moves nothing and lets one type."""
    page = told("leak")
    box = value(page).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.click(x, y)
    expect(value(page)).to_be_focused()
    expect(value(page)).to_have_attribute("aria-valuetext", "0 %")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 70, y, steps=8)
    page.mouse.up()
    moved = float(value(page).get_attribute("aria-valuenow"))
    assert moved >= 30
    expect(page.locator(".tpiece-sentence-says")).to_contain_text(expected("leak", moved)["held"])


def test_it_is_dragged_and_pressed_by_a_finger(told):
    """A finger sideways moves it; each button is as large as a fingertip."""
    page = told("leak", has_touch=True, viewport={"width": 390, "height": 844})
    more = page.get_by_role("button", name="leak: more")
    for target in (more, value(page)):
        box = target.bounding_box()
        assert min(box["width"], box["height"]) >= 44
    more.tap()
    expect(value(page)).to_have_attribute("aria-valuetext", "10 %")
    box = value(page).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    cdp = page.context.new_cdp_session(page)
    points = lambda far: [{"x": x + far, "y": y}]  # noqa: E731
    cdp.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points(0)})
    for far in range(0, 80, 8):
        cdp.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points(far)})
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert float(value(page).get_attribute("aria-valuenow")) >= 40


def test_the_needle_comes_to_rest_where_the_words_say(told):
    """Hole kept covered: sentence and picture agree at every place of the number."""
    page = told("relief")
    value(page).focus()
    for key in ("Home", "PageUp", "PageUp", "End"):
        page.keyboard.press(key)
        at = float(value(page).get_attribute("aria-valuenow"))
        said = expected("relief", at)["held"]
        expect(page.locator(".tpiece-sentence-says")).to_contain_text(said)
        page.wait_for_timeout(400)
        assert needle(page) == pytest.approx(float(said.split()[0]), abs=0.5)


def test_nothing_moves_by_itself_and_what_moves_can_be_stopped(told):
    """At rest until somebody moves the number or asks; then until it is stopped."""
    page = told("leak")
    stand = lambda: page.locator(".tpiece-bench-needle").get_attribute("data-value")  # noqa: E731
    first = stand()
    page.wait_for_timeout(500)
    assert stand() == first
    page.get_by_role("button", name="Watch").click()
    page.wait_for_function(
        "(was) => document.querySelector('.tpiece-bench-needle').dataset.value !== was", arg=first
    )
    page.get_by_role("button", name="Stop").click()
    stopped = stand()
    page.wait_for_timeout(400)
    assert stand() == stopped


def test_with_reduced_motion_one_moment_stands_for_all(told):
    """The end of an inflation is drawn at once, no frame follows, nothing asks to be watched."""
    page = told("leak", reduced_motion="reduce")
    expect(page.get_by_role("button", name="Watch")).to_be_hidden()
    value(page).focus()
    page.keyboard.press("End")
    said = expected("leak", 90)
    expect(page.locator(".tpiece-sentence-says")).to_contain_text(said["held"])
    stood = needle(page)
    assert stood == pytest.approx(float(said["held"].split()[0]), abs=1)
    page.wait_for_timeout(300)
    assert needle(page) == stood


def test_a_busy_kernel_leaves_the_old_words_and_says_so(told):
    """The number moves at once; what follows it is marked as old until it comes."""
    page = told("flow")
    page.evaluate("kernel.mode = 'busy'")
    value(page).focus()
    page.keyboard.press("ArrowUp")
    expect(value(page)).to_have_attribute("aria-valuetext", "8.5 L/min")
    expect(page.locator(".tpiece-sentence-says")).to_have_attribute("aria-busy", "true")
    expect(page.get_by_text("engine is busy")).to_be_visible()
    page.evaluate("kernel.mode = 'ok'")
    expect(page.locator(".tpiece-sentence-says")).to_contain_text(expected("flow", 8.5)["released"])
    expect(page.get_by_text("engine is busy")).to_have_count(0)


def test_a_reader_hears_the_whole_sentence_once_the_number_rests(told):
    """Not at every step of a drag: once, with the number in it."""
    page = told("flow")
    value(page).focus()
    for _ in range(4):
        page.keyboard.press("ArrowUp")
    said = expected("flow", 10)
    whole = SAYS["flow"].format(drag="10 L/min", **said)
    expect(page.get_by_role("status").last).to_have_text(whole)


def test_before_the_prediction_nothing_is_there(told):
    """A sentence that is not open yet draws nothing; opened, it does."""
    page = told("flow", open=False)
    expect(page.locator(".tpiece")).to_have_count(0)
    first = sentence("flow").first
    page.evaluate("(first) => model.set('first', first)", first)
    expect(value(page)).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_number_and_picture_are_in_one_window_and_no_fault_is_found(told, axe_source, size, scheme):
    """At every size the needle and the number are seen at once, and nothing runs over its box."""
    page = told("leak", viewport={"width": size[0], "height": size[1]}, color_scheme=scheme)
    page.evaluate("document.querySelector('h1').remove()")
    page.evaluate("document.querySelector('.tpiece').scrollIntoView({ block: 'start' })")
    for part in (value(page), page.locator(".tpiece-bench-gauge")):
        box = part.bounding_box()
        assert box["x"] >= 0
        assert box["y"] >= 0
        assert box["x"] + box["width"] <= size[0]
        assert box["y"] + box["height"] <= size[1]
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert axe(page, axe_source, ".tpiece") == []
