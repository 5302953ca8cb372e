"""After a case: the learner's say first, on the own course; then an expert's beside it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import given
from tests.scenario_base import BOOK, case, inflating, played
from workbook.scenario import replay
from workbook.scenario.debrief import Said
from workbook.widgets import Debrief

ROWS = [
    (1.0, "oximeter"), (3.0, "dry"), (20.0, "connect"), *inflating(35.0, 150.0),
    (152.0, "reposition"), *inflating(165.0, 300.0), (301.0, "oxygen", 100),
]  # fmt: skip
MADE = replay(case("position", 3), played(ROWS), BOOK)
SAID = Said(65.0, "reposition", "The mask was on early")


def debrief(*, told: bool = False, **more: Any) -> Debrief:
    saved = {"value": SAID.to_data(), "number": 2, "at": "2026-05-04T10:00:00Z"} if told else {}
    more = {"saved": saved, "save": given, "again": print, **more}
    made = Debrief("d-1", "Talk over your first baby", made=MADE, book=BOOK, **more)
    if told:
        made.feedback = dict(made._told(SAID.to_data()))
    return made


def slider(page: Page):
    return page.get_by_role("slider", name="Second to look at")


def told(page: Page) -> str:
    return page.locator(".tpiece-course-told").inner_text()


def test_the_second_the_act_and_the_line_are_said_by_keyboard(show):
    """Each is kept as part of one answer; nothing of an expert's is on the page yet."""
    page = show(debrief())
    expect(page.get_by_role("status")).to_contain_text("Not said yet")
    expect(page.get_by_text("An expert's")).to_have_count(0)
    slider(page).focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(slider(page)).to_have_attribute("aria-valuetext", "0:03 after birth")
    page.get_by_label("What went well").fill("The mask was on early")
    page.get_by_label("What would you do there?").select_option("reposition")
    expect(page.get_by_role("status")).to_have_text(re.compile(r"Saved at \d\d:\d\d$"))
    assert kept(page)[-1] == Said(3, "reposition", "The mask was on early").to_data()


def test_a_second_is_chosen_in_the_picture_by_mouse_and_finger(show):
    """The slider, the words below and the answer follow."""
    page = show(debrief(), has_touch=True, viewport={"width": 820, "height": 900})
    box = page.locator(".tpiece-course-place svg").bounding_box()
    page.mouse.click(box["x"] + 44 + (box["width"] - 58) / 2, box["y"] + 100)
    expect(slider(page)).to_have_value("210")
    page.touchscreen.tap(box["x"] + 44 + (box["width"] - 58) / 4, box["y"] + 100)
    expect(slider(page)).to_have_value(re.compile("10[456]"))
    expect(page.locator(".tpiece-debrief-second strong")).to_have_text(
        re.compile("1:4[456] after birth")
    )
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page)[-1]["at"] in (104, 105, 106)


def test_a_findings_button_goes_to_its_second_and_says_what_was_done_there(show):
    """Seen and done by the learner, and what the expert did; by key, with focus on the slider."""
    page = show(debrief(told=True))
    go = page.get_by_role("button", name=re.compile("^Go to 0:35"))
    expect(go).to_have_accessible_name(re.compile("no chest moved well for 135 s"))
    go.press("Enter")
    expect(slider(page)).to_be_focused()
    expect(slider(page)).to_have_value("35")
    says = told(page)
    assert "the chest is still" in says
    assert "Heart rate of the baby" in says
    assert "An expert's" in says
    page.keyboard.press("ArrowRight")
    expect(slider(page)).to_have_value("36")


def test_each_finding_has_its_number_in_the_picture(show):
    """A click on it goes there, too."""
    page = show(debrief(told=True))
    moments = page.locator(".tpiece-debrief-moments li")
    marks = page.locator(".tpiece-course-goes")
    expect(marks).to_have_count(moments.count())
    marks.nth(0).locator("circle").click()
    expect(slider(page)).to_have_value("35")


def test_what_was_said_stands_beside_the_findings_and_stays(show):
    """It cannot be changed once they show: moving through the picture changes no answer."""
    page = show(debrief(told=True))
    expect(page.locator(".tpiece-debrief-own")).to_contain_text("The mask was on early")
    expect(page.locator(".tpiece-debrief-own")).to_contain_text("Reposition the head")
    expect(page.get_by_label("What went well")).to_be_hidden()
    slider(page).press("End")
    page.wait_for_timeout(1000)
    assert kept(page) == []


def test_the_same_baby_again_is_asked_for_from_the_second_in_sight(show):
    """The kernel hears which."""
    page = show(debrief(told=True))
    page.get_by_role("button", name=re.compile("^Go to 2:51")).click()
    page.get_by_role("button", name="The same baby again from 2:51").click()
    assert page.evaluate("kernel.sent.at(-1)") == {"kind": "again", "at": 171}


def test_both_courses_are_there_in_words(show):
    """For who does not see the picture."""
    page = show(debrief(told=True))
    page.get_by_text("Both courses in words").click()
    lists = page.locator(".tpiece-course-lists ol")
    expect(lists).to_have_count(2)
    expect(lists.nth(0)).to_contain_text("2:32 Reposition the head")
    expect(lists.nth(1)).to_contain_text("the chest moves")


def test_nobody_begins_again_after_the_own_case_was_over(show):
    """An expert's course may go on: the button names the last second there is."""
    short = replay(case("position", 3), played(ROWS, 302.0), BOOK)
    made = Debrief("d-1", "Talk over", made=short, book=BOOK, again=print, save=given)
    made.feedback = dict(made._told(SAID.to_data()))
    page = show(made)
    slider(page).press("End")
    page.get_by_role("button", name="The same baby again from 5:02").click()
    assert page.evaluate("kernel.sent.at(-1)") == {"kind": "again", "at": 302}


@pytest.mark.parametrize(
    "look", [{"color_scheme": "light"}, {"color_scheme": "dark"}, {"forced_colors": "active"}]
)
def test_it_can_be_operated_by_everybody(show, axe_source, look):
    """No serious accessibility violation, before and after the findings; nothing runs over."""
    for each in (debrief(), debrief(told=True)):
        page = show(each, viewport={"width": 390, "height": 844}, **look)
        assert axe(page, axe_source, ".tpiece") == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
