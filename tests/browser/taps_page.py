"""A control for tapping on a page of its own, and hands for it."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

from tests.browser.control_page import kept
from tests.browser.steps import given, status
from workbook.widgets import Taps

# A count far faster than a hand's, so that the lead-in is short: three beats of 100 ms.
QUICK = {"rate": 200, "occlude_beats": 1, "release_beats": 2}
ALARM = {
    "at": 0.2,
    "says": "The heater's alarm sounds.",
    "sound": True,
    "options": [{"id": "go-on", "text": "Go on"}, {"id": "stop", "text": "Stop the inflations"}],
}
PICTURE = {
    "low": 1.0, "high": 1.5, "unit": "s", "says": "Two of three lie inside.",
    "intervals": [1.2, 0.7, 1.5, 1.9],
}  # fmt: skip


def taps(**more):
    more = {"duration": 2.0, "metronome": QUICK, "save": given, **more}
    return Taps("tap", "Keep the rhythm.", **more)


def begin(page: Page) -> None:
    """Start by keyboard and wait until the count has begun."""
    page.get_by_role("button", name="Start").press("Enter")
    page.wait_for_selector("[data-phase=count]")


def finished(page: Page) -> dict:
    """Wait for the end and return the newest saved record."""
    page.wait_for_selector("[data-phase=idle]")
    expect(status(page)).to_contain_text("Saved")
    return kept(page)[-1]


def hold(page: Page) -> Locator:
    return page.get_by_role("button", name="Hold to occlude, let go to release")


def kinds(record: dict) -> list[str]:
    return [kind for _, kind in record["events"]]


def press(page: Page, key: str = "Space", seconds: float = 0.05) -> None:
    page.keyboard.down(key)
    page.wait_for_timeout(seconds * 1000)
    page.keyboard.up(key)
