"""A workbook page in a real JupyterLab: opening, hiding code, handing in."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.lab_site import (
    LEARNER,
    SLOW_MS,
    TOKEN,
    UNIT,
    Site,
    bar,
    dialog,
    hand_in,
    open_workshop,
    status,
)


def test_a_page_runs_by_itself_and_is_not_left_changed(unit: Page, site: Site) -> None:
    """The controls are there without a click, and closing asks nothing about saving."""
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_visible()
    assert site.runs()
    assert unit.locator(".jp-mod-dirty").count() == 0


def test_a_learner_s_page_shows_no_code_and_offers_none(unit: Page) -> None:
    """Neither code nor a button for it: nobody edits a page there."""
    expect(unit.locator(".jp-CodeCell .jp-InputArea").first).to_be_hidden()
    expect(bar(unit).get_by_role("button", name="Show code")).to_be_hidden()


def test_code_is_hidden_until_asked_for(workshop: Page) -> None:
    """No code, prompt, add-a-cell button or empty cell shows; one button brings code back."""
    unit = workshop
    code = unit.locator(".jp-CodeCell .jp-InputArea")
    tools = unit.get_by_role("toolbar", name="main area toolbar")
    for part in (code.first, tools, unit.locator(".jp-Notebook-footer")):
        expect(part).to_be_hidden()
    assert unit.locator(".jp-CodeCell").first.bounding_box() is None
    bar(unit).get_by_role("button", name="Show code").press("Enter")
    expect(code.first).to_be_visible()
    expect(tools).to_be_visible()
    bar(unit).get_by_role("button", name="Hide code").press("Enter")
    expect(code.first).to_be_hidden()


def test_whoever_has_answered_the_last_question_hands_in_there(unit: Page, site: Site) -> None:
    """The same button stands at the end of the page, one Tab from the last control."""
    before = len(site.handed_in())
    unit.get_by_role("button", name="Answer slowly").focus()
    unit.keyboard.press("Tab")
    unit.keyboard.press("Enter")
    dialog(unit, "Handed in")
    assert len(site.handed_in()) == before + 1
    unit.keyboard.press("Escape")
    unit.keyboard.press("Tab")
    home = unit.get_by_role("link", name="All lessons and exercises")
    expect(home.last).to_be_focused()
    for _ in range(2):  # past the end is the window's own, then the page begins anew
        unit.keyboard.press("Tab")
    expect(home.first).to_be_focused()


def test_handing_in_by_keyboard_delivers_page_and_answers(unit: Page, site: Site) -> None:
    """One key from inside a control hands in under the learner's own id, and says so."""
    before = len(site.handed_in())
    unit.get_by_role("button", name="Answer", exact=True).focus()
    unit.keyboard.press("Alt+Shift+H")
    said = dialog(unit, "Handed in")
    expect(said).to_contain_text(re.compile(r"Handed in at \d\d:\d\d on \d+ \w+ \d{4}\."))
    expect(said).to_contain_text("2 of 2 questions answered.")
    expect(said.get_by_role("button", name="Close")).to_be_focused()
    unit.keyboard.press("Escape")
    expect(said).to_be_hidden()
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_focused()
    expect(status(unit)).to_have_text(re.compile(r"Handed in at \d\d:\d\d"))
    assert len(site.handed_in()) == before + 1
    arrived = site.handed_in()[-1]
    assert arrived.name.startswith(f"{LEARNER}+{UNIT}+")
    assert {f"{UNIT}.ipynb", f"{UNIT}.answers.jsonl"} <= {path.name for path in arrived.iterdir()}
    assert (arrived / f"{UNIT}.answers.jsonl").read_text().count('"question"') == 2


def test_unanswered_questions_are_named_before_handing_in(unit: Page, site: Site) -> None:
    """Escape goes back with nothing handed in; the other button hands in as it is."""
    site.answer("q1")
    before = len(site.handed_in())
    hand_in(unit)
    asked = dialog(unit, "Some questions are not answered")
    expect(asked).to_contain_text("1 of 2 questions are answered.")
    expect(asked.get_by_role("listitem")).to_have_text(["Gas flow"])
    unit.keyboard.press("Escape")
    expect(status(unit)).to_have_text("Not handed in")
    assert len(site.handed_in()) == before
    hand_in(unit)
    dialog(unit, "Some questions are not answered")
    unit.keyboard.press("Enter")
    expect(dialog(unit, "Handed in")).to_contain_text("1 of 2 questions answered.")
    assert len(site.handed_in()) == before + 1


def test_a_page_without_an_answer_hands_nothing_in(unit: Page, site: Site) -> None:
    """Before the first answer there is nothing to mark, and the sentence says so."""
    (site.folder / UNIT / f"{UNIT}.answers.jsonl").unlink()
    before = len(site.handed_in())
    hand_in(unit)
    expect(dialog(unit, "Not handed in")).to_contain_text("Answer at least one question")
    assert len(site.handed_in()) == before


def test_handing_in_waits_for_an_answer_still_being_saved(unit: Page, site: Site) -> None:
    """The learner sees the wait, and it ends by itself."""
    unit.get_by_role("button", name="Answer slowly").press("Enter")
    hand_in(unit)
    expect(status(unit)).to_have_text("Waiting for 1 answer to be saved…")
    dialog(unit, "Handed in")


def test_an_answer_that_is_not_saved_is_named_and_stops_the_hand_in(unit: Page, site: Site) -> None:
    """A hand-in without the last answer would lose it, so there is none."""
    before = len(site.handed_in())
    unit.get_by_role("button", name="Answer", exact=True).press("Enter")
    hand_in(unit)
    said = dialog(unit, "Not handed in")
    expect(said.get_by_role("listitem")).to_have_text(["Order of steps"])
    expect(said).to_contain_text("Nothing was handed in.")
    assert len(site.handed_in()) == before


def test_an_unreachable_hand_in_folder_is_one_sentence_and_a_way_out(
    unit: Page, site: Site
) -> None:
    """The answers are said to be safe, with the file's name, and can be downloaded."""
    away = site.inbound.rename(site.inbound.with_name("away"))
    try:
        hand_in(unit)
        said = dialog(unit, "Not handed in")
        expect(said).to_contain_text("The hand-in folder of this course cannot be reached.")
        expect(said).to_contain_text(f"Your answers are safe in {UNIT}/{UNIT}.answers.jsonl.")
        with unit.expect_download() as download:
            said.get_by_role("button", name="Download my answers").press("Enter")
    finally:
        away.rename(site.inbound)
    assert download.value.suggested_filename == f"{UNIT}.answers.jsonl"
    assert '"q2"' in Path(download.value.path()).read_text()


REPLIES = {
    "windows": (
        200, "T\nnbgrader.exchange.abc.exchange.ExchangeError: "
        "Sorry, the exchange is not available on Windows.",
        "Handing in from this page is not possible on Windows.", "Send that file to your educator",
    ),
    "unknown": (
        200, "Traceback\n  File x\nRuntimeError: Directory size is too big.",
        "The hand-in stopped with: Directory size is too big.", "Try again in a few minutes.",
    ),
    "no service": (
        404, "", "Hand-in is not set up on this server.", "Send that file to your educator",
    ),
    "broken": (
        500, "", "The server gave no usable reply to the hand-in (code 500).", "Try again",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("code", "value", "cause", "advice"), REPLIES.values(), ids=REPLIES)
def test_every_failed_reply_gives_a_cause_and_what_to_do(
    unit: Page, code: int, value: str, cause: str, advice: str
) -> None:
    """Whatever the server replies, a learner reads a cause, the file's name and a next step."""
    body = json.dumps({"success": False, "value": value})
    unit.route("**/assignments/submit*", lambda route: route.fulfill(status=code, body=body))
    try:
        hand_in(unit)
        said = dialog(unit, "Not handed in")
    finally:
        unit.unroute("**/assignments/submit*")
    for text in (cause, f"{UNIT}.answers.jsonl", advice):
        expect(said).to_contain_text(text)


def test_the_bar_and_the_dialog_are_accessible(unit: Page, site: Site, axe_source: str) -> None:
    """The checker finds nothing in what is ours, and every target is large enough."""
    site.answer("q1")
    hand_in(unit)
    dialog(unit, "Some questions are not answered")
    unit.evaluate(axe_source)
    ours = [[".tpiece-bar"], [".tpiece-dialog"]]
    found = unit.evaluate("ours => axe.run({ include: ours })", ours)
    assert found["passes"]
    assert [f"{rule['id']}: {rule['help']}" for rule in found["violations"]] == []
    for button in unit.locator(".tpiece-bar button:visible, .tpiece-dialog button:visible").all():
        box = button.bounding_box()
        assert box
        assert box["height"] >= 44, button.inner_text()


def test_the_home_opens_first_and_a_lesson_cannot_be_handed_in(
    visitor: BrowserContext, site: Site
) -> None:
    """The workbook opens on the course's home; a lesson has no hand-in at either end."""
    page = visitor.new_page()
    page.goto(f"{site.url}/?token={TOKEN}")
    page.get_by_role("link", name="How these pages work").click(timeout=SLOW_MS)
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    expect(page.get_by_text("lesson ran", exact=True)).to_be_visible()
    expect(page.get_by_role("button", name="Save and hand in")).to_have_count(0)
    page.close()


def test_a_notebook_that_is_not_a_workbook_page_is_left_alone(
    visitor: BrowserContext, site: Site
) -> None:
    """Other notebooks get no bar, show their code and do not run."""
    page = open_workshop(visitor, site, "plain.ipynb")
    expect(page.locator(".jp-CodeCell .jp-InputArea")).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_text("| Idle")).to_be_visible(timeout=SLOW_MS)
    page.wait_for_timeout(1000)
    expect(page.get_by_text("plain ran", exact=True)).to_have_count(0)
    expect(bar(page)).to_have_count(0)
    page.close()
