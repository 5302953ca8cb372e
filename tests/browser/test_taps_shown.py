"""Tapping in a browser: the distraction, the metronome, what is shown and announced."""

from __future__ import annotations

import re
from itertools import pairwise
from statistics import median

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import axe
from tests.browser.taps_page import ALARM, PICTURE, begin, finished, hold, kinds, press, taps
from tests.browser.test_controls import LOOKS


def test_a_distraction_is_answered_by_a_key_while_space_is_held(show):
    """It is an alert, answered once, and the time of the answer is recorded."""
    late = {**ALARM, "at": 1.5}  # so that a slow machine still sees the time before it
    page = show(taps(distraction=late, duration=4.0))
    begin(page)
    expect(page.get_by_role("alert")).to_be_empty()
    before = hold(page).bounding_box()
    page.keyboard.press("2")  # nothing to answer yet
    page.keyboard.down("Space")
    expect(page.get_by_role("alert")).to_have_text("▲ The heater's alarm sounds.")
    assert hold(page).bounding_box() == before
    page.keyboard.press("2")
    page.keyboard.press("1")
    page.keyboard.up("Space")
    expect(page.get_by_text("Answered: Stop the inflations")).to_be_visible()
    assert hold(page).bounding_box() == before
    record = finished(page)
    assert record["answered"] == "stop"
    assert late["at"] <= record["answered_at"] <= 4
    assert kinds(record) == ["press", "release"]


def test_a_distraction_is_answered_by_mouse_and_the_focus_stays(show):
    """A click on an answer takes nothing from the hand that holds Space."""
    page = show(taps(distraction=ALARM))
    begin(page)
    page.keyboard.down("Space")
    page.get_by_role("button", name="1 Go on").click()
    expect(hold(page)).to_be_focused()
    page.keyboard.up("Space")
    record = finished(page)
    assert record["answered"] == "go-on"
    assert kinds(record) == ["press", "release"]


def test_a_distraction_is_answered_by_tab_and_enter(show):
    """The focus comes back to the big button when the answers go."""
    page = show(taps(distraction=ALARM, duration=3))
    begin(page)
    press(page)
    page.wait_for_selector("[data-state=open]")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Answered: Stop the inflations")).to_be_visible()
    expect(hold(page)).to_be_focused()
    assert finished(page)["answered"] == "stop"


def test_a_distraction_left_alone_goes_and_is_not_in_the_record(show):
    """After its time the answers are gone; the record names none."""
    page = show(taps(distraction={**ALARM, "until": 0.4}))
    begin(page)
    press(page)
    expect(page.get_by_text("Over: it was not answered in time.")).to_be_visible()
    page.keyboard.press("1")
    assert set(finished(page)) == {"format", "version", "duration", "events"}


def test_little_is_announced_and_no_rate_is_shown_while_counting(show):
    """The live region speaks at the start, at half and at the end; no figure gives the rate."""
    page = show(taps())
    page.evaluate("""() => {
      const told = document.querySelector(".tpiece-told");
      globalThis.said = [];
      new MutationObserver(() => said.push(told.textContent)).observe(told, { childList: true });
    }""")
    begin(page)
    expect(page.get_by_role("timer")).to_have_text(re.compile("s left$"))
    expect(page.get_by_role("timer")).to_have_attribute("aria-live", "off")
    press(page)
    text = page.locator(".tpiece").inner_text()
    assert not re.search(r"\brate\b|minute|/min", text)
    finished(page)
    assert page.evaluate("said") == [
        "Get ready.", "Go: hold and release.", "Half of the time is over.", "Time is up.",
    ]  # fmt: skip


def test_each_part_of_the_metronome_can_be_switched_off(show):
    """Sound, shape and words each have a box; without a metronome there are none."""
    page = show(taps())
    assert page.get_by_role("checkbox").count() == 3
    for name, part in {"Shape": ".tpiece-pulse", "Words": ".tpiece-beats"}.items():
        expect(page.locator(part)).to_be_visible()
        page.get_by_label(name).press("Space")
        expect(page.locator(part)).to_be_hidden()
    page = show(taps(metronome={}))
    assert page.get_by_role("checkbox").count() == 0
    expect(page.locator(".tpiece-metronome")).to_have_count(0)


def test_the_metronome_sounds_only_after_a_gesture_and_differently_for_an_inflation(show):
    """No sound is made ready before Start; the inflation beat has a pitch of its own."""
    page = show(taps())
    page.evaluate("""() => {
      globalThis.made = [];
      const start = OscillatorNode.prototype.start;
      OscillatorNode.prototype.start = function (at) {
        made.push(this.frequency.value);
        start.call(this, at);
      };
    }""")
    page.wait_for_timeout(100)
    assert page.evaluate("made") == []
    begin(page)
    press(page)
    page.get_by_label("Sound").click()
    made = page.evaluate("made")
    page.wait_for_selector("[data-phase=idle]")
    assert page.evaluate("made") == made
    lead, beats = made[:3], made[3:]
    assert len(set(lead)) == 1
    assert beats[0] not in beats[1:3]
    assert beats[1:2] * 2 == beats[1:3]


def test_the_metronome_keeps_the_time_of_its_beats(show):
    """The inflation beat begins at every whole cycle: its shape turns when its count does."""
    page = show(taps(duration=3, metronome={"rate": 100, "occlude_beats": 1, "release_beats": 2}))
    page.evaluate("""() => {
      globalThis.turns = [];
      const root = document.querySelector(".tpiece-metronome");
      const note = () => turns.push([performance.now(), root.dataset.inflate]);
      new MutationObserver(note).observe(root, { attributes: true });
    }""")
    begin(page)
    page.wait_for_selector("[data-phase=idle]")
    starts = [at for at, inflate in page.evaluate("turns") if inflate == "true"]
    firsts = [starts[0], *(b for a, b in pairwise(starts) if b - a > 300)]
    gaps = [b - a for a, b in pairwise(firsts)]
    assert len(gaps) >= 3
    assert abs(median(gaps) - 600) < 100  # a beat is 200


def test_reduced_motion_leaves_the_words_alone(show):
    """No shape flashes; the count in words goes on."""
    page = show(taps(), reduced_motion="reduce")
    begin(page)
    expect(page.locator(".tpiece-pulse")).to_be_hidden()
    expect(page.get_by_label("Shape")).to_be_hidden()
    expect(page.locator(".tpiece-beat[data-now]")).to_be_visible()
    moving = "(all) => all.filter((one) => getComputedStyle(one).animationName !== 'none').length"
    assert page.locator(".tpiece *").evaluate_all(moving) == 0


def test_the_flash_is_small_and_slow(show):
    """Its shape is far smaller than what may not flash, whatever the rate asked for."""
    page = show(taps())
    box = page.locator(".tpiece-pulse").bounding_box()
    assert box["width"] * box["height"] < 21_824  # CSS pixels: the guideline's small safe area


def test_the_intervals_are_drawn_against_the_band_with_their_text_twin(show):
    """Each interval has a mark whose form says where it lies, and a row that says it in words."""
    page = show(taps(picture=PICTURE))
    name = "4 intervals, with a band from 1 to 1.5 s."
    expect(page.get_by_role("img", name=name)).to_be_visible()
    marks = page.locator(".tpiece-point").evaluate_all("(all) => all.map((m) => m.classList[1])")
    assert [mark.removeprefix("tpiece-point-") for mark in marks] == ["in", "under", "in", "over"]
    page.get_by_text("The picture in words and numbers").click()
    expect(page.get_by_text("Two of three lie inside.")).to_be_visible()
    expect(page.get_by_role("row", name="2 0.7 shorter")).to_be_visible()
    page.evaluate("model.set('picture', {})")
    expect(page.get_by_role("img", name=name)).to_have_count(0)


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "forced"])
def test_no_serious_accessibility_violation_in_any_state(show, axe_source, look):
    """Before, while it counts with the alarm on, and afterwards with the picture."""
    page = show(taps(distraction=ALARM, duration=60, picture=PICTURE), **look)
    assert axe(page, axe_source) == []
    begin(page)
    page.wait_for_selector("[data-state=open]")
    page.keyboard.down("Space")
    assert axe(page, axe_source) == []
    page.keyboard.up("Space")
    page.get_by_role("button", name="Stop", exact=True).click()
    assert axe(page, axe_source) == []


@pytest.mark.parametrize(
    "window",
    [
        {"viewport": {"width": 400, "height": 800}},
        {"viewport": {"width": 640, "height": 400}, "device_scale_factor": 2},
        {"viewport": {"width": 320, "height": 600}},
    ],
    ids=["400 px", "200 %", "320 px"],
)
def test_a_narrow_or_enlarged_page_does_not_scroll_sideways(show, window):
    """In every state all fits, and what is touched is 44 pixels high."""
    page = show(taps(distraction=ALARM, duration=60, picture=PICTURE), **window)
    wide = "document.documentElement.scrollWidth"
    assert page.evaluate(wide) <= window["viewport"]["width"]
    begin(page)
    page.wait_for_selector("[data-state=open]")
    assert page.evaluate(wide) <= window["viewport"]["width"]
    parts = page.locator("button:visible, label:visible, summary:visible")
    heights = parts.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().height)")
    assert min(heights) >= 44


def test_every_part_keeps_its_keys(show):
    """Nothing that takes the focus loses its keys to JupyterLab."""
    page = show(taps(distraction=ALARM, picture=PICTURE))
    parts = page.locator("button, input, select, summary, [tabindex]")
    marks = parts.evaluate_all("(all) => all.map((one) => one.dataset.lmSuppressShortcuts)")
    assert len(marks) > 6
    assert set(marks) == {"true"}


def test_a_closed_control_begins_nothing(show):
    """While work is being marked every button is off."""
    page = show(taps(read_only=True))
    for part in page.locator("button:visible").all():
        expect(part).to_be_disabled()
    hold(page).press("Space")
    assert page.locator("[data-phase=idle]").count() == 1
