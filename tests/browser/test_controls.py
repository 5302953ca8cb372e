"""The controls in a browser: by keyboard, by touch, for everybody."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import (
    STEPS,
    choice,
    every,
    number,
    sequence,
    status,
)


def test_steps_are_arranged_by_keyboard_alone(show):
    """Tab to a step, move it with arrows, Home and End; the focus stays with it."""
    page = show(sequence())
    expect(status(page)).to_have_text("Not answered yet: move a step to answer.")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.locator(":focus")).to_have_attribute("aria-label", re.compile("^Step 3 of 4: Wash"))
    expect(status(page)).to_have_attribute("data-number", "2")
    assert kept(page) == [["warm", "clock", "wash", "call"]]
    page.keyboard.press("End")
    page.keyboard.press("Home")
    expect(page.get_by_text("Now 1 of 4.")).to_be_visible()
    expect(page.locator(":focus")).to_have_attribute("aria-label", re.compile("^Step 1 of 4: Wash"))


def test_arrow_keys_move_a_step_from_any_part_of_its_row(show):
    """Its buttons and its place field answer to the arrows too, and keep the focus."""
    page = show(sequence())
    for name in ("Move down: Start the clock.", "Move up: Start the clock."):
        page.get_by_role("button", name=name).focus()
        page.keyboard.press("ArrowUp")
        expect(page.get_by_role("button", name=name)).to_be_focused()
    place = page.get_by_label("Place of: Start the clock.")
    expect(place).to_have_value("1")
    place.focus()
    page.keyboard.press("ArrowDown")
    expect(place).to_be_focused()
    expect(place).to_have_value("2")
    expect(status(page)).to_contain_text("Saved")
    assert kept(page)[-1] == ["wash", "clock", "warm", "call"]


# Whether an order is the last one kept; a slow machine keeps one between two moves as well.
LAST_KEPT = "(order) => JSON.stringify(kernel.kept.at(-1)) === JSON.stringify(order)"


def test_steps_are_moved_by_buttons_and_by_typing_a_place(show):
    """Move down keeps its focus; a typed place moves the step there; undo takes it back."""
    page = show(sequence())
    page.get_by_role("button", name="Move down: Start the clock.").click()
    expect(page.get_by_role("button", name="Move down: Start the clock.")).to_be_focused()
    place = page.get_by_role("textbox", name="Place of: Call for help.")
    place.fill("1")
    page.keyboard.press("Enter")
    expect(place).to_be_focused()
    page.wait_for_function(LAST_KEPT, arg=["call", "wash", "warm", "clock"])
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("The last move is undone.")).to_be_visible()
    page.wait_for_function(LAST_KEPT, arg=["wash", "warm", "call", "clock"])


@pytest.mark.parametrize(("typed", "place"), [("99", "4"), ("0", "1"), ("x", "2"), ("", "2")])
def test_a_typed_place_out_of_range_is_the_nearest_one(show, typed, place):
    """The second step goes to the end or the front; what is no number moves nothing."""
    page = show(sequence())
    field = page.get_by_label("Place of: Switch on the heater.")
    field.fill(typed)
    page.keyboard.press("Enter")
    expect(field).to_have_value(place)


DOWN = (
    "document.activeElement.dispatchEvent("
    "new KeyboardEvent('keydown', { key: 'ArrowDown', bubbles: true, cancelable: true }))"
)


def test_a_held_arrow_key_saves_once(show):
    """Quick moves are one answer, not many."""
    page = show(sequence())
    page.keyboard.press("Tab")
    page.evaluate(f"for (const _ of [1, 2, 3]) {DOWN}")  # as quick as keys can come
    expect(status(page)).to_contain_text("Saved")
    assert len(kept(page)) == 1


@pytest.mark.parametrize(
    ("from_", "to", "order"),
    [(0, 3, ["warm", "clock", "call", "wash"]), (3, 0, ["call", "wash", "warm", "clock"])],
    ids=["down", "up"],
)
def test_steps_are_dragged_by_touch(show, from_, to, order):
    """A finger on the handle carries the step along, down and up."""
    page = show(sequence(), has_touch=True, viewport={"width": 820, "height": 900})
    start, end = (page.locator(".tpiece-handle").nth(n).bounding_box() for n in (from_, to))
    x, y = start["x"] + 10, start["y"] + 10
    beyond = end["y"] + (end["height"] + 8 if to > from_ else -8)
    client = page.context.new_cdp_session(page)

    def touch(kind: str, *points: float) -> None:
        points_ = [{"x": x, "y": at} for at in points]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points_})

    touch("touchStart", y)
    for part in (0.2, 0.4, 0.6, 0.8, 1.0):
        touch("touchMove", y + (beyond - y) * part)
    touch("touchEnd")
    expect(status(page)).to_contain_text("Saved")
    assert kept(page) == [order]


def test_a_choice_is_made_by_keyboard(show):
    """Arrows choose among radios; space ticks boxes; each change is saved whole."""
    page = show(choice())
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    expect(status(page)).to_contain_text("Saved")
    assert kept(page)[-1] == "warm"
    page = show(choice(many=True))
    for key in ("Tab", "Space", "Tab", "Space", "Space"):
        page.keyboard.press(key)
    page.wait_for_function("kernel.kept.length === 3")
    assert kept(page) == [["wash"], ["wash", "warm"], ["wash"]]


def test_none_of_these_and_the_others_exclude_one_another(show):
    """Ticking "none" clears the rest, and the other way round."""
    page = show(choice(options=[*STEPS, {"id": "none", "text": "None of these"}], many=True))
    page.get_by_label("Start the clock.").check()
    page.get_by_label("None of these").check()
    expect(page.get_by_label("Start the clock.")).not_to_be_checked()
    page.get_by_label("Call for help.").check()
    expect(page.get_by_label("None of these")).not_to_be_checked()


def test_a_number_is_typed_with_a_comma_and_saved_once(show):
    """Enter saves what was typed, as typed, with its unit."""
    page = show(number())
    page.get_by_label("Unit").select_option("cmH2O")
    expect(status(page)).to_have_text("Not answered yet.")
    page.get_by_role("textbox").focus()
    page.keyboard.type("12,5")
    page.keyboard.press("Enter")
    expect(status(page)).to_contain_text("Saved")
    page.get_by_label("Unit").select_option("kPa")
    page.wait_for_function("kernel.kept.length === 2")
    assert kept(page) == [{"text": "12,5", "unit": "cmH2O"}, {"text": "12,5", "unit": "kPa"}]


def test_a_text_that_is_no_number_is_told_and_kept_on_the_page(show):
    """The sentence says what to type; nothing is sent; a check does not judge another answer."""
    page = show(number(check=lambda value: {}))
    field = page.get_by_label("What does the gauge show?")
    field.fill("high")
    expect(status(page)).to_contain_text("Not saved: type a number, for example 12 or 12,5.")
    expect(field).to_have_value("high")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_accessible_description(re.compile("Not saved: type a number"))
    page.get_by_role("button", name="Check my answer").click()
    assert page.evaluate("[kernel.sent.length, tpieceUnsaved.size]") == [0, 0]
    field.fill("")
    expect(status(page)).to_have_text("Not answered yet.")


def test_feedback_is_announced_with_words_beside_the_marks(show):
    """Each line says right or look again, and shows its source."""
    page = show(choice(check=lambda value: {}))
    lines = [{"met": True, "says": "The clock.", "source": "A source"},
             {"met": False, "says": "Not the heater.", "source": ""}]  # fmt: skip
    page.evaluate("(f) => model.set('feedback', f)", {"heading": "Nearly.", "lines": lines})
    region = page.locator(".tpiece-feedback")
    expect(region).to_have_attribute("aria-live", "polite")
    expect(region).to_contain_text("✓ Right: The clock.")
    expect(region).to_contain_text("▲ Look again: Not the heater.")
    expect(region).to_contain_text("A source")


def test_what_is_kept_for_practice_only_is_not_called_saved(show):
    """A control that writes to no file says that its answer goes with the page."""
    page = show(choice(save=None))
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Received at")
    expect(status(page)).not_to_contain_text("Saved")


def test_a_closed_control_offers_nothing(show):
    """While work is being marked every part is off."""
    page = show(*(type_(read_only=True) for type_ in (sequence, choice, number)))
    for part in page.locator("button:visible, input, select").all():
        expect(part).to_be_disabled()


LOOKS = [
    {"color_scheme": "light"},
    {"color_scheme": "dark", "reduced_motion": "reduce"},
    {"forced_colors": "active"},
]


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "forced"])
def test_no_serious_accessibility_violation(show, axe_source, look):
    """Light, dark with reduced motion, and forced colours: axe-core finds nothing serious."""
    page = show(*every(), **look)
    page.get_by_role("textbox", name="What does the gauge show?").first.fill("high")
    assert axe(page, axe_source) == []


TREE = """
- group "Choose what is missing.":
  - checkbox "Wash your hands before you touch anything that goes to the baby."
  - text: Wash your hands before you touch anything that goes to the baby.
  - checkbox "Switch on the heater." [checked]
  - text: Switch on the heater.
"""


def test_every_part_has_a_name_a_role_and_keeps_its_keys(show):
    """Nothing that takes the focus is nameless or loses its keys to JupyterLab."""
    page = show(*every())
    parts = page.locator("button:visible, input, select, [tabindex]")
    assert parts.count() > len(every())
    for part in page.locator("button:visible, input, select").all():
        expect(part).to_have_accessible_name(re.compile(r"\S"))
    marks = parts.evaluate_all("(all) => all.map((one) => one.dataset.lmSuppressShortcuts)")
    assert set(marks) == {"true"}
    many = page.locator(".tpiece").nth(2)
    many.get_by_label("Switch on the heater.").check()
    expect(many).to_match_aria_snapshot(TREE)


def test_targets_are_large_and_narrow_pages_do_not_scroll_sideways(show):
    """At 320 pixels everything fits, and what is touched is 44 pixels high."""
    page = show(*every(), viewport={"width": 320, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    parts = page.locator("button:visible, select, label.tpiece-option, .tpiece-place")
    heights = parts.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().height)")
    assert min(heights) >= 44


def test_nothing_moves_by_itself(show):
    """Reduced motion needs no exception: there is no animation and no smooth scrolling."""
    page = show(*every())
    moving = """(all) => all.map((one) => getComputedStyle(one)).filter((style) =>
      style.transitionDuration !== "0s" || style.animationName !== "none"
      || style.scrollBehavior !== "auto").length"""
    assert page.locator(".tpiece, .tpiece *").evaluate_all(moving) == 0


def test_styles_reach_nothing_outside_a_control(show):
    """Every selector begins inside a control, so a notebook keeps its own looks."""
    page = show(choice())
    selectors = page.evaluate("""() => {
      const all = (rules) => [...rules].flatMap((r) => r.selectorText ?? all(r.cssRules));
      const texts = all(document.styleSheets[1].cssRules);
      return texts.flatMap((text) => text.split(/,\\s*(?![^(]*\\))/));
    }""")
    assert len(selectors) > 20
    assert [s for s in selectors if not re.match(r"\.tpiece(?![\w-])", s)] == []
