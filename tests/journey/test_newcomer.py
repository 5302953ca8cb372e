"""A newcomer with a keyboard and nothing else: from the course's home to the first unit handed in.

Counted is every key press that gives no answer: ways to a page, to a question and to the hand-in.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers, points
from tests.journey import hands
from tests.journey.pages import SHOWN, UNIT, Opened, opened, ready, saved_lines, status
from tests.journey.room import host_words
from workbook.cases import Case, Kind, case
from workbook.cases.dials import set_for
from workbook.rules import RuleBook

EARLIER = 121  # presses that the way from the last question to the hand-in alone once took
COUNT = """() => {
  globalThis.presses = Number(sessionStorage.presses ?? 0);
  addEventListener("keydown", ({ key, repeat }) => {
    if (!repeat && !["Control", "Shift", "Alt"].includes(key))
      sessionStorage.presses = ++globalThis.presses;
  }, true);
}"""


class Keys:
    """A keyboard that knows how many of its presses gave no answer."""

    def __init__(self, page: Page) -> None:
        self.page, self.ways = page, dict[str, int]()
        self._before = 0

    def pressed(self) -> int:
        """Return the presses since this was asked last."""
        now = int(self.page.evaluate("globalThis.presses"))
        since, self._before = now - self._before, now
        return since

    def way(self, name: str) -> None:
        """Count the presses since the last call for a way."""
        self.ways[name] = self.ways.get(name, 0) + self.pressed()

    def follow(self, link: Locator, shown: str) -> None:
        """Press Tab to a link, the nearer way round, and Enter; wait for what it leads to."""
        hands.reach(self.page, link)
        self.page.keyboard.press("Enter")
        expect(self.page.get_by_role("heading", name=shown).first).to_be_visible(timeout=90_000)


@pytest.fixture
def workbook(tmp_path: Path) -> Iterator[Opened]:
    """Yield the workbook as it opens for the first time."""
    with opened(tmp_path, "ada") as running:
        yield running


@pytest.fixture
def page(chromium: Browser, workbook: Opened) -> Iterator[Page]:
    """Yield the course's home in a window without a mouse; its keys are counted."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.add_init_script(f"({COUNT})()")
    page = context.new_page()
    page.goto(f"{workbook.address}/doc?token={workbook.token}")
    page.locator(".tpiece-way").wait_for(timeout=90_000)
    yield page
    context.close()


def test_a_newcomer_hands_in_the_first_unit_with_few_keys(page: Page, workbook: Opened) -> None:
    """Half the presses of before are enough, and no word of the host is met on the way."""
    keys = Keys(page)
    course = CourseFolder(workbook.home / "course").course
    drawn = case(course.id, UNIT, workbook.learner, course.book)
    clean(page)

    way, back = page.locator(".tpiece-home-page"), page.locator(f"{SHOWN} .tpiece-bar .tpiece-home")
    for name, heading in (("Begin: Start here", "Start here"), ("Lesson 1: ", "Lesson 1")):
        keys.follow(way.get_by_role("link", name=name), heading)
        expect(status(page)).to_have_text("Ready", timeout=90_000)
        clean(page)
        keys.follow(back, "Your way")
    keys.follow(way.get_by_role("link", name="Exercise 1: "), "Exercise 1")
    ready(page, len(points(UNIT)))
    clean(page)
    keys.way("to the page")

    page.keyboard.press("Alt+Shift+H")
    says(page, "Nothing on this page is answered yet")
    keys.pressed()
    answer_all(page, keys, drawn, course.book)

    hands.reach(page, page.locator(f"{SHOWN} .tpiece-end").get_by_role("button"))
    page.keyboard.press("Enter")
    says(page, f"{len(points(UNIT))} of {len(points(UNIT))} questions answered")
    clean(page)
    keys.way("to the hand-in")

    print("key presses that gave no answer:", keys.ways)
    assert len({line["question"] for line in saved_lines(workbook.answers)}) == len(points(UNIT))
    assert keys.ways["to the hand-in"] > 0
    assert sum(keys.ways.values()) <= EARLIER / 2


def clean(page: Page) -> None:
    """See that the screen speaks of the course alone."""
    assert host_words(page) == []


def says(page: Page, text: str) -> None:
    """Read a dialog, and close it."""
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text(text, timeout=30_000)
    clean(page)
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)


def answer_all(page: Page, keys: Keys, drawn: Case, book: RuleBook) -> None:
    """Answer every question of the unit in its order; between two of them only Tab is pressed."""
    given = model_answers(drawn, book)
    for question in drawn.questions:
        part = hands.asked(page, UNIT, question)
        hands.reach(page, part.locator(FIRST).first)
        keys.way("between questions")
        if question.kind is Kind.BENCH:
            hands.set_up(page, part, set_for(question.facts), book["bench.look"].value)
            hands.use(page, part)
        elif question.kind is Kind.CHOICES:
            tick(page, part, given[question.id])
        else:
            hands.answer(page, part, question, given[question.id])
        keys.pressed()


FIRST = "button:not([tabindex='-1']):not(:disabled), input:not([type=hidden]), select"


def tick(page: Page, part: Locator, wanted: list[str]) -> None:
    """Tick boxes, from the first to the last."""
    for id in wanted:
        hands.reach(page, part.locator(f"input[value={id!r}]"))
        page.keyboard.press("Space")
    hands.saved(part)
