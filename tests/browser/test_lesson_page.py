"""A lesson in a real JupyterLab: predicted and read by keyboard alone, and still there later."""

from __future__ import annotations

import os
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.lesson_screen import table
from workbook.lesson.page import FOLDER, texts
from workbook.start.launch import environment, free_port, prepare_learner, server_command

LEARNER, TOKEN = "nurse.one", "a-made-up-key"
START_SECONDS, SLOW_MS = 180, 90_000
TABLE = texts("1_setup_order")["predict"][0]
WORDS = texts("1_setup_order")["words"]
LOOK_MS = 1200  # long enough for the needle to be read
NARROW = {"width": 400, "height": 900}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the lessons as a learner opens them."""
    top = tmp_path_factory.mktemp("lessons")
    (top / "exchange").mkdir()
    folder = prepare_learner(
        top / "work", learner=LEARNER, course_id="demo", exchange=top / "exchange", lessons=FOLDER
    )
    port = free_port()
    with (top / "server.log").open("w") as log:
        server = subprocess.Popen(
            server_command(folder, port=port, browser=False),
            env={**os.environ, **environment(folder, LEARNER, token=TOKEN)},
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            await_start(f"http://127.0.0.1:{port}/api?token={TOKEN}", top / "server.log")
            yield f"http://127.0.0.1:{port}/doc/tree/{{page}}?token={TOKEN}"
        finally:
            server.terminate()
            server.wait(timeout=20)


def await_start(url: str, log: Path) -> None:
    end = time.monotonic() + START_SECONDS
    while time.monotonic() < end:
        try:
            urllib.request.urlopen(url, timeout=2).close()
        except OSError:
            time.sleep(0.3)
        else:
            return
    raise AssertionError(log.read_text())


@pytest.fixture
def tab(chromium: Browser) -> Iterator[Page]:
    """Yield a tab of its own."""
    context = chromium.new_context()
    yield context.new_page()
    context.close()


def opened(tab: Page, address: str, name: str) -> Page:
    tab.goto(address.format(page=f"{name}.ipynb"))
    expect(tab.locator(".tpiece-status")).to_have_text("Ready", timeout=SLOW_MS)
    return tab


UNDRAWN = """() => [...document.querySelectorAll(".jp-OutputArea-output.lm-Panel")]
  .filter((one) => !one.querySelector(".tpiece, [data-tpiece-later]")).length"""


def prediction(tab: Page) -> Locator:
    return tab.get_by_role("group", name=TABLE["label"])


def result(tab: Page) -> Locator:
    return tab.get_by_role("table", name=WORDS["title"])


def unfold(tab: Page) -> None:
    """Open the fold that the result's table lies in, by keyboard."""
    tab.locator("summary", has_text=WORDS["title"]).focus()
    tab.keyboard.press("Enter")


def test_a_page_waits_for_nothing_that_is_still_to_be_asked_for(tab: Page, address: str):
    """When it says that it is ready all is drawn, or says itself that it comes later."""
    opened(tab, address, "1_setup_order")
    assert tab.evaluate(UNDRAWN) == 0
    assert tab.locator("[data-tpiece-later]").count() > 0


def test_a_prediction_by_keyboard_opens_the_result_and_stays(tab: Page, address: str):
    """Space chooses, Tab goes on, Enter asks: result and reason appear, and survive a reload."""
    opened(tab, address, "1_setup_order")
    assert result(tab).count() == 0
    first = prediction(tab).get_by_role("radio").first
    first.focus()
    tab.keyboard.press("Space")
    expect(prediction(tab).get_by_text("Saved at")).to_be_visible()
    tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    expect(prediction(tab).get_by_text("Your answer: ")).to_be_visible()
    unfold(tab)
    expect(result(tab)).to_be_visible()
    source = tab.locator(".tpiece-card summary").first
    source.focus()
    tab.keyboard.press("Enter")
    expect(tab.locator(".tpiece-card details").first).to_have_attribute("open", "")

    tab.reload()
    opened(tab, address, "1_setup_order")
    expect(prediction(tab).get_by_text("Your answer: ")).to_be_visible(timeout=SLOW_MS)
    unfold(tab)
    expect(result(tab)).to_be_visible()


def test_a_run_by_keyboard_stands_beside_the_prediction(tab: Page, address: str):
    """Hold, turn, release, use the run: the needle's last readings come after what was expected."""
    opened(tab, address, "2_bench")
    asked, tried = (
        tab.get_by_role("group", name=table(kind, id)["label"], exact=True)
        for kind, id in (("predict", "predict-order"), ("bench", "bench-order"))
    )
    asked.get_by_role("radio").first.focus()
    tab.keyboard.press("Space")
    expect(asked.get_by_text("Saved at")).to_be_visible()
    tried.get_by_role("button", name="Keep occluded").focus()
    tab.keyboard.press("Space")
    tried.get_by_role("slider", name="PIP control").focus()
    tab.keyboard.press("End")
    tab.wait_for_timeout(LOOK_MS)
    tried.get_by_role("button", name="Keep occluded").focus()
    tab.keyboard.press("Space")
    tab.wait_for_timeout(LOOK_MS)
    tried.get_by_role("button", name="Use this run as my answer").focus()
    tab.keyboard.press("Enter")
    expect(tried.get_by_text("Saved at")).to_be_visible(timeout=SLOW_MS)
    tried.get_by_role("button", name=texts("2_bench")["words"]["compare"]).focus()
    tab.keyboard.press("Enter")
    heading = tried.get_by_text("Your answer: ")
    expect(heading).to_be_visible()
    expect(heading).to_contain_text("On your bench, occluded, the needle showed ")
    expect(heading).to_contain_text("Released, it showed ")
    for says in table("bench", "bench-order")["finds"].values():
        expect(tried.get_by_text(says["met"])).to_be_visible()


def test_nothing_is_cut_off_in_a_narrow_window(tab: Page, address: str):
    """Tables and cards wrap; no output is wider than its place."""
    opened(tab, address, "1_setup_order")
    tab.set_viewport_size(NARROW)
    tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    wide = tab.evaluate(
        """() => [...document.querySelectorAll('.tpiece-sheet, .tpiece-card, .tpiece-table')]
             .filter((e) => e.clientWidth && e.scrollWidth > e.clientWidth + 1)
             .map((e) => e.textContent.slice(0, 60))"""
    )
    assert wide == []
    shown = tab.evaluate("document.querySelectorAll('.tpiece-table').length")
    assert shown >= 1


def test_counting_practice_answers_by_words_and_by_picture(tab: Page, address: str):
    """A choice is told what it shows; inflations by keyboard come back against the band."""
    opened(tab, address, "4_rate_counting")
    words = texts("4_rate_counting")
    asked = tab.get_by_role("group", name=words["practice"]["last"]["label"])
    asked.get_by_role("radio").first.check()
    asked.get_by_role("button", name=words["words"]["check"]).click()
    expect(asked.get_by_text(words["words"]["heading"])).to_be_visible()

    hand = tab.get_by_role("group", name=words["tap"][1]["label"])
    hand.locator(".tpiece-hold").focus()
    tab.keyboard.press("Space")
    hand.get_by_text("s left").wait_for()
    while hand.get_by_text("s left").count():
        tab.keyboard.down("Space")
        tab.wait_for_timeout(400)
        tab.keyboard.up("Space")
        tab.wait_for_timeout(800)
    expect(hand.get_by_text("Saved at")).to_be_visible()
    hand.get_by_role("button", name=words["words"]["check"]).click()
    expect(hand.get_by_text("Your hand gave")).to_be_visible()
    expect(hand.get_by_role("img", name="intervals")).to_be_visible()
