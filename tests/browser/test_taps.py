"""Holding and releasing a rhythm in a browser: what is recorded and saved."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import kept
from tests.browser.steps import status
from tests.browser.taps_page import ALARM, begin, finished, hold, kinds, press, taps


def test_a_rhythm_is_held_by_keyboard_and_saved(show):
    """Start moves the focus to the big button; Space and Enter hold; the record is saved whole."""
    page = show(taps())
    begin(page)
    expect(hold(page)).to_be_focused()
    press(page)
    press(page, "Enter")
    record = finished(page)
    assert {k: record[k] for k in ("format", "version", "duration")} == {
        "format": "tpiece-taps", "version": 1, "duration": 2,
    }  # fmt: skip
    assert kinds(record) == ["press", "release"] * 2
    times = [t for t, _ in record["events"]]
    assert times == sorted(times)
    assert all(0 <= t <= 2 and round(t, 4) == t for t in times)
    assert len(kept(page)) == 1
    expect(page.get_by_text("Your last run of 2 s. Inflations: 2.")).to_be_visible()


def test_the_first_press_may_start_and_is_not_counted(show):
    """Without Start a press on the big button begins the lead-in; it is no inflation."""
    page = show(taps(metronome={}))
    hold(page).press("Space")
    expect(page.get_by_role("timer")).to_have_text("Get ready: 3")
    press(page)
    expect(page.get_by_text("Not counted yet: let go")).to_be_visible()
    page.wait_for_selector("[data-phase=count]")
    press(page)
    assert kinds(finished(page)) == ["press", "release"]


def test_a_mouse_that_lets_go_beside_the_button_has_let_go(show):
    """The pointer stays with the button while it is down; other buttons of the mouse do nothing."""
    page = show(taps())
    begin(page)
    hold(page).hover()
    page.mouse.down(button="right")
    page.mouse.up(button="right")
    page.mouse.down()
    expect(hold(page)).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".tpiece-readout")).to_have_text(re.compile("^Occluded"))
    page.mouse.move(3, 3)
    page.mouse.up()
    expect(page.locator(".tpiece-readout")).to_have_text("ReleasedInflations: 1")
    assert kinds(finished(page)) == ["press", "release"]


def test_a_finger_holds_and_another_finger_answers(show):
    """A second touch makes no click, and answers all the same; the first goes on holding."""
    page = show(taps(distraction=ALARM, duration=3), has_touch=True)
    begin(page)
    client = page.context.new_cdp_session(page)

    def point(name: str, id: int) -> dict:
        box = page.get_by_role("button", name=name).bounding_box()
        return {"x": box["x"] + 20, "y": box["y"] + 20, "id": id}

    def touch(kind: str, *points: dict) -> None:
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    page.wait_for_selector("[data-state=open]")
    first, second = point("Hold to occlude", 0), point("2 Stop the inflations", 1)
    touch("touchStart", first)
    touch("touchStart", first, second)
    touch("touchEnd", second)
    expect(page.get_by_text("Answered: Stop the inflations")).to_be_visible()
    expect(hold(page)).to_have_attribute("aria-pressed", "true")
    touch("touchEnd")
    record = finished(page)
    assert kinds(record) == ["press", "release"]
    assert record["answered"] == "stop"


def test_a_touch_the_system_takes_away_is_a_blur(show):
    """A cancelled touch ends the inflation without a true end, and the page says so."""
    page = show(taps(), has_touch=True)
    begin(page)
    client = page.context.new_cdp_session(page)
    box = hold(page).bounding_box()
    at = [{"x": box["x"] + 20, "y": box["y"] + 20}]
    client.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at})
    client.send("Input.dispatchTouchEvent", {"type": "touchCancel", "touchPoints": []})
    expect(page.get_by_text("The page lost your hold")).to_be_visible()
    assert kinds(finished(page)) == ["press", "blur"]


@pytest.mark.parametrize(
    "leave",
    [
        "dispatchEvent(new Event('blur'))",
        "Object.defineProperty(document, 'visibilityState', { value: 'hidden' });"
        "document.dispatchEvent(new Event('visibilitychange'))",
    ],
    ids=["window", "tab"],
)
def test_leaving_the_page_ends_an_open_press(show, leave):
    """Another window or tab takes the key's release; nothing stays held for ever."""
    page = show(taps())
    begin(page)
    page.keyboard.down("Space")
    page.evaluate(leave)
    page.keyboard.up("Space")
    page.evaluate(leave)
    assert kinds(finished(page)) == ["press", "blur"]


def test_a_held_key_that_repeats_is_one_press(show):
    """The keyboard repeats a held key; a hand does not."""
    page = show(taps())
    begin(page)
    for _ in range(4):  # the second and later are marked as repeats
        page.keyboard.down("Space")
    page.keyboard.up("Space")
    assert kinds(finished(page)) == ["press", "release"]


def test_two_hands_at_once_are_one_press(show):
    """Who holds first lets go; a second press and its release change nothing."""
    page = show(taps())
    begin(page)
    hold(page).hover()
    page.keyboard.down("Space")
    page.mouse.down()
    page.mouse.up()
    expect(page.locator(".tpiece-readout")).to_have_text("OccludedInflations: 1")
    page.keyboard.up("Space")
    assert kinds(finished(page)) == ["press", "release"]


def test_a_hold_that_outlasts_the_time_stays_open(show):
    """Its end lies outside the count, so none is made up; the page shows it released."""
    page = show(taps())
    begin(page)
    page.keyboard.down("Space")
    record = finished(page)
    page.keyboard.up("Space")
    assert kinds(record) == ["press"]
    expect(page.locator(".tpiece-state")).to_have_text("Released")


def test_a_click_without_a_pointer_holds_and_the_next_lets_go(show):
    """Helping devices that can only click can answer too."""
    page = show(taps())
    begin(page)
    hold(page).evaluate("(one) => one.click()")
    expect(hold(page)).to_have_attribute("aria-pressed", "true")
    hold(page).evaluate("(one) => one.click()")
    assert kinds(finished(page)) == ["press", "release"]


def test_the_last_attempt_counts_and_is_never_begun_by_accident(show):
    """Tapping on after the end begins nothing; Start again does, and both records are saved."""
    page = show(taps())
    begin(page)
    press(page)
    finished(page)
    press(page)
    expect(page.get_by_text("Choose “Start again” for another run.")).to_be_visible()
    begin(page)
    press(page)
    press(page)
    page.wait_for_function("kernel.kept.length === 2")
    assert [kinds(record).count("press") for record in kept(page)] == [1, 2]
    page = show(taps(saved={"value": kept(page)[1], "number": 3, "at": "2026-05-04T10:00:00Z"}))
    expect(page.get_by_text("Your last run of 2 s. Inflations: 2.")).to_be_visible()
    expect(page.get_by_role("button", name="Start again")).to_be_visible()


def test_an_attempt_that_is_stopped_or_empty_is_not_saved(show):
    """What was saved before stays the answer; the page waits for nothing."""
    page = show(taps(duration=0.4))
    page.get_by_role("button", name="Start").press("Enter")
    page.get_by_text("Nothing was held, so there is nothing to save.").wait_for()
    page.get_by_role("button", name="Start again").press("Enter")
    page.get_by_role("button", name="Stop").press("Enter")
    expect(page.get_by_text("Stopped. This run is not saved.")).to_be_visible()
    assert page.evaluate("[kernel.sent.length, tpieceUnsaved.size]") == [0, 0]
    expect(status(page)).to_have_text("Not answered yet.")


def test_an_attempt_under_way_counts_as_unsaved(show):
    """Handing in waits for it, and closing the page asks first."""
    page = show(taps())
    begin(page)
    assert page.evaluate("[...tpieceUnsaved.values()]") == ["Keep the rhythm."]
    press(page)
    finished(page)
    assert page.evaluate("tpieceUnsaved.size") == 0
