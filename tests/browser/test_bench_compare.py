"""After a run: own needle above an expert's, and a way from each finding to its second."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from graders.units.targets.raise_plays import run_with
from tests.browser.bench_page import needle, open_bench
from tests.browser.control_page import axe
from tests.browser.steps import given
from tests.test_raise_practice import LEARNERS, SAYS, asked
from workbook.bench import Bench, read_hands
from workbook.rules import rulebook
from workbook.units.targets.raise_practice import on_raise
from workbook.widgets.bench import ComparedBench, bench_of

BOOK = rulebook("aha-2020")
QUESTION = asked(LEARNERS[0])
RUN = run_with(QUESTION, "held-long", BOOK)
TOLD = on_raise(RUN, QUESTION, BOOK, SAYS)


@pytest.fixture
def compared(chromium):
    """Yield what opens a bench with a run saved and its feedback asked for."""
    pages: list[Page] = []
    errors: list[str] = []

    def _open(*, told: bool = True, **context) -> Page:
        made = ComparedBench(
            "run", "Raise PIP.", **bench_of(QUESTION.shows), save=given,
            saved={"value": RUN, "number": 1, "at": "2026-05-04T10:00:00Z"},
        )  # fmt: skip
        made.feedback = TOLD if told else {}
        pages.append(open_bench(chromium, made, errors, **context))
        return pages[-1]

    yield _open
    for page in pages:
        page.context.close()
    assert errors == []


def test_before_the_feedback_no_experts_run_is_seen(compared):
    """It would give the answer away."""
    page = compared(told=False)
    expect(page.locator(".tpiece-compare")).to_be_hidden()
    expect(page.locator(".tpiece-compare-line")).to_have_count(0)


def test_both_runs_are_drawn_told_and_each_moment_is_marked(compared):
    """Two lines with their names, one mark a finding, and the same in words."""
    page = compared()
    for name in ("Your run", "An expert's run"):
        expect(page.locator(".tpiece-compare").get_by_text(name, exact=True)).to_be_visible()
    assert page.locator(".tpiece-compare-line").count() == 2
    assert page.locator(".tpiece-compare-dot").count() == len(TOLD["compare"]["moments"])
    drawn = page.locator(".tpiece-compare").get_by_role("img")
    told = drawn.get_attribute("aria-label")
    assert told.startswith(f"Your run: {round(TOLD['compare']['own']['time'][-1])} s")
    assert "An expert's run: " in told


@pytest.mark.parametrize("way", ["key", "click"])
def test_a_finding_leads_to_its_second_in_the_picture(compared, way):
    """The needle, the thumb and the clock are those of that second; from there it plays on."""
    page = compared(viewport={"width": 1280, "height": 800})
    moment = TOLD["compare"]["moments"][0]
    go = page.locator(".tpiece-compare-moments").get_by_role("button").first
    assert moment["says"] in go.get_attribute("aria-label")
    if way == "key":
        go.focus()
        page.keyboard.press("Enter")
    else:
        page.locator(".tpiece-compare-go").first.click()
    expect(page.get_by_text(f"shows your run at {moment['at']:.1f} s")).to_be_visible()
    expect(page.get_by_role("button", name="Go on")).to_be_focused()
    gauge = page.locator(".tpiece-bench-gauge").bounding_box()
    assert gauge["y"] >= 0
    assert gauge["y"] + gauge["height"] <= 800
    trace = Bench.from_data(QUESTION.facts["bench"]).record(read_hands(RUN)).replay()
    there = trace.at([moment["at"]], "manometer")[0]
    page.wait_for_timeout(400)
    assert needle(page) == pytest.approx(there, abs=0.6)
    page.keyboard.press("Enter")
    page.wait_for_timeout(1200)
    assert needle(page) > 15  # the hole is held shut from there on


def test_going_back_to_a_second_saves_nothing(compared):
    """The saved run stays the answer."""
    page = compared()
    page.locator(".tpiece-compare-moments").get_by_role("button").first.click()
    page.wait_for_timeout(300)
    assert page.evaluate("kernel.kept") == []


@pytest.mark.parametrize(("width", "height"), [(1280, 720), (390, 844)])
def test_it_fits_and_holds_no_fault(compared, axe_source, width, height):
    """No sideways scrolling, targets large enough, nothing the checker knows."""
    page = compared(viewport={"width": width, "height": height}, color_scheme="dark")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for go in page.locator(".tpiece-compare-moments button").all():
        assert go.bounding_box()["height"] >= 44
    assert axe(page, axe_source, ".tpiece") == []
