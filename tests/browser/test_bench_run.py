"""A run at the live bench as a whole: saved, shown again, replayed, through a busy kernel."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from tests.browser.bench_page import bench, dial, hold, kinds, needle, record, stands, use
from tests.browser.control_page import kept
from workbook.bench import DIALS, circuit_at
from workbook.bench.baby import healthy
from workbook.core.language import fixed
from workbook.physics.steady import steady_reading
from workbook.widgets.bench.words import WORDS

PAUSE_MS = 600
STIFF = fixed(WORDS)["benchFault_lung-stiff"]  # nothing that a capped outlet shows
HIDE = """(how) => {
  Object.defineProperty(document, "visibilityState", { value: how, configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
}"""
RUN = {
    "format": "tpiece-hands", "version": 1, "duration": 2.0,
    "actions": [[0.0, "pip", 90], [0.3, "occlude"], [1.6, "release"], [1.8, "open"]],
}  # fmt: skip
SAVED = {"value": RUN, "number": 4, "at": "2026-05-04T10:00:00Z"}


def told(page):
    return page.locator(".tpiece-bench-told")


def waiting(page):
    return page.evaluate("[...tpieceUnsaved.values()]")


def again(page):
    return page.get_by_role("button", name="Start again")


def test_a_bench_at_rest_waits_for_the_first_touch(live):
    """Nothing runs, nothing counts as unsaved, and there is nothing to hand over."""
    page = live(bench())
    expect(page.get_by_role("timer")).to_have_text("Run: 0 s of 600 s")
    page.wait_for_timeout(1100)
    expect(page.get_by_role("timer")).to_have_text("Run: 0 s of 600 s")
    assert needle(page) == pytest.approx(5, abs=0.5)
    for name in ("Pause", "Start again", "Replay the run", "Use this run as my answer"):
        expect(page.get_by_role("button", name=name)).to_have_attribute("aria-disabled", "true")
    assert waiting(page) == []


def test_a_run_is_saved_named_and_saved_once(live):
    """The kernel's word alone says saved; the page names what it holds."""
    page = live(bench())
    hold(page).press("Space")
    assert waiting(page) == ["Work at the bench."]
    use(page)
    expect(page.get_by_text(re.compile(r"Your saved run: 2 actions in \d s\."))).to_be_visible()
    expect(told(page)).to_contain_text("Paused.")
    assert waiting(page) == []
    assert len(kept(page)) == 1


def test_after_a_reload_the_saved_run_is_named_and_replayed(live):
    """The controls are locked and move by themselves; then one may go on from there."""
    page = live(bench(saved=SAVED))
    expect(page.get_by_text("Your saved run: 4 actions in 2 s.")).to_be_visible()
    page.get_by_role("button", name="Replay the run").click()
    expect(told(page)).to_have_text("Replaying. The controls move by themselves.")
    expect(dial(page, "PIP control")).to_be_disabled()
    expect(dial(page, "PIP control")).to_have_attribute("aria-valuetext", "4.50 of 12 turns")
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()
    page.wait_for_timeout(500)
    assert needle(page) == pytest.approx(30, abs=1)
    expect(told(page)).to_have_text("The replay has ended. You may go on from here.")
    expect(page.get_by_label("Open to the air")).to_be_checked()
    expect(dial(page, "PIP control")).to_be_enabled()
    expect(page.get_by_role("log")).to_contain_text("PIP control: 4.50 of 12 turns")
    assert kept(page) == []


def test_what_goes_on_after_a_replay_is_one_run(live):
    """A learner may take up yesterday's run; it becomes the answer when chosen."""
    page = live(bench(saved=SAVED))
    page.get_by_role("button", name="Replay the run").click()
    page.get_by_role("button", name="Skip to the end").click()
    dial(page, "Flow").press("ArrowUp")
    expect(page.get_by_text("Your saved run counts until you use another one.")).to_be_visible()
    use(page)
    run = record(page)
    assert run["actions"][:4] == RUN["actions"]
    assert kinds(run)[4:] == ["flow"]
    assert run["actions"][4][0] >= 2


def test_an_aperture_left_occluded_by_a_record_can_be_released(live):
    """A record may end in the middle of an inflation."""
    actions = [[0.0, "occlude"]]
    page = live(bench(saved={**SAVED, "value": {**RUN, "actions": actions}}))
    page.get_by_role("button", name="Replay the run").click()
    page.get_by_role("button", name="Skip to the end").click()
    page.get_by_role("button", name="Keep occluded").click()
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()


def test_start_again_asks_once_when_a_run_is_not_saved(live):
    """Dropped only at the second choice; the bench then stands as at first."""
    page = live(bench())
    dial(page, "PIP control").press("End")
    again(page).click()
    expect(told(page)).to_contain_text("This run is not saved.")
    expect(dial(page, "PIP control")).to_have_attribute(
        "aria-valuetext", "turned fully up: no limit"
    )
    again(page).click()
    expect(dial(page, "PIP control")).to_have_attribute("aria-valuetext", "2.50 of 12 turns")
    assert waiting(page) == []
    hold(page).press("Space")
    use(page)
    assert kinds(record(page)) == ["occlude", "release"]
    again(page).click()
    expect(again(page)).to_have_attribute("aria-disabled", "true")


def test_a_first_run_is_saved_on_the_way_and_a_chosen_one_stays(live):
    """On a pause the run so far is kept; once one was chosen, only another choice replaces it."""
    page = live(bench())
    hold(page).press("Space")
    page.get_by_role("button", name="Pause").click()
    page.wait_for_function("kernel.kept.length === 1")
    page.get_by_role("button", name="Go on").click()
    hold(page).press("Space")
    use(page)
    again(page).click()
    dial(page, "PIP control").press("End")
    page.get_by_role("button", name="Pause").click()
    page.wait_for_timeout(200)
    assert [len(run["actions"]) for run in kept(page)] == [2, 4]
    assert waiting(page) == []


def test_a_run_goes_over_to_the_control_that_takes_its_place(live):
    """When the page runs itself again, as after a dead kernel, the run so far is not lost."""
    page = live(bench())
    hold(page).press("Space")
    page.evaluate("leave(); document.querySelector('.tpiece').remove(); view()")
    expect(page.get_by_text("Your saved run: 2 actions").last).to_be_visible()
    page.wait_for_function("kernel.kept.length >= 1")
    assert kinds(record(page)) == ["occlude", "release"]


def test_a_turn_needs_no_kernel(live):
    """The page joins the tables of any setting itself: after each leap the model's own needle."""
    page, stood = live(bench()), dict(stands().positions)
    page.evaluate("kernel.mode = 'dead'")
    page.get_by_role("button", name="Keep occluded").click()
    ends = {"pip": ("PIP control", "End"), "relief": ("relief", "Home"), "flow": ("Flow", "End")}
    for id, (name, key) in ends.items():
        dial(page, name).press(key)
        stood[id] = DIALS[id].clicks if key == "End" else 0
        page.wait_for_timeout(300)
        wanted = steady_reading(circuit_at(stood), held=True)
        assert needle(page) == pytest.approx(wanted, abs=0.05), id
    assert page.evaluate("kernel.sent.filter(({ kind }) => kind === 'laws')") == []


def test_a_busy_kernel_is_told_and_caught_up_with(live):
    """Where something is wrong the old needle plays on; what comes shows what would have shown."""
    page = live(bench(outlets=["capped", "lung"], educator=True))
    page.get_by_role("combobox", name="What is wrong").select_option(STIFF)
    page.get_by_role("button", name="Show it").press("Enter")
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(500)
    page.evaluate("kernel.mode = 'busy'")
    dial(page, "PIP control").press("End")
    expect(told(page)).to_contain_text("engine is busy")
    assert needle(page) == pytest.approx(20, abs=0.5)
    page.evaluate("kernel.mode = 'ok'")
    page.wait_for_timeout(3000)
    expect(told(page)).to_be_empty()
    assert needle(page) == pytest.approx(40, abs=1)


def test_a_hidden_page_pauses_and_lets_go(live):
    """No bench runs unseen; the next touch goes on."""
    page = live(bench())
    hold(page).focus()
    begun = time.monotonic()
    page.keyboard.down("Space")
    page.wait_for_timeout(200)
    page.evaluate(HIDE, "hidden")
    expect(told(page)).to_contain_text("Paused, because this page was out of sight.")
    page.evaluate(HIDE, "visible")
    page.keyboard.up("Space")
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()
    page.wait_for_timeout(PAUSE_MS)
    dial(page, "Flow").press("ArrowUp")
    took = time.monotonic() - begun
    use(page)
    run = record(page)
    assert kinds(run) == ["occlude", "release", "flow"]
    assert run["actions"][2][0] <= took - PAUSE_MS / 1000


def test_a_pause_stops_the_clock_and_letting_go_does_not_start_it(live):
    """A hold may end in a pause, at the time it was made."""
    page = live(bench())
    hold(page).focus()
    begun = time.monotonic()
    page.keyboard.down("Space")
    page.get_by_role("button", name="Pause").click()
    page.wait_for_timeout(PAUSE_MS)
    page.keyboard.up("Space")
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()
    expect(page.get_by_role("button", name="Go on")).to_be_visible()
    dial(page, "Flow").press("ArrowUp")
    took = time.monotonic() - begun
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    use(page)
    assert record(page)["actions"][2][0] <= took - PAUSE_MS / 1000


def test_a_run_ends_at_its_limit_with_a_sentence(live):
    """Then nothing is taken any more, and the run can still be handed over."""
    page = live(bench(limit=1))
    hold(page).press("Space")
    expect(told(page)).to_contain_text("The run has reached its end at 1 s.")
    dial(page, "Flow").press("End")
    expect(dial(page, "Flow")).to_have_attribute("aria-valuetext", "8 L/min")
    use(page)
    assert record(page)["duration"] == 1
    again(page).click()
    dial(page, "Flow").press("End")
    expect(dial(page, "Flow")).to_have_attribute("aria-valuetext", "15 L/min")


def test_a_run_that_is_full_says_so(live):
    """The last action that fits is taken; the next is not, and the control shows it."""
    control = bench()
    control.most = 2
    page = live(control)
    for _ in range(4):
        dial(page, "PIP control").press("ArrowUp")
    expect(told(page)).to_contain_text("The run holds 2 actions, which is the most.")
    expect(dial(page, "PIP control")).to_have_value("52")


def test_a_closed_bench_takes_no_hands(live):
    """While work is being marked nothing moves, but the run can be looked at."""
    page = live(bench(saved=SAVED, read_only=True))
    expect(dial(page, "PIP control")).to_be_disabled()
    hold(page).press("Space")
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()
    page.get_by_role("button", name="Replay the run").click()
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()


def test_a_tube_is_a_tube_in_every_word(live):
    """Label, drawing and leak speak of what the baby has."""
    tubed = replace(stands("lung"), lung=healthy(1.0, 2.5), weight=1.0)
    page = live(bench(bench=tubed))
    expect(page.get_by_role("radio", name="Tube in the baby")).to_be_checked()
    expect(dial(page, "Leak beside the tube")).to_be_visible()
    assert "mask" not in page.locator("main").inner_text().lower()
