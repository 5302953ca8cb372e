"""The lab brief and its checklist in a browser: accessible, narrow, printed, without scripts."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from graders.cohort.group import Cohort, cohort
from graders.course.roster import Person
from graders.lab.brief import brief
from graders.lab.checklist import checklist
from graders.report.brief_page import BRIEF_PAGE, CHECKLIST_PAGE, brief_text, checklist_text
from tests.browser.steps import grave
from tests.lab_course import COURSE, HELD, LEARNERS, marked

LONG = "Antirrhinum-Bartholomea-von-und-zu-Erfundenhausen-Musterstadt Demo"
MADE_AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
PAGES = (BRIEF_PAGE, CHECKLIST_PAGE)


def group() -> Cohort:
    names = {id: f"Demo {n}" for n, id in enumerate(LEARNERS)} | {LEARNERS[0]: LONG, "late": "見本"}
    work = [marked(id, holds) for id, holds in zip(LEARNERS, HELD, strict=True)]
    return cohort(work, {id: Person(id, name) for id, name in names.items()}, COURSE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write both pages once and return their folder."""
    made = tmp_path_factory.mktemp("lab")
    page = brief_text(group(), made_at=MADE_AT, version="1.0")
    (made / BRIEF_PAGE).write_text(page, encoding="utf-8")
    sheet = checklist_text(COURSE, made_at=MADE_AT, version="1.0")
    (made / CHECKLIST_PAGE).write_text(sheet, encoding="utf-8")
    return made


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 400])
def test_no_serious_accessibility_fault(
    tab: Page, folder: Path, axe_source: str, scheme: Any, width: int, name: str
) -> None:
    """The checker finds nothing serious in light or dark, wide or narrow."""
    tab.emulate_media(color_scheme=scheme)
    tab.set_viewport_size({"width": width, "height": 900})
    tab.goto((folder / name).as_uri())
    assert grave(tab, axe_source, least=15) == []


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [320, 400, 760, 1280])
def test_the_page_never_scrolls_sideways(tab: Page, folder: Path, width: int, name: str) -> None:
    """From a phone at twice the size up, only a table scrolls, in its own region."""
    tab.set_viewport_size({"width": width, "height": 800})
    tab.goto((folder / name).as_uri())
    script = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert tab.evaluate(script) == 0


def test_both_read_without_scripts_and_ask_the_network_for_nothing(
    chromium: Browser, folder: Path
) -> None:
    """With scripts switched off all is there, and each page itself is the only request."""
    context = chromium.new_context(java_script_enabled=False)
    tab, asked = context.new_page(), []
    tab.on("request", lambda request: asked.append(request.url))
    for name in PAGES:
        tab.goto((folder / name).as_uri())
    assert asked == [(folder / name).as_uri() for name in PAGES]
    assert tab.get_by_role("table").count() == len(checklist(COURSE.book).sections)
    assert tab.get_by_role("img", name="Box for with help").count() > 30
    tab.goto((folder / BRIEF_PAGE).as_uri())
    assert tab.get_by_role("heading", name="What to show on the real device").is_visible()
    topics = brief(group()).topics
    for topic in topics:
        assert tab.get_by_text(topic.misconception.lab).is_visible()
    assert tab.get_by_text("Unsafe if acted on").count() == sum(t.unsafe for t in topics)
    context.close()


def test_the_bar_of_minutes_is_as_wide_as_its_minutes(tab: Page, folder: Path) -> None:
    """On a wide screen each stretch has its share of the width; in words it is a list."""
    tab.goto((folder / BRIEF_PAGE).as_uri())
    script = (
        "() => [...document.querySelectorAll('.time li')].map(e => [e.offsetWidth, e.innerText])"
    )
    found = tab.evaluate(script)
    minutes = [int(says.split()[0]) for _, says in found]
    assert sum(minutes) == brief(group()).lab.minutes
    whole = sum(wide for wide, _ in found)
    for (wide, _), each in zip(found, minutes, strict=True):
        assert abs(wide / whole - each / sum(minutes)) < 0.03


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_is_white_and_two_sheets_at_most(
    tab: Page, folder: Path, paper: str, name: str
) -> None:
    """Printed from a dark screen either page is black on white, on one sheet of two sides."""
    tab.emulate_media(media="print", color_scheme="dark")
    tab.goto((folder / name).as_uri())
    white = "() => getComputedStyle(document.documentElement).backgroundColor"
    assert tab.evaluate(white) == "rgb(255, 255, 255)"
    pages = PdfReader(io.BytesIO(tab.pdf(format=paper))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "not a medical device" in text
    assert len(pages) <= 2
