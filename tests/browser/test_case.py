"""A case from birth in a bare browser: by keys alone, what it shows, keeps and never tells."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from graders.units.scenario.marks import of_record
from tests.browser.control_page import axe, faultless, kept, open_live
from tests.browser.steps import given
from tests.scenario_base import BOOK, case
from workbook.scenario import read_scenario, replay, seconds
from workbook.widgets.case import CaseControl

# A page beside its frame, an older screen, a tablet, a phone.
WINDOWS = [(1280, 720), (1024, 768), (820, 1180), (390, 844)]
# A machine that sleeps: its clock jumps, and no picture is drawn meanwhile.
SLEEPS = """() => {
  const now = performance.now.bind(performance);
  let slept = 0;
  performance.now = () => now() + slept;
  globalThis.sleepFor = (ms) => (slept += ms);
}"""
TABS = ("Baby", "Mask", "Device", "Gas", "Heart", "Team")


@pytest.fixture
def play(chromium):
    """Yield what opens a case that the workbook steps; no page may have an error."""
    with faultless() as (pages, errors):

        def _open(made: CaseControl, **context):
            pages.append(open_live(chromium, made, errors, "laws", **context))
            return pages[-1]

        yield _open


def control(kind="easy", seed=3, **more) -> CaseControl:
    return CaseControl("case-1", "A case.", case=case(kind, seed), book=BOOK, save=given, **more)


def read(record):
    return read_scenario(record, "case-1", seconds(BOOK), BOOK["scenario.limit"].value)


def choose(page: Page, tab: str) -> None:
    """Go to a part by keys: Tab comes to the tabs, arrows choose one."""
    page.locator("[role=tab][aria-selected=true]").focus()
    page.keyboard.press("Home")
    for _ in range(TABS.index(tab)):
        page.keyboard.press("ArrowRight")


def press(page: Page, act: str) -> None:
    """Press an act with Enter once the hands are free."""
    key = page.locator(f"[data-act='{act}']")
    expect(key).to_have_attribute("aria-disabled", "false", timeout=40_000)
    key.focus()
    page.keyboard.press("Enter")


def inflate(page: Page, count: int) -> None:
    """Cover the hole by Space, wherever the focus is."""
    expect(page.locator(".tpiece-case[data-busy]")).to_have_count(0, timeout=20_000)
    for _ in range(count):
        page.keyboard.down("Space")
        page.wait_for_timeout(500)
        page.keyboard.up("Space")
        page.wait_for_timeout(700)


def sees(page: Page, name: str) -> str:
    return page.locator(f"[data-sees={name}] dd").inner_text()


def test_a_case_is_played_by_keys_alone_to_its_end_and_marked(play):
    """Mask on, inflations by Space, beats counted and said, handed over; then it is marked."""
    made = control()
    page = play(made, viewport={"width": 1280, "height": 720})
    page.get_by_role("button", name="The baby is born").focus()
    page.keyboard.press("Enter")
    choose(page, "Heart")
    press(page, "listen")
    choose(page, "Mask")
    press(page, "connect")
    inflate(page, 8)
    expect(page.locator("[data-sees=Listen] dd")).to_contain_text("beats in 6 s", timeout=20_000)
    assert sees(page, "Chest") in ("moves", "moves a little")
    choose(page, "Team")
    press(page, "say heart-please")
    choose(page, "Heart")
    count = int(sees(page, "Listen").split()[0])
    rate = page.get_by_label("Heart rate a minute")
    rate.fill(str(10 * count))
    say = page.locator(".tpiece-case-typed").filter(has=rate).get_by_role("button")
    expect(say).to_have_attribute("aria-disabled", "false", timeout=20_000)
    page.keyboard.press("Enter")
    inflate(page, 2)
    for _ in range(2):
        page.get_by_role("button", name="End the case").focus()
        page.keyboard.press("Enter")
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved", timeout=20_000)
    record = kept(page)[-1]
    assert record["ended"] == "whole"
    played = read(record)
    acts = [one.act for one in played.done]
    assert acts.count("occlude") == acts.count("release") == 10
    assert ("heart-rate", 10 * count) in [(one.act, one.what) for one in played.done]
    assert len(replay(made._case, played, BOOK).inflations) == 10
    verdict = of_record(made._case, record, BOOK)
    assert any(finding.earned for finding in verdict.findings)


@pytest.mark.parametrize("mode", ["live", "practice"])
@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_all_that_is_needed_while_acting_is_in_one_window(play, width, height, mode):
    """Clock, baby, gauge, acts of every part and the hole: nothing below the fold, nothing cut."""
    more = {"mode": mode, "prompts": "guided" if mode == "practice" else ""}
    page = play(control(**more), viewport={"width": width, "height": height})
    page.get_by_role("button", name="The baby is born").click()
    top = ".tpiece-case-stage"
    page.locator(top).evaluate("(n) => n.scrollIntoView({ block: 'start' })")
    for tab in TABS:
        page.get_by_role("tab", name=tab, exact=True).click()
        out = page.evaluate(
            """() => [...document.querySelectorAll('.tpiece-case-clock, .tpiece-case-sees dd,'
              + '.tpiece-bench-gauge, [role=tabpanel]:not([hidden]) button, .tpiece-hold')]
              .filter((n) => n.checkVisibility())
              .filter((n) => { const b = n.getBoundingClientRect();
                return b.top < -1 || b.bottom > innerHeight + 1 || b.right > innerWidth + 1; })
              .map((n) => n.textContent.slice(0, 30))"""
        )
        assert out == [], tab
        assert drawn(page)["height"] >= 130, tab
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert covered(page) == []


def drawn(page: Page) -> dict[str, float]:
    """Return where the picture of bench and baby stands."""
    box = page.locator(".tpiece-case .tpiece-bench-view svg").first.bounding_box()
    assert box is not None
    return box


def covered(page: Page) -> list[str]:
    """Return which of the parts in one window lie over one another."""
    return page.evaluate(
        """() => {
          const names = ['.tpiece-case-clock', '.tpiece-case-sees', '.tpiece-bench-view',
            '.tpiece-case-prompt', '.tpiece-trial-tabs', '.tpiece-trial-tray', '.tpiece-trial-log',
            '.tpiece-trial-hand'];
          const boxes = names.map((n) => [n, document.querySelector('.tpiece-case ' + n)])
            .filter(([, n]) => n.checkVisibility()).map(([n, e]) => [n, e.getBoundingClientRect()]);
          const over = (a, b) => a.left < b.right - 1 && b.left < a.right - 1
            && a.top < b.bottom - 1 && b.top < a.bottom - 1;
          return boxes.flatMap(([n, a], i) => boxes.slice(i + 1)
            .filter(([, b]) => over(a, b)).map(([m]) => n + ' ' + m));
        }"""
    )


@pytest.mark.parametrize(("width", "height"), [(844, 390), (640, 360)])
def test_a_low_window_shows_baby_gauge_monitors_clock_and_hole_together(play, width, height):
    """A phone on its side, and twice the size: what can be done scrolls beside them."""
    page = play(control(mode="practice", prompts="guided"),
                viewport={"width": width, "height": height})  # fmt: skip
    page.get_by_role("button", name="The baby is born").click()
    page.locator(".tpiece-case-stage").evaluate("(n) => n.scrollIntoView({ block: 'start' })")
    for name in (".tpiece-case-clock", ".tpiece-case-sees", ".tpiece-bench-view", ".tpiece-hold"):
        box = page.locator(f".tpiece-case {name}").bounding_box()
        assert box is not None
        assert box["y"] >= -1, name
        assert box["y"] + box["height"] <= height + 1, name
    assert drawn(page)["height"] >= 100
    page.get_by_role("tab", name="Mask", exact=True).click()
    page.locator("[data-act=tube]").scroll_into_view_if_needed()
    expect(page.locator("[data-act=tube]")).to_be_in_viewport()
    assert covered(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_number_typed_while_the_hands_are_busy_stays_and_the_page_says_why_it_waits(play):
    """It is taken with the same key once they are free."""
    page = play(control())
    page.get_by_role("button", name="The baby is born").click()
    page.get_by_role("tab", name="Baby", exact=True).click()
    page.locator("[data-act=dry]").click()
    page.get_by_role("tab", name="Heart", exact=True).click()
    rate = page.get_by_label("Heart rate a minute")
    rate.fill("70")
    page.keyboard.press("Enter")
    says = page.get_by_text("Not yet: Warm and dry the baby. What you typed stays")
    expect(says).to_be_visible()
    assert rate.input_value() == "70"
    say = page.get_by_role("button", name="Say it")
    expect(say).to_have_attribute("aria-disabled", "false", timeout=40_000)
    expect(says).to_be_hidden()
    say.click()
    expect(rate).to_have_value("")
    expect(page.get_by_role("log")).to_contain_text("“Heart rate 70.”")


def test_a_kernel_that_is_late_stops_the_clock_and_nothing_is_lost(play):
    """One line says so; what was done is saved as broken off; then it goes on."""
    page = play(control())
    page.get_by_role("button", name="The baby is born").click()
    page.get_by_role("tab", name="Mask").click()
    page.locator("[data-act=connect]").click()
    page.wait_for_timeout(600)
    page.evaluate("kernel.mode = 'busy'")
    expect(page.get_by_text("The clock waits")).to_be_visible(timeout=20_000)
    clock = page.locator("[role=timer]")
    stood = clock.inner_text()
    page.wait_for_timeout(1500)
    assert clock.inner_text() == stood
    page.evaluate("kernel.mode = 'ok'")
    expect(clock).not_to_have_text(stood, timeout=20_000)


def test_a_case_that_broke_off_goes_on_from_where_it_stood(play):
    """Also in a kernel that is new: it gets all that was done."""
    record = {
        "format": "tpiece-scenario", "version": 1, "case": "case-1", "duration": 21_000,
        "ended": "midway", "acts": [[1000, "connect"], [3000, "occlude"]],
    }  # fmt: skip
    saved = {"value": record, "number": 1, "at": "2026-05-04T10:00:00Z", "client": "x", "seq": 1}
    page = play(control(saved=saved))
    expect(page.get_by_text("stands at 0:21")).to_be_visible()
    expect(page.get_by_role("log")).to_contain_text("0:01 You: Put the mask on the baby")
    expect(page.locator("[role=timer]")).to_have_text("0:21")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("[role=timer]")).to_have_text("0:23", timeout=20_000)
    assert page.locator("[data-sees=Breath] dd").inner_text() == "none"
    for _ in range(2):
        page.get_by_role("button", name="End the case").click()
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved", timeout=20_000)
    acts = kept(page)[-1]["acts"]
    assert acts[:3] == [[1000, "connect"], [3000, "occlude"], [21_000, "release"]]
    assert read(kept(page)[-1]).midway is False


def test_nothing_hidden_comes_to_the_page(play):
    """Neither a course nor a depth, in traits or messages."""
    page = play(control("stiff"))
    page.get_by_role("button", name="The baby is born").click()
    page.wait_for_timeout(1500)
    html = page.content().lower()
    assert "stiff" not in json.dumps(page.evaluate("kernel.sent"))
    assert not [word for word in ("asphyxia", "overshoot", '"stiff"') if word in html]


def test_it_can_be_operated_by_everybody(play, axe_source):
    """No serious accessibility violation before and while; light, dark, in forced colours."""
    looks = ({"color_scheme": "light"}, {"color_scheme": "dark"}, {"forced_colors": "active"})
    for look in looks:
        page = play(control(mode="practice", prompts="guided"), **look)
        assert axe(page, axe_source, ".tpiece") == []
        page.get_by_role("button", name="The baby is born").click()
        page.wait_for_timeout(800)
        assert axe(page, axe_source, ".tpiece") == []


def test_practice_pauses_goes_slowly_and_begins_again(play):
    """None of it is there in an exercise."""
    page = play(control())
    page.get_by_role("button", name="The baby is born").click()
    for name in ("Pause", "Slow motion", "Start again from birth"):
        expect(page.get_by_role("button", name=name)).to_be_hidden()
    page = play(control(mode="practice", prompts="faded"))
    page.get_by_role("button", name="The baby is born").click()
    expect(page.locator(".tpiece-case-prompt")).to_contain_text("What comes first?", timeout=20_000)
    page.get_by_role("button", name="Pause").click()
    stood = page.locator("[role=timer]").inner_text()
    page.wait_for_timeout(1200)
    expect(page.locator("[role=timer]")).to_have_text(stood)


def test_a_machine_that_slept_goes_on_from_the_last_picture(play):
    """The time asleep is no time of the case: it pauses, says so, and keeps what was done."""
    page = play(control())
    page.evaluate(SLEEPS)
    page.get_by_role("button", name="The baby is born").click()
    page.get_by_role("tab", name="Mask").click()
    page.locator("[data-act=connect]").click()
    page.wait_for_timeout(800)
    page.evaluate("sleepFor(3_600_000)")
    expect(page.get_by_text("Paused, because this page was out of sight")).to_be_visible()
    minutes, seconds_ = page.locator("[role=timer]").inner_text().split(":")
    assert 60 * int(minutes) + int(seconds_) < 30
    page.get_by_role("button", name="Go on").click()
    page.wait_for_timeout(1500)
    for _ in range(2):
        page.get_by_role("button", name="End the case").click()
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved", timeout=20_000)
    assert kept(page)[-1]["acts"][0][1] == "connect"
    assert kept(page)[-1]["duration"] < 60_000
