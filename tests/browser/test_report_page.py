"""The coordinator's page in a browser: accessible, narrow, printed, without scripts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from graders.cohort.group import Cohort, cohort
from graders.course.coursefolder import Person
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded
from graders.marking.personas import answers_of
from graders.report import write_report
from tests.browser.steps import drawn, grave
from tests.report_base import SLIP, html_of, work
from workbook.cases import case, exercises
from workbook.course.settings import Course

UNIT, OTHER = "1_setup_order", "4_rate_counting"
COURSE = Course("test", "An invented course with a fairly long title, May", units=(UNIT, OTHER))
HELD = ["peep-before-pip"] * 4 + ["falls-to-zero"] * 3 + ["bag-not-needed"] * 2 + [""] * 10
LONG = "Antirrhinum-Bartholomea-von-und-zu-Erfundenhausen-Musterstadt Demo"


def marked(n: int, holds: str, unit: str = UNIT) -> Graded:
    learner = f"demo{n:02d}"
    drawn = case(COURSE.id, unit, learner, COURSE.book)
    verdicts = mark_all(drawn, answers_of(drawn, COURSE.book, holds), COURSE.book)
    when = "2026-05-04 10:00:00 UTC"
    return Graded(learner, unit, COURSE.edition, verdicts, (), when, "abc", "1.0")


def group_of_24() -> Cohort:
    work = [marked(n, holds) for n, holds in enumerate(HELD)]
    work += [marked(n, "stretch-is-a-minute" if n < 3 else "", OTHER) for n in range(18)]
    drawn = case(COURSE.id, UNIT, "demo19", COURSE.book)
    blank, problem = mark_all(drawn, {}, COURSE.book), "x" * 120 + " is cut off."
    work.append(Graded("demo19", UNIT, COURSE.edition, blank, (problem,), "", "", "1.0"))
    names = {f"demo{n:02d}": f"Demo {n}" for n in range(24)} | {"demo00": LONG, "demo01": "見本"}
    wards = ("North", "South", "East")
    people = {
        id: Person(id, name, "nurse", wards[n % 3], f"Site {n // 12 + 1}")
        for n, (id, name) in enumerate(names.items())
    }
    return cohort(work, people, COURSE)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write the report of 24 learners once and return its address."""
    made_at = datetime(2026, 5, 5, 9, tzinfo=UTC)
    folder = tmp_path_factory.mktemp("report")
    paths = write_report(group_of_24(), folder, made_at=made_at, version="1.0")
    return Path(paths[0]).as_uri()


def overflow(tab: Page) -> int:
    script = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
    return int(tab.evaluate(script))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_no_serious_accessibility_fault(
    tab: Page, address: str, axe_source: str, scheme: Any, width: int
) -> None:
    """The checker finds nothing serious in light or dark, wide or narrow."""
    tab.emulate_media(color_scheme=scheme)
    tab.set_viewport_size({"width": width, "height": 900})
    tab.goto(address)
    assert grave(tab, axe_source) == []


@pytest.mark.parametrize("width", [360, 640, 1280])
def test_the_page_never_scrolls_sideways(tab: Page, address: str, width: int) -> None:
    """On a phone and at twice the size only tables scroll, each in its own region."""
    tab.set_viewport_size({"width": width, "height": 800})
    tab.goto(address)
    assert overflow(tab) == 0


def test_a_wide_table_scrolls_by_keyboard(tab: Page, address: str) -> None:
    """A table's region takes the focus and the arrow key moves it."""
    tab.set_viewport_size({"width": 360, "height": 800})
    tab.goto(address)
    region = tab.get_by_role("region", name="Everyone, the gravest first")
    drawn(tab)
    region.focus()
    tab.keyboard.press("ArrowRight")
    tab.wait_for_function("e => e.scrollLeft > 0", arg=region.element_handle())


def test_the_skip_link_is_the_first_stop_and_shows(tab: Page, address: str) -> None:
    """The first Tab shows the way past the header, and Enter takes it."""
    tab.goto(address)
    tab.keyboard.press("Tab")
    skip = tab.get_by_role("link", name="Skip to the report")
    box = skip.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    tab.keyboard.press("Enter")
    assert tab.evaluate("() => document.activeElement.id") == "main"


def test_it_reads_without_scripts_and_asks_the_network_for_nothing(
    chromium: Browser, address: str
) -> None:
    """With scripts switched off all is there, and the page itself is the only request."""
    context = chromium.new_context(java_script_enabled=False)
    tab, asked = context.new_page(), []
    tab.on("request", lambda request: asked.append(request.url))
    tab.goto(address)
    assert (
        tab.locator(".lead")
        .inner_text()
        .startswith("18 of 24 handed in every unit, 2 some of them; ")
    )
    assert tab.get_by_role("table").count() == 7
    assert tab.get_by_role("columnheader", name="Learner").first.is_visible()
    assert not tab.locator(".who thead button").count()  # nothing that does nothing
    assert asked == [address]
    context.close()


def test_nothing_is_refused_or_fails(tab: Page, address: str) -> None:
    """The page's own policy lets its script and style run; nothing is logged."""
    said: list[str] = []
    tab.on("console", lambda message: said.append(message.text))
    tab.on("pageerror", lambda error: said.append(str(error)))
    tab.goto(address)
    assert tab.locator(".who thead button").count() == 5
    assert said == []


def test_paper_is_white_and_holds_every_learner(tab: Page, address: str) -> None:
    """Printed from a dark screen the page is white, without the links, on a few sheets."""
    tab.emulate_media(media="print", color_scheme="dark")
    tab.goto(address)
    white = "() => getComputedStyle(document.documentElement).backgroundColor"
    assert tab.evaluate(white) == "rgb(255, 255, 255)"
    assert not tab.get_by_role("navigation").is_visible()
    tab.set_viewport_size({"width": 690, "height": 900})
    cut = "() => [...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > 690).length"
    assert tab.evaluate(cut) == 0
    for paper in ("A4", "Letter"):
        assert tab.pdf(format=paper).count(b"/Type /Page\n") in range(3, 12)


@pytest.mark.parametrize("width", [700, 1000, 1400])
@pytest.mark.parametrize("learners", [50, 400])
def test_the_next_thing_is_never_cut_off(chromium, tmp_path, learners, width):
    """However many units and lines: its last word lies within its row, which can be reached."""
    units = tuple(exercises())
    course = replace(COURSE, units=units)
    works = [replace(work(f"l{n:03d}", SLIP), unit=unit) for n in range(learners) for unit in units]
    path = tmp_path / "report.html"
    path.write_text(html_of(cohort(works, {}, course)), encoding="utf-8")
    page = chromium.new_page(viewport={"width": width, "height": 900})
    page.goto(path.as_uri())
    over = page.evaluate(
        """() => [...document.querySelectorAll("table.who tbody tr")].slice(0, 20).map((row) => {
          const cell = row.querySelector("td.wide"), table = row.closest("table");
          const words = document.createRange();
          words.selectNodeContents(cell);
          const right = words.getBoundingClientRect().right;
          return Math.max(right - row.getBoundingClientRect().right,
                          right - table.getBoundingClientRect().right);
        })"""
    )
    page.close()
    assert max(over) <= 0.5
