"""A case from birth played to its marks: by fingers alone, by keys alone, and by words alone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from graders.units.scenario.marks import of_record
from tests.browser.control_page import faultless, kept, open_live
from tests.browser.steps import given
from tests.scenario_base import BOOK, case
from workbook.scenario import read_scenario, seconds
from workbook.scenario.demands import demands
from workbook.widgets.case import CaseControl

WIDTHS = [(1280, 720), (820, 1180), (390, 844)]
READY = 0.8  # of the points, and nothing unsafe: what a course asks by itself
# What a page announces: the text of each live region as it changes, and each line of a log.
LISTENS = """() => {
  globalThis.heard = [];
  const live = "[aria-live=polite], [role=status], [role=log]";
  new MutationObserver((changes) => {
    for (const { target, addedNodes } of changes) {
      const at = target instanceof Element ? target : target.parentElement;
      const region = at?.closest(live);
      if (!region || region.closest("[hidden]")) continue;
      const says = region.matches("[role=log]")
        ? [...addedNodes].map((node) => node.textContent) : [region.textContent];
      heard.push(...says.filter(Boolean));
    }
  }).observe(document.body, { subtree: true, childList: true, characterData: true });
}"""


@pytest.fixture
def play(chromium):
    """Yield what opens a case that the workbook steps; no page may have an error."""
    with faultless() as (pages, errors):

        def _open(made: CaseControl, **context) -> Page:
            pages.append(open_live(chromium, made, errors, "laws", **context))
            return pages[-1]

        yield _open


def control(kind: str = "easy") -> CaseControl:
    return CaseControl("case-1", "A case.", case=case(kind, 3), book=BOOK, save=given)


def acts(page: Page) -> list[str]:
    record = kept(page)[-1]
    assert record["ended"] == "whole"
    limit = BOOK["scenario.limit"].value
    return [one.act for one in read_scenario(record, "case-1", seconds(BOOK), limit).done]


class Fingers:
    """A hand that taps, and holds the hole by a finger; it has no mouse and no keys but digits."""

    def __init__(self, page: Page) -> None:
        self.page, self.client = page, page.context.new_cdp_session(page)

    def tap(self, role: str, name: str | re.Pattern[str]) -> None:
        """Tap a control that is in sight and free, in its middle."""
        one = self.page.get_by_role(role, name=name).first
        expect(one).not_to_have_attribute("aria-disabled", "true", timeout=40_000)
        box = one.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 24
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        assert 0 <= x <= self.page.viewport_size["width"]
        assert 0 <= y <= self.page.viewport_size["height"], name
        self.page.touchscreen.tap(x, y)

    def inflate(self, count: int) -> None:
        """Hold the hole by a finger."""
        expect(self.page.locator(".tpiece-case[data-busy]")).to_have_count(0, timeout=20_000)
        box = self.page.locator(".tpiece-hold").bounding_box()
        at = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}]
        for _ in range(count):
            self._send("touchStart", at)
            self.page.wait_for_timeout(500)
            self._send("touchEnd", [])
            self.page.wait_for_timeout(700)

    def _send(self, kind: str, points: list[dict[str, float]]) -> None:
        self.client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def type(self, label: str, text: str) -> None:
        """Tap a field and type by the telephone's own keys."""
        self.tap("textbox", label)
        self.page.keyboard.type(text)


class Keys:
    """Two hands on a keyboard: Tab and its way back, arrows, Enter, Space; no mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def tap(self, role: str, name: str | re.Pattern[str]) -> None:
        """Come to a control by Tab, or to a tab by arrows, and press Enter."""
        one = self.page.get_by_role(role, name=name).first
        expect(one).not_to_have_attribute("aria-disabled", "true", timeout=40_000)
        if role == "tab":
            self._to(self.page.locator("[role=tab][aria-selected=true]"))
            for _ in range(6):
                if one.get_attribute("aria-selected") == "true":
                    return
                self.page.keyboard.press("ArrowRight")
            raise AssertionError(f"No arrow comes to {name}.")
        self._to(one)
        self.page.keyboard.press("Enter")

    def _to(self, one) -> None:
        for _ in range(60):
            if one.evaluate("(node) => node === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError("Sixty times Tab do not come there.")

    def inflate(self, count: int) -> None:
        """Hold Space, wherever the focus is."""
        expect(self.page.locator(".tpiece-case[data-busy]")).to_have_count(0, timeout=20_000)
        for _ in range(count):
            self.page.keyboard.down("Space")
            self.page.wait_for_timeout(500)
            self.page.keyboard.up("Space")
            self.page.wait_for_timeout(700)

    def type(self, label: str, text: str) -> None:
        """Come to a field by Tab and type."""
        self._to(self.page.get_by_role("textbox", name=label))
        self.page.keyboard.type(text)


@pytest.mark.parametrize("hand", [Fingers, Keys])
@pytest.mark.parametrize(("width", "height"), WIDTHS)
def test_a_case_is_played_from_birth_to_its_marks(
    play, hand: Callable[[Page], Fingers | Keys], width: int, height: int
):
    """Begun, mask on, inflated, beats counted and said, oxygen turned, handed over, marked."""
    made = control()
    size = {"width": width, "height": height}
    page = play(made, viewport=size, has_touch=hand is Fingers)
    by = hand(page)
    if hand is Fingers:
        page.get_by_role("button", name="The baby is born").scroll_into_view_if_needed()
    by.tap("button", "The baby is born: begin")
    page.locator(".tpiece-case-stage").evaluate("(n) => n.scrollIntoView({ block: 'start' })")
    by.tap("tab", "Heart")
    by.tap("button", re.compile("^Have the heart beats counted"))
    by.tap("tab", "Mask")
    by.tap("button", re.compile("^Put the mask on"))
    by.inflate(6)
    expect(page.locator("[data-sees=Listen] dd")).to_contain_text("beats in 6 s", timeout=20_000)
    count = int(page.locator("[data-sees=Listen] dd").inner_text().split()[0])
    by.tap("tab", "Heart")
    by.type("Heart rate a minute", str(10 * count))
    by.tap("button", "Say it")
    by.tap("tab", "Gas")
    by.tap("button", "Oxygen dial: more")
    by.tap("button", "Turn it")
    by.inflate(2)
    for _ in range(2):
        by.tap("button", "End the case: hand over")
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved", timeout=20_000)
    done = acts(page)
    assert done.count("occlude") == done.count("release") == 8
    assert {"listen", "connect", "heart-rate", "oxygen"} <= set(done)
    assert of_record(made._case, kept(page)[-1], BOOK).earned > 0


class Ears:
    """Somebody who sees nothing: what is read and announced is all there is to decide by."""

    def __init__(self, page: Page) -> None:
        self.page = page
        page.evaluate(LISTENS)
        self.upto = 0

    def announced(self) -> list[str]:
        """Return what was announced since the last time."""
        heard: list[str] = self.page.evaluate("heard")
        new, self.upto = heard[self.upto :], len(heard)
        return new

    def read(self) -> str:
        """Return the page as its accessible names and words."""
        return self.page.locator("main").aria_snapshot()

    def value(self, term: str) -> str:
        """Return what stands under a term."""
        found = re.search(rf"term: {re.escape(term)}\n\s*- definition: (.*)", self.read())
        assert found, term
        return found[1].strip('"')

    def time(self) -> int:
        """Return the seconds since birth."""
        minutes, seconds_ = re.search(r"timer: \"?(\d+):(\d\d)", self.read()).groups()
        return 60 * int(minutes) + int(seconds_)

    def press(self, tab: str, name: str, *, wait: bool = True) -> None:
        """Choose a tab and press a button, by their names."""
        if tab:
            self.page.get_by_role("tab", name=tab, exact=True).press("Enter")
        key = self.page.get_by_role("button", name=re.compile(f"^{re.escape(name)}"))
        if wait:
            expect(key).to_be_enabled(timeout=40_000)
        key.press("Enter")

    def say(self, tab: str, field: str, number: int, button: str) -> None:
        """Type a number and press the button beside it, once the hands are free."""
        self.page.get_by_role("tab", name=tab, exact=True).press("Enter")
        key = self.page.get_by_role("button", name=button, exact=True)
        expect(key).to_be_enabled(timeout=40_000)
        self.page.get_by_role("textbox", name=field).fill(str(number))
        key.press("Enter")


class Blind(Ears):
    """Goes by the edition's steps with what is heard: breathing, chest, counted beats, oximeter."""

    STEPS = (
        (("Mask", "Place the mask anew"), ("Baby", "Reposition the head")),
        (("Baby", "Suction mouth and nose"), ("Baby", "Open the mouth, lift the jaw")),
    )

    def __init__(self, page: Page, weeks: float, kg: float) -> None:
        super().__init__(page)
        self.target = demands(BOOK, weeks, kg).target
        self.chest, self.step, self.oxygen, self.turned, self.asked = "", 0, 21, 0, 0

    def begin(self) -> None:
        """Begin, dry the baby, have the oximeter put on, and put the mask on."""
        self.press("", "The baby is born: begin")
        self.press("Heart", "Have the oximeter put on")
        self.press("Baby", "Warm and dry the baby")
        self.press("Baby", "Reposition the head")
        self.press("Team", "“Heart rate, please.”")
        self.count()
        assert self.value("Breathing") != "breathes"
        self.press("Mask", "Put the mask on the baby")

    def count(self) -> None:
        """Have the beats counted."""
        self.asked = self.time()
        self.press("Heart", "Have the heart beats counted", wait=False)

    def inflate(self) -> None:
        """Give five inflations, and hear what the chest did."""
        hole = self.page.get_by_role("button", name=re.compile("^Cover the hole"))
        expect(hole).to_be_enabled(timeout=40_000)
        for _ in range(5):
            self.page.keyboard.down("Space")
            self.page.wait_for_timeout(550)
            self.page.keyboard.up("Space")
            self.page.wait_for_timeout(750)

    def look(self) -> None:
        """Say what the chest does when it is new; correct a chest that is still."""
        chest = self.value("Chest, last inflation")
        if chest == "does not move":
            self.press("Team", "“The chest does not move.”")
            for tab, act in self.STEPS[min(self.step, len(self.STEPS) - 1)]:
                self.press(tab, act)
            self.step += 1
        elif chest != self.chest:
            self.press("Team", "“The chest moves.”")
        self.chest = chest

    def hear(self) -> None:
        """Say the rate of beats that were counted; have them counted again every half minute."""
        for line in self.announced():
            found = re.search(r"Heart, by listening: (\d+) beats in 6 s", line)
            if found:
                self.say("Heart", "Heart rate a minute", 10 * int(found[1]), "Say it")
        if self.time() - self.asked > 30:
            self.count()

    def turn(self) -> None:
        """Turn oxygen up or down by what the oximeter says and the edition aims for."""
        found = re.search(r"saturation (\d+) %", self.value("Oximeter, right hand"))
        band = self.target(self.time())
        if not found or band is None or self.time() - self.turned < 25:
            return
        short = (int(found[1]) < band[0]) - (int(found[1]) > band[1])
        self.turned = self.time()
        oxygen = min(100, max(21, self.oxygen + 30 * short))
        if oxygen != self.oxygen:
            self.oxygen = oxygen
            self.say("Gas", "Oxygen dial", oxygen, "Turn it")

    def play(self, until: int) -> None:
        """Play until a second, then hand over."""
        self.begin()
        while self.time() < until:
            if self.value("Breathing") != "breathes":
                self.inflate()
                self.look()
            else:
                self.page.wait_for_timeout(1000)
            self.hear()
            self.turn()
        for _ in range(2):
            self.press("", "End the case: hand over")


def test_who_reads_only_the_words_is_ready(play):
    """By names and announcements alone: chest, beats, oximeter, helper; and it is enough."""
    made = control("position")
    page = play(made, viewport={"width": 1280, "height": 720})
    blind = Blind(page, made._case.weeks, made._case.kg)
    blind.play(215)
    expect(page.get_by_role("status").last).to_contain_text("Saved", timeout=20_000)
    verdict = of_record(made._case, kept(page)[-1], BOOK)
    said = [(each.criterion, each.says) for each in verdict.findings if not each.met]
    assert not verdict.unsafe, said
    assert verdict.earned >= READY * verdict.possible, said
    assert blind.step >= 1
