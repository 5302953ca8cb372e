"""A needle put where it will stand: by hand or by keys, the same answer as its typed number."""

from __future__ import annotations

import math
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import given
from workbook.cases import case, exercises
from workbook.cases.question import Kind
from workbook.lesson.unit import control
from workbook.physics.coefficients import GAUGE_TOP
from workbook.rules import rulebook
from workbook.widgets import Number

UNITS = ["cmH2O", "hPa", "kPa", "mmHg"]
TOP = GAUGE_TOP.value
SAVED = 30_000  # ms


def asked(**more: Any) -> Number:
    more = {"unit": "cmH2O", "units": UNITS, "gauge_top": TOP, "save": given, **more}
    return Number("n", "What does the gauge show?", **more)


def needle(page: Page) -> Locator:
    return page.get_by_role("slider", name="The needle as you expect it")


def points(page: Page, value: float, *, far: float = 0.6) -> tuple[float, float]:
    """Return where on the page a value stands on the gauge."""
    box = needle(page).locator("svg").bounding_box()
    angle = math.radians(-135 + 270 * value / TOP)
    reach = far * box["width"] / 2
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    return middle[0] + reach * math.sin(angle), middle[1] - reach * math.cos(angle)


def saved(page: Page) -> list[Any]:
    expect(page.get_by_role("status")).to_contain_text("Saved", timeout=SAVED)
    return kept(page)


def test_before_it_is_placed_it_points_at_no_number(show):
    """It hangs in the gap of the scale, says so, and nothing is saved."""
    page = show(asked())
    expect(needle(page)).to_have_attribute("aria-valuetext", "not placed yet")
    assert kept(page) == []


def test_dragged_to_a_number_it_is_the_same_answer_as_that_number_typed(show):
    """The stored answer holds a text and a unit, and nothing new."""
    page = show(asked())
    grip = page.locator(".tpiece-ghost-grip").bounding_box()
    page.mouse.move(grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2)
    page.mouse.down()
    for value in (2, 8, 16, 24):
        page.mouse.move(*points(page, value))
    page.mouse.up()
    expect(page.get_by_role("textbox")).to_have_value("24")
    assert saved(page) == [{"text": "24", "unit": "cmH2O"}]


def test_by_keys_it_goes_one_by_one_ten_by_ten_and_by_halves(show):
    """The keyboard does all that the hand does."""
    page = show(asked())
    needle(page).focus()
    for key in ("PageUp", "ArrowUp", "ArrowRight", "Shift+ArrowUp", "ArrowDown"):
        page.keyboard.press(key)
    expect(page.get_by_role("textbox")).to_have_value("11.5")
    expect(needle(page)).to_have_attribute("aria-valuetext", "11.5 cmH2O")
    page.keyboard.press("Home")
    assert saved(page)[-1] == {"text": "0", "unit": "cmH2O"}


def test_a_typed_number_moves_it_in_any_unit(show):
    """Typing stays a way of its own, a comma and another unit included."""
    page = show(asked())
    page.get_by_role("combobox").select_option("kPa")
    page.get_by_role("textbox").fill("1,5")
    assert float(needle(page).get_attribute("aria-valuenow")) == pytest.approx(15.3, abs=0.05)
    assert saved(page)[-1] == {"text": "1,5", "unit": "kPa"}
    page.mouse.click(*points(page, 20))
    expect(page.get_by_role("textbox")).to_have_value("1.96")
    expect(page.get_by_role("combobox")).to_have_value("kPa")
    page.get_by_role("textbox").fill("far")
    expect(needle(page)).to_have_attribute("aria-valuetext", "not placed yet")


def test_by_a_finger_it_is_tapped_to_its_place(show):
    """One tap on the scale is enough."""
    page = show(asked(), has_touch=True, viewport={"width": 390, "height": 844})
    page.touchscreen.tap(*points(page, 30))
    expect(page.get_by_role("textbox")).to_have_value("30")


def test_an_answer_of_before_is_shown_and_the_truth_drawn_over_it_once_known(show):
    """Dashed and solid are told apart in words; before the look there is no truth on the page."""
    page = show(asked(saved={"value": {"text": "12", "unit": "cmH2O"}, "number": 1, "at": ""}))
    expect(needle(page)).to_have_attribute("aria-valuetext", "12 cmH2O")
    truth = page.locator(".tpiece-needle")
    expect(truth).to_have_attribute("visibility", "hidden")
    page.evaluate("model.set('feedback', { heading: 'So.', lines: [], needle: 20 })")
    expect(truth).to_have_attribute("visibility", "visible")
    expect(truth).to_have_attribute("transform", f"rotate({-135 + 270 * 20 / TOP:.2f} 160 160)")
    expect(page.get_by_text("Solid: what the gauge shows")).to_be_visible()


def test_a_closed_question_lets_nobody_move_it(show):
    """Handed in is handed in."""
    page = show(asked(read_only=True))
    page.mouse.click(*points(page, 30))
    expect(page.get_by_role("textbox")).to_have_value("")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), [(1280, 720), (820, 1180), (390, 844)])
def test_it_fits_and_holds_no_fault(show, axe_source, width, height, scheme):
    """No sideways scrolling, and nothing that the checker knows."""
    page = show(asked(), viewport={"width": width, "height": height}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert axe(page, axe_source, ".tpiece") == []


def test_it_is_there_where_a_needle_is_asked_for_and_none_is_drawn():
    """In the exercises: with a drawn gauge one reads, and places nothing."""
    found = {True: 0, False: 0}
    for unit in exercises():
        for question in case("demo", unit, "ada", rulebook("aha-2020")).questions:
            if question.kind is Kind.NUMBER:
                predicts = "cmH2O" in question.units and "figure" not in question.shows
                predicts = predicts and not {"gauge", "strip"} & {*question.shows}
                assert bool(control(question).gauge_top) == predicts
                found[predicts] += 1
    assert all(found.values())
