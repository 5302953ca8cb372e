"""How an answer becomes "Saved", whatever the kernel does: busy, dead, refusing, restarted."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.control_page import kept
from tests.browser.steps import (
    ELSEWHERE,
    IDS,
    choice,
    number,
    sequence,
    status,
    stop_time,
)


def test_an_answer_counts_as_unsaved_from_the_first_change(show):
    """Who hands in at once waits for it, though it is sent only after a pause."""
    page = show(sequence())
    stop_time(page)
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("[...tpieceUnsaved.values()]") == ["Arrange the steps."]
    assert kept(page) == []
    page.clock.resume()
    expect(status(page)).to_contain_text("Saved")
    assert page.evaluate("tpieceUnsaved.size") == 0


def test_a_view_that_closes_sends_what_it_holds(show):
    """An answer given a moment before the view goes is not lost, and nobody waits for the view."""
    page = show(sequence())
    stop_time(page)
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.evaluate("leave()")
    assert page.evaluate("tpieceUnsaved.size") == 0
    page.clock.resume()
    page.wait_for_function("kernel.kept.length === 1")
    assert kept(page) == [["warm", "wash", "clock", "call"]]


def test_an_answer_left_unsaved_is_taken_up_by_the_view_that_comes_after(show):
    """A page that runs itself again after a dead kernel still has what was answered meanwhile."""
    page = show(choice())
    page.evaluate("kernel.mode = 'dead'")
    page.get_by_label("Start the clock.").check()
    page.evaluate("leave()")
    page.evaluate("document.querySelector('main > div').remove()")
    page.evaluate("kernel.mode = 'ok'")
    page.evaluate("void view()")
    expect(page.get_by_label("Start the clock.")).to_be_checked()
    page.wait_for_function("kernel.kept.length === 1")
    assert kept(page) == ["clock"]


def test_a_busy_kernel_gets_the_answer_again_until_it_answers(show):
    """Nothing is called saved before it is; only the newest answer is sent again."""
    page = show(choice())
    page.clock.install()
    page.evaluate("kernel.mode = 'busy'")
    page.get_by_label("Call for help.").check()
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Saving…")
    assert page.evaluate("[...tpieceUnsaved.values()]") == ["Choose what is missing."]
    page.clock.run_for(1_100)
    page.evaluate("kernel.mode = 'ok'")
    page.clock.run_for(3_000)
    expect(status(page)).to_contain_text("Saved")
    sent = page.evaluate("kernel.sent.map(({ seq, value }) => [seq, value])")
    assert sent == [[1, "call"], [2, "clock"], [2, "clock"], [2, "clock"]]
    assert kept(page) == ["clock"]
    assert page.evaluate("tpieceUnsaved.size") == 0


def test_a_kernel_that_stays_away_is_told_in_plain_words(show):
    """After several tries the page says that nothing is saved, and goes on trying."""
    page = show(choice(saved={**ELSEWHERE, "value": "wash"}))
    expect(status(page)).to_have_attribute("data-number", "9")
    page.clock.install()
    page.evaluate("kernel.mode = 'dead'")
    page.get_by_label("Start the clock.").check()
    page.clock.run_for(20_000)
    expect(status(page)).to_contain_text("Not saved yet: the workbook's engine is busy")
    page.evaluate("kernel.mode = 'ok'")
    page.clock.run_for(6_000)
    expect(status(page)).to_contain_text("Saved")


def test_a_refused_answer_can_be_sent_again(show):
    """What the disk said reaches the learner; the same answer is tried again on demand."""
    page = show(choice())
    page.evaluate("kernel.mode = 'refuse'")
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Not saved: disk full.")
    page.evaluate("kernel.mode = 'ok'")
    page.get_by_role("button", name="Try again").press("Enter")
    expect(status(page)).to_contain_text("Saved")
    expect(status(page)).to_be_focused()
    expect(page.get_by_role("button", name="Try again")).to_have_count(0)
    assert kept(page) == ["clock"]


def test_a_second_view_follows_what_was_saved_in_the_first(show):
    """A view without changes of its own shows the newest saved answer."""
    page = show(sequence())
    page.evaluate("void view()")  # what it returns would be called
    page.get_by_label(re.compile("Place of: Call")).first.fill("1")
    page.keyboard.press("Enter")
    second = page.locator(".tpiece").nth(1)
    expect(second.locator(".tpiece-text").first).to_have_text("Call for help.")
    expect(second.get_by_role("status")).to_have_attribute("data-number", "2")


def test_a_view_with_changes_of_its_own_keeps_them_and_says_so(show):
    """What was saved elsewhere does not replace what is being saved or cannot be saved."""
    page = show(sequence())
    stop_time(page)
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    saved = {**ELSEWHERE, "value": ["call", *IDS[:3]]}
    page.evaluate("(saved) => model.set('saved', saved)", saved)
    expect(status(page)).to_contain_text("Another copy of this page saved a different answer.")
    expect(page.locator(".tpiece-text").first).to_have_text("Switch on the heater.")
    page = show(number())
    page.get_by_role("textbox").fill("high")
    saved = {**ELSEWHERE, "value": {"text": "3", "unit": "kPa"}}
    page.evaluate("(saved) => model.set('saved', saved)", saved)
    expect(status(page)).to_contain_text("Yours is not saved.")
    expect(page.get_by_role("textbox")).to_have_value("high")


def test_leaving_with_an_unsaved_answer_asks_first(show):
    """Closing the page while an answer is on its way brings up the browser's question."""
    page = show(choice())
    page.evaluate("kernel.mode = 'busy'")
    page.get_by_label("Start the clock.").check()
    with page.expect_event("dialog") as asked:
        page.close(run_before_unload=True)
    assert asked.value.type == "beforeunload"
    asked.value.accept()


def test_a_check_waits_until_the_answer_on_the_page_is_saved(show):
    """Feedback is about what the learner sees, not about the answer before."""
    page = show(sequence(check=lambda value: {}))
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.get_by_role("button", name="Check my answer").click()
    page.wait_for_function("kernel.checks === 1")
    assert page.evaluate("kernel.sent.map((message) => message.kind)") == ["answer", "check"]
