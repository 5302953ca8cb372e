"""The table of learners: filtered without a script, sorted by keyboard, usable when it is long."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from graders.cohort.group import cohort
from graders.course.coursefolder import Person
from graders.marking.graded import Graded
from graders.marks.verdict import Finding, Verdict
from graders.report import write_report
from graders.report.page import LONG
from tests.browser.test_report_page import COURSE, group_of_24
from tests.browser.test_report_page import address as address  # one report for both files


@pytest.fixture
def tab(chromium: Browser, address: str) -> Iterator[Page]:
    """Yield the page with scripts."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    made = context.new_page()
    made.goto(address)
    yield made
    context.close()


@pytest.fixture
def plain(chromium: Browser, address: str) -> Iterator[Page]:
    """Yield the page with scripts switched off."""
    context = chromium.new_context(java_script_enabled=False)
    made = context.new_page()
    made.goto(address)
    yield made
    context.close()


def shown(page: Page) -> list[str]:
    """Return the learners whose line can be seen, in its order."""
    lines = page.locator(".who tbody tr").filter(visible=True)
    return [text.strip() for text in lines.locator(".id").all_inner_texts()]


def expected(status: str = "", ward: str = "", site: str = "", unit: str = "") -> set[str]:
    """Return whom the group itself says a filter leaves."""
    return {
        one.person.learner
        for one in group_of_24().learners
        if (not status or status == (one.status if not unit else by_unit(one)[unit]))
        and ward in ("", one.person.ward)
        and site in ("", one.person.site)
    }


def by_unit(one):
    return {each.unit: each.status for each in one.standings}


@pytest.mark.parametrize(
    "chosen",
    [
        {"status": "Unsafe act"},
        {"status": "Ready"},
        {"status": "Not handed in"},
        {"ward": "South"},
        {"site": "Site 2", "status": "Not handed in"},
        {"unit": "1_setup_order", "status": "Ready"},
        {"unit": "4_rate_counting", "status": "Not handed in"},
        {"unit": "4_rate_counting", "status": "Ready", "ward": "East", "site": "Site 1"},
    ],
)
def test_filters_work_without_a_script(plain: Page, chosen: dict[str, str]) -> None:
    """Whoever the filters name is shown, nobody else, and the table says how many."""
    for id, choice in chosen.items():
        plain.locator(f"#f-{id}").select_option(label=choice)
    assert set(shown(plain)) == expected(**chosen)
    assert 0 < len(shown(plain)) < 24


def test_choosing_a_unit_leaves_its_column_alone(plain: Page) -> None:
    """The other units' columns go, and come back with the button."""
    heads = plain.locator(".who thead th").filter(visible=True)
    assert heads.count() == 6
    plain.get_by_role("combobox", name="Unit").select_option(label="4_rate_counting")
    assert heads.all_inner_texts()[2] == "4 rate counting"
    assert heads.count() == 5
    plain.get_by_role("button", name="Show everyone").click()
    assert heads.count() == 6
    assert len(shown(plain)) == 24


def test_filters_work_by_keyboard_and_say_how_many(tab: Page) -> None:
    """Tab to a list, type the choice; the number shown is spoken."""
    tab.get_by_role("combobox", name="Status").focus()
    tab.keyboard.type("Unsafe")
    unsafe = expected(status="Unsafe act")
    told = "n => document.querySelector('output').textContent.startsWith(n + ' of 24')"
    tab.wait_for_function(told, arg=str(len(unsafe)))
    assert set(shown(tab)) == unsafe
    tab.keyboard.press("Tab")
    assert tab.evaluate("() => document.activeElement.id") == "f-unit"


def test_a_browser_that_cannot_filter_shows_everyone_and_says_so(
    chromium: Browser, address: str, tmp_path: Path
) -> None:
    """Where :has() is not known the lists are hidden, whatever they say."""
    from urllib.parse import unquote, urlparse

    text = Path(unquote(urlparse(address).path)).read_text(encoding="utf-8")
    old = tmp_path / "old.html"
    old.write_text(text.replace(":has(", ":unknown("), encoding="utf-8")
    context = chromium.new_context()
    tab = context.new_page()
    tab.goto(old.as_uri())
    assert not tab.locator(".filters").is_visible()
    assert tab.get_by_text("too old to filter").is_visible()
    assert len(shown(tab)) == 24
    context.close()


def sorted_by(tab: Page) -> list[tuple[str, str]]:
    script = """() => [...document.querySelectorAll('.who th[aria-sort]')]
        .map(e => [e.textContent.trim(), e.getAttribute('aria-sort')])"""
    return [tuple(each) for each in tab.evaluate(script)]


def test_columns_sort_by_keyboard_and_say_how(tab: Page) -> None:
    """Enter sorts up, again sorts down; aria-sort is on that column alone; focus stays."""
    assert sorted_by(tab) == [("Status", "ascending")]
    first = shown(tab)
    tab.get_by_role("button", name="Learner").focus()
    tab.keyboard.press("Enter")
    assert sorted_by(tab) == [("Learner", "ascending")]
    up = shown(tab)
    tab.keyboard.press("Space")
    assert sorted_by(tab) == [("Learner", "descending")]
    assert shown(tab) == up[::-1]
    assert set(up) == set(first)
    assert tab.evaluate("() => document.activeElement.textContent") == "Learner"


def test_points_and_marks_sort_as_numbers_and_gravity(tab: Page) -> None:
    """9 comes before 10, nothing before anything; the gravest mark before the rest."""
    tab.get_by_role("button", name="Points").click()
    texts = tab.locator(".who tbody .number").all_inner_texts()
    values = [float(text.rstrip(" %")) if "%" in text else -1 for text in texts]
    assert values == sorted(values)
    assert values[0] < values[-1]
    tab.get_by_role("button", name="4 rate counting").click()
    marks = [text.split()[0] for text in tab.locator(".who tbody .c2").all_inner_texts()]
    order = ["Unsafe", "Not", "Missing", "Ready"]
    assert [order.index(mark) for mark in marks] == sorted(order.index(mark) for mark in marks)
    tab.get_by_role("button", name="Status").click()
    assert shown(tab)[0] in expected(status="Unsafe act")


def test_the_filters_hold_while_sorting(tab: Page) -> None:
    """A sorted table still shows only who was chosen."""
    tab.get_by_role("combobox", name="Ward").select_option(label="South")
    tab.get_by_role("button", name="Learner").click()
    assert set(shown(tab)) == expected(ward="South")


def test_what_showed_opens_by_keyboard(plain: Page) -> None:
    """Each learner's findings unfold under the next thing, with a link to the misconception."""
    plain.locator(".who summary").first.focus()
    plain.keyboard.press("Enter")
    assert plain.locator(".who details[open] li").first.is_visible()
    assert plain.locator(".who details[open] a").first.get_attribute("href").startswith("#m-")


def report_of(learners: int, folder: Path) -> str:
    """Write the report of so many learners, every third of them unsafe; return its address."""
    right = Verdict("q", (Finding("q", True, "Right.", 10, 10),))
    wrong = Verdict("q", (Finding("q", False, "The bag was overlooked.", 0, 1, True, "ready-bag"),))

    def marks(n: int) -> tuple[Verdict, ...]:
        return (right, wrong) if n % 3 == 0 else (right,)

    work = [
        Graded(f"l{n:04d}", unit, COURSE.edition, marks(n), (), "", "abc", "1")
        for n in range(learners)
        for unit in COURSE.units
    ]
    people = {one.learner: Person(one.learner, ward=f"W{int(one.learner[1:]) % 4}") for one in work}
    made_at = datetime(2026, 5, 5, 9, tzinfo=UTC)
    group = cohort(work, people, COURSE)
    return write_report(group, folder, made_at=made_at, version="1")[0].as_uri()


@pytest.mark.parametrize("learners", [0, 1, LONG + 60])
def test_a_group_of_any_size_is_read_by_everyone(
    chromium: Browser, tmp_path: Path, axe_source: str, learners: int
) -> None:
    """Nobody, one, or more than are drawn at once: still a table, and nothing serious to find."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    tab = context.new_page()
    tab.goto(report_of(learners, tmp_path))
    tab.evaluate(axe_source)
    found = tab.evaluate("() => axe.run()")["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    if learners > 1:
        table = tab.get_by_role("table", name="Everyone, the gravest first")
        assert table.get_by_role("row").count() == learners + 2
        assert table.get_by_role("columnheader").count() == 6
        tab.locator("#f-status").select_option(label="Unsafe act")
        assert len(shown(tab)) == learners / 3
        tab.emulate_media(media="print")
        display = "() => getComputedStyle(document.querySelector('.long thead')).display"
        assert tab.evaluate(display) == "table-header-group"  # so each sheet has its heads
    context.close()
