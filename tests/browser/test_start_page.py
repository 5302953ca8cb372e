"""The page a site starts at, in the language of its course: what its script says."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from graders.site.page import start_page
from graders.tasks import work
from workbook.core.language import pseudo

PLACE = "http://site.test/"


@pytest.fixture(scope="module")
def html(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the start page of a course in the pseudo-language right to left."""
    home = tmp_path_factory.mktemp("site") / "course"
    folder = work.assign(home, course_id="may", units=["1_setup_order"], language="qps-rtl")
    return start_page(folder, "")


@pytest.fixture
def page(chromium: Browser, html: str) -> Iterator[Page]:
    """Yield a page to open it in; nothing else is there to be asked for."""
    page = chromium.new_page(viewport={"width": 400, "height": 800})
    page.route(f"{PLACE}**", lambda route: route.fulfill(content_type="text/html", body=html))
    yield page
    page.close()


@pytest.mark.parametrize(
    ("why", "says"),
    [
        ("who", "Say who you are first: then open the page again."),
        (
            "open",
            "The workbook is already open in another tab or window of this browser. Go on there, "
            "or close it and open the page again here.",
        ),
        (
            "browser",
            "This browser, or the way this site is served, cannot keep your answers. Use a "
            "current browser, no private window, and an address that begins with https.",
        ),
    ],
)
def test_why_a_page_did_not_open_is_told_in_the_course_s_language(
    page: Page, why: str, says: str
) -> None:
    """Each reason has its sentence; without one nothing is said."""
    page.goto(PLACE)
    expect(page.get_by_role("status")).to_be_hidden()
    page.goto(f"{PLACE}?{why}=1")
    expect(page.get_by_role("status")).to_have_text(pseudo(says))


def test_who_somebody_is_is_kept_or_refused_in_the_course_s_language(page: Page) -> None:
    """A name with marks a program would read stands in the sentence as it was typed."""
    page.goto(PLACE)
    field = page.get_by_label(pseudo("Your id, as your educator gave it"))
    field.fill("a b")
    field.press("Enter")
    refused = (
        "That cannot be an id: use 1 to 64 letters, digits, '.', '-', '_' or '@', not starting "
        "with a dot or a hyphen."
    )
    expect(page.get_by_role("status")).to_have_text(pseudo(refused))
    field.fill("ada")
    field.press("Enter")
    kept = pseudo("You are {learner}. Open a lesson or an exercise below.")
    expect(page.get_by_role("status")).to_have_text(kept.replace("{learner}", "ada"))


def test_the_page_runs_from_right_to_left_without_scrolling_sideways(page: Page) -> None:
    """What is kept out of sight until it has the focus must not widen the page."""
    page.goto(PLACE)
    expect(page.locator("html")).to_have_attribute("dir", "rtl")
    assert page.evaluate("document.documentElement.scrollWidth") == 400
