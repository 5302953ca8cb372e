"""A strip sketched with a few points: by hand, by keys or typed; then the model's is drawn over."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import given
from tests.browser.test_controls import LOOKS
from workbook.bench.sketch import answer
from workbook.display.scene import Scenes
from workbook.display.sketched import leak
from workbook.lesson.page import texts
from workbook.rules import rulebook
from workbook.widgets import Sketch

PAGE = texts("2_bench")
MADE = leak(Scenes(PAGE["numbers"], PAGE["does"], rulebook()).numbers)
SHOWN = {**MADE.shows, "start_says": "the mask seals", "true_says": "the mask leaks"}
FIRST = SHOWN["first"]
SAVED = {"value": answer([3, 3, 11, 21, 6, 3]), "number": 2, "at": "2026-05-04T10:00:00Z"}


def sketch(*, told: bool = False, **more: Any) -> Sketch:
    more = {"sketch": SHOWN, "save": given, "help": "The mask lifts.", **more}
    made = Sketch("s", "What will the strip look like?", **more)
    if told:
        made.feedback = {"heading": "The model.", "lines": [], "strip": dict(MADE.true)}
    return made


def point(page: Page, n: int) -> Locator:
    return page.get_by_role("slider").nth(n)


def spot(page: Page, n: int) -> tuple[float, float]:
    """Return where a point stands on the page."""
    box = point(page, n).locator(".tpiece-sketch-dot").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def per_cm(page: Page) -> float:
    """Return pixels for each cmH2O, from two points whose pressures are known."""
    (_, low), (_, high) = spot(page, 0), spot(page, 3)
    return (low - high) / (FIRST[3] - FIRST[0])


def test_the_points_stand_on_the_strip_to_start_from(show):
    """Six points in order of time; nothing is an answer before one was touched."""
    page = show(sketch())
    expect(page.get_by_role("slider")).to_have_count(len(FIRST))
    values = page.get_by_role("slider").evaluate_all("(all) => all.map((one) => one.ariaValueNow)")
    assert [float(value) for value in values] == FIRST
    expect(point(page, 3)).to_have_accessible_name("Pressure at 0.6 s, hole covered")
    expect(point(page, 0)).to_have_accessible_name("Pressure at 0 s, hole open")
    expect(page.get_by_role("status")).to_contain_text("Not answered yet")
    assert kept(page) == []


def test_a_point_is_moved_by_keys_as_far_as_they_say(show):
    """Arrows one, page keys five, Home and End the scale's ends; one answer once it rests."""
    page = show(sketch())
    point(page, 0).focus()
    for key, value in (("ArrowDown", 4), ("PageUp", 9), ("ArrowLeft", 8), ("Home", 0), ("End", 30)):
        page.keyboard.press(key)
        expect(point(page, 0)).to_have_attribute("aria-valuetext", f"{value} cmH2O")
    page.keyboard.press("PageDown")
    page.keyboard.press("Tab")
    expect(point(page, 1)).to_be_focused()
    expect(page.get_by_role("status")).to_have_text(re.compile(r"Saved at \d\d:\d\d$"))
    assert kept(page)[-1] == answer([25, *FIRST[1:]])


def test_enter_on_a_point_keeps_all_as_they_stand(show):
    """Who expects no change has nothing to move, and answers all the same."""
    page = show(sketch())
    point(page, 2).press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page) == [answer(FIRST)]


def test_a_point_is_dragged_up_and_down_only(show):
    """As far as the hand, in whole cmH2O; letting go saves at once."""
    page = show(sketch())
    (x, y), scale = spot(page, 3), per_cm(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 2 * scale)
    page.mouse.move(x + 30, y + 4 * scale)
    page.mouse.up()
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page)[-1] == answer([*FIRST[:3], FIRST[3] - 4, *FIRST[4:]])
    assert spot(page, 3)[0] == pytest.approx(x, abs=0.5)


def test_a_finger_moves_a_point_and_not_the_page(show):
    """On a telephone, where points lie close together, the nearest is taken."""
    page = show(sketch(), has_touch=True, viewport={"width": 360, "height": 740})
    client = page.context.new_cdp_session(page)
    point(page, 2).scroll_into_view_if_needed()
    (x, y), scale = spot(page, 2), per_cm(page)
    scrolled = page.evaluate("scrollY")

    def touch(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": px, "y": py} for px, py in at]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", (x, y))
    touch("touchMove", (x, y + 5 * scale))
    touch("touchMove", (x, y + 10 * scale))
    touch("touchEnd")
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page)[-1] == answer([*FIRST[:2], FIRST[2] - 10, *FIRST[3:]])
    assert page.evaluate("scrollY") == scrolled


def test_numbers_are_typed_too(show):
    """With a comma; what is no pressure of the scale stays in its field and moves nothing."""
    page = show(sketch())
    page.get_by_text("Type the pressures").click()
    field = page.get_by_role("textbox", name="At 0.6 s")
    field.fill("20,5")
    expect(point(page, 3)).to_have_attribute("aria-valuetext", "20.5 cmH2O")
    field.fill("99")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(point(page, 3)).to_have_attribute("aria-valuetext", "20.5 cmH2O")
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page)[-1] == answer([*FIRST[:3], 20.5, *FIRST[4:]])


def test_the_models_strip_is_drawn_over_the_sketch_and_said(show):
    """Not before it was looked at; then a solid line where the model says, and words for each."""
    page = show(sketch(saved=SAVED))
    expect(page.locator(".tpiece-curve")).to_have_count(0)
    expect(page.locator(".tpiece-sketch-legend")).to_have_text(
        "Thin: the mask seals. Dashed: your strip."
    )
    page = show(sketch(saved=SAVED, told=True))
    expect(page.locator(".tpiece-sketch-legend")).to_contain_text("Solid: the mask leaks.")
    curve = page.locator(".tpiece-curve").evaluate(
        "(one) => { const b = one.getBoundingClientRect(); return [b.top, b.bottom]; }"
    )
    # Its top and its rest lie where points of those pressures would.
    scale = (spot(page, 0)[1] - spot(page, 3)[1]) / (21 - 3)
    top, rest = max(MADE.true["pressure"]), min(MADE.true["pressure"])
    assert curve[0] == pytest.approx(spot(page, 3)[1] - (top - 21) * scale, abs=3)
    assert curve[1] == pytest.approx(spot(page, 0)[1] + (3 - rest) * scale, abs=3)


def test_a_locked_sketch_can_be_looked_at_and_not_changed(show):
    """Neither keys nor hand nor typing."""
    page = show(sketch(saved=SAVED, read_only=True))
    point(page, 0).press("End")
    page.mouse.move(*spot(page, 3))
    page.mouse.down()
    page.mouse.move(400, 400)
    page.mouse.up()
    expect(point(page, 0)).to_have_attribute("aria-valuetext", "3 cmH2O")
    expect(page.locator(".tpiece-sketch-fields input").first).to_be_disabled()
    assert kept(page) == []


@pytest.mark.parametrize("look", LOOKS)
def test_nothing_stands_in_anybodys_way(show, axe_source, look):
    """Axe finds nothing in any look, before and after the truth is drawn."""
    for told in (False, True):
        page = show(sketch(saved=SAVED, told=told), **look)
        assert axe(page, axe_source) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
