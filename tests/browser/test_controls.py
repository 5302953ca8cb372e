"""The controls in a browser: by keyboard, by touch, with a busy kernel, for everybody."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import axe, kept, open_control
from workbook.widgets import Choice, Number, Sequence

STEPS = [
    {"id": "wash", "text": "Wash your hands before you touch anything that goes to the baby."},
    {"id": "warm", "text": "Switch on the heater."},
    {"id": "clock", "text": "Start the clock."},
    {"id": "call", "text": "Call for help."},
]
IDS = [step["id"] for step in STEPS]


def sequence(**more):
    return Sequence(
        "order", "Arrange the steps.", items=STEPS, start=IDS, help="Any order.", **more
    )


def choice(**more):
    return Choice("q", "Choose what is missing.", options=STEPS, **more)


def number(**more):
    return Number("n", "What does the gauge show?", unit="cmH2O", units=["cmH2O", "kPa"], **more)


def status(page):
    return page.get_by_role("status")


def test_steps_are_arranged_by_keyboard_alone(chromium):
    """Tab to a step, move it with arrows, Home and End; the focus stays with it."""
    page = open_control(chromium, sequence())
    expect(status(page)).to_have_text("Not answered yet.")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.locator(":focus")).to_have_attribute("aria-label", re.compile("^Step 3 of 4: Wash"))
    expect(status(page)).to_contain_text("Saved (answer 2 at")
    assert kept(page) == [["warm", "clock", "wash", "call"]]
    page.keyboard.press("End")
    page.keyboard.press("Home")
    expect(page.get_by_text("Now 1 of 4.")).to_be_visible()


def test_steps_are_moved_by_buttons_and_by_typing_a_place(chromium):
    """Move down keeps its focus; a typed place moves the step there; undo takes it back."""
    page = open_control(chromium, sequence())
    page.get_by_role("button", name="Move down: Start the clock.").click()
    expect(page.get_by_role("button", name="Move down: Start the clock.")).to_be_focused()
    page.get_by_role("spinbutton", name="Place of: Call for help.").fill("1")
    page.keyboard.press("Enter")
    expect(status(page)).to_contain_text("Saved")
    assert kept(page)[-1] == ["call", "wash", "warm", "clock"]
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("The last move is undone.")).to_be_visible()
    page.wait_for_function("kernel.kept.length > 1")
    assert kept(page)[-1] == ["wash", "warm", "call", "clock"]


def test_a_held_arrow_key_saves_once(chromium):
    """Quick moves are one answer, not many."""
    page = open_control(chromium, sequence())
    page.keyboard.press("Tab")
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    expect(status(page)).to_contain_text("Saved")
    assert len(kept(page)) == 1


def test_steps_are_dragged_by_touch(chromium):
    """A finger on the handle carries the step along."""
    page = open_control(
        chromium, sequence(), has_touch=True, viewport={"width": 820, "height": 900}
    )
    handle = page.locator(".tpiece-handle").first.bounding_box()
    last = page.locator(".tpiece-step").last.bounding_box()
    x, y = handle["x"] + 10, handle["y"] + 10
    client = page.context.new_cdp_session(page)
    client.send(
        "Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]}
    )
    for part in (0.3, 0.7, 1.1):
        point = {"x": x, "y": y + (last["y"] - y + 30) * part}
        client.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(status(page)).to_contain_text("Saved")
    assert kept(page) == [["warm", "clock", "call", "wash"]]


def test_a_choice_is_made_by_keyboard(chromium):
    """Arrows choose among radios; space ticks boxes; each change is saved whole."""
    page = open_control(chromium, choice())
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    expect(status(page)).to_contain_text("Saved")
    assert kept(page)[-1] == "warm"
    page = open_control(chromium, choice(many=True))
    for key in ("Tab", "Space", "Tab", "Space", "Space"):
        page.keyboard.press(key)
    page.wait_for_function("kernel.kept.length === 3")
    assert kept(page) == [["wash"], ["wash", "warm"], ["wash"]]


def test_none_of_these_and_the_others_exclude_one_another(chromium):
    """Ticking "none" clears the rest, and the other way round."""
    options = [*STEPS, {"id": "none", "text": "None of these"}]
    page = open_control(chromium, Choice("q", "Which?", options=options, many=True))
    page.get_by_label("Start the clock.").check()
    page.get_by_label("None of these").check()
    expect(page.get_by_label("Start the clock.")).not_to_be_checked()
    page.get_by_label("Call for help.").check()
    expect(page.get_by_label("None of these")).not_to_be_checked()


def test_a_number_is_typed_with_a_comma_and_saved_once(chromium):
    """Enter saves what was typed, as typed, with its unit."""
    page = open_control(chromium, number())
    page.keyboard.press("Tab")
    page.keyboard.type("12,5")
    page.keyboard.press("Enter")
    expect(status(page)).to_contain_text("Saved")
    page.get_by_label("Unit").select_option("kPa")
    page.wait_for_function("kernel.kept.length === 2")
    assert kept(page) == [{"text": "12,5", "unit": "cmH2O"}, {"text": "12,5", "unit": "kPa"}]


def test_a_text_that_is_no_number_is_told_and_kept_on_the_page(chromium):
    """The sentence says what to type; the earlier answer still counts."""
    page = open_control(chromium, number())
    field = page.get_by_label("What does the gauge show?")
    field.fill("high")
    field.press("Enter")
    expect(status(page)).to_contain_text("Not saved: type a number, for example 12 or 12,5.")
    expect(field).to_have_value("high")
    expect(field).to_have_attribute("aria-invalid", "true")
    assert kept(page) == []


def test_a_busy_kernel_gets_the_answer_again_until_it_answers(chromium):
    """Nothing is called saved before it is; then it is, by itself."""
    page = open_control(chromium, choice())
    page.evaluate("kernel.mode = 'busy'")
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Saving…")
    assert page.evaluate("[...tpieceUnsaved.values()]") == ["Choose what is missing."]
    page.evaluate("kernel.mode = 'ok'")
    expect(status(page)).to_contain_text("Saved", timeout=4000)
    assert kept(page) == ["clock"]
    assert page.evaluate("tpieceUnsaved.size") == 0


def test_a_kernel_that_stays_away_is_told_in_plain_words(chromium):
    """After several tries the page says that nothing is saved, and goes on trying."""
    page = open_control(chromium, choice())
    page.clock.install()
    page.evaluate("kernel.mode = 'dead'")
    page.get_by_label("Start the clock.").check()
    page.clock.run_for(20_000)
    expect(status(page)).to_contain_text("Not saved yet")
    page.evaluate("kernel.mode = 'ok'")
    page.clock.run_for(6_000)
    expect(status(page)).to_contain_text("Saved")


def test_a_refused_answer_shows_the_kernels_sentence(chromium):
    """What the disk said reaches the learner."""
    page = open_control(chromium, choice())
    page.evaluate("kernel.mode = 'refuse'")
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Not saved: disk full.")


def test_a_second_view_follows_what_was_saved_elsewhere(chromium):
    """A view without changes of its own shows the newest saved answer."""
    page = open_control(chromium, sequence())
    order = ["call", *IDS[:3]]
    saved = {"value": order, "client": "other", "seq": 1, "number": 9, "at": ""}
    page.evaluate("(saved) => model.set('saved', saved)", saved)
    expect(page.locator(".tpiece-text").first).to_have_text("Call for help.")
    expect(status(page)).to_contain_text("Saved (answer 9")


def test_leaving_with_an_unsaved_answer_asks_first(chromium):
    """Closing the page while an answer is on its way brings up the browser's question."""
    page = open_control(chromium, choice())
    page.evaluate("kernel.mode = 'busy'")
    page.get_by_label("Start the clock.").check()
    with page.expect_event("dialog") as asked:
        page.close(run_before_unload=True)
    assert asked.value.type == "beforeunload"
    asked.value.accept()


def test_feedback_is_announced_with_words_beside_the_marks(chromium):
    """Each line says right or look again, and shows its source."""
    page = open_control(chromium, choice(check=lambda value: {}))
    lines = [{"met": True, "says": "The clock.", "source": "A source"},
             {"met": False, "says": "Not the heater.", "source": ""}]  # fmt: skip
    page.evaluate("(f) => model.set('feedback', f)", {"heading": "Nearly.", "lines": lines})
    region = page.locator(".tpiece-feedback")
    expect(region).to_have_attribute("aria-live", "polite")
    expect(region).to_contain_text("Right: The clock.")
    expect(region).to_contain_text("Look again: Not the heater.")
    expect(region).to_contain_text("A source")


CONTROLS = {"sequence": sequence, "choice": choice, "number": number,
            "choices": lambda: choice(many=True)}  # fmt: skip
LOOKS = [
    {"color_scheme": "light"},
    {"color_scheme": "dark", "reduced_motion": "reduce"},
    {"forced_colors": "active"},
]


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "forced"])
@pytest.mark.parametrize("name", CONTROLS)
def test_no_serious_accessibility_violation(chromium, axe_source, name, look):
    """Light, dark with reduced motion, and forced colours: axe-core finds nothing serious."""
    page = open_control(chromium, CONTROLS[name](), **look)
    assert axe(page, axe_source) == []


@pytest.mark.parametrize("name", CONTROLS)
def test_every_part_has_a_name_a_role_and_keeps_its_keys(chromium, name):
    """Nothing that takes the focus is nameless or loses its keys to JupyterLab."""
    page = open_control(chromium, CONTROLS[name]())
    parts = page.locator("button, input, select")
    assert parts.count() > 0
    for part in parts.all():
        expect(part).to_have_accessible_name(re.compile(r"\S"))
        assert part.get_attribute("data-lm-suppress-shortcuts") == "true"


@pytest.mark.parametrize("name", CONTROLS)
def test_targets_are_large_and_narrow_pages_do_not_scroll_sideways(chromium, name):
    """At 360 pixels everything fits, and what is touched is 44 pixels high."""
    page = open_control(chromium, CONTROLS[name](), viewport={"width": 360, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    for part in page.locator("button, select, label.tpiece-option, .tpiece-place").all():
        assert part.bounding_box()["height"] >= 44
