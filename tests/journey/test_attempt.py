"""A learner who begins a new attempt and practises the old case, by keyboard, in a real browser.

The course allows two attempts.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers, points
from graders.tasks import work
from tests.journey.pages import SHOWN, UNIT, opened, ready, status
from workbook.cases import case
from workbook.core.answer_sheet import answer_sheet
from workbook.core.answers import AnswersFile

EXERCISE = f"{UNIT}/{UNIT}.ipynb"
QUESTIONS = len(points(UNIT))
NEW, LAST, BACK = "New attempt (1 left) or practice", "Practise this case", "Back to my answers"
SIZES = ((1280, 900), (390, 844), (640, 360))
PICTURES = os.environ.get("TPIECE_PICTURES", "")  # a folder to look at what was shown


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    """Yield a running workbook of the learner ada."""
    home = tmp_path_factory.mktemp("workbook")
    work.assign(home / "work" / "course", course_id="demo", units=[UNIT], attempts="2")
    with opened(home, "ada") as running:
        yield running


@pytest.fixture
def page(chromium, workbook):
    """Yield a browser window with ada's exercise open and nothing answered."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    page.goto(workbook.page(EXERCISE))
    ready(page, QUESTIONS)
    yield page
    assert failures == []
    context.close()


def bar(page: Page, name: str) -> Locator:
    """Return a button of the bar."""
    return page.locator(f"{SHOWN} .tpiece-bar").get_by_role("button", name=name)


def look(page: Page, name: str) -> None:
    """Keep pictures of the page, wide and narrow, where they are asked for."""
    if not PICTURES:
        return
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(1500)
        page.screenshot(path=Path(PICTURES) / f"{name}-{width}.png")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.wait_for_timeout(1000)


def whole(page: Page) -> None:
    """Check that the dialog is seen whole at every size, with one button that stands out."""
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(300)
        found = page.evaluate(_DIALOG)
        assert found["hidden"] == 0, (width, height)
        left, top, right, bottom = found["box"]
        assert (left >= 0, top >= 0, right <= width, bottom <= height) == (True,) * 4
        assert len(set(found["colours"])) == 2
        assert sorted(map(found["colours"].count, set(found["colours"])))[0] == 1
    page.set_viewport_size({"width": 1280, "height": 900})


_DIALOG = """() => {
  const inside = (name) => document.querySelector(`.tpiece-dialog .jp-Dialog-${name}`);
  const body = inside("body");
  const box = inside("content").getBoundingClientRect();
  const buttons = [...document.querySelectorAll(".tpiece-dialog button")];
  return {
    hidden: body.scrollHeight - body.clientHeight,
    box: [box.left, box.top, box.right, box.bottom],
    colours: buttons.map((button) => getComputedStyle(button).backgroundColor),
  };
}"""


def test_a_new_attempt_and_practice_by_keyboard(page, workbook, axe_source):
    """The question comes first; the new case is empty; practice counts nowhere; all is kept."""
    course = CourseFolder(workbook.home / "course").course
    first, second = (case(course.id, UNIT, "ada", course.book, n) for n in (1, 2))
    bar(page, NEW).press("Enter")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Nothing of attempt 1 is answered yet.")
    expect(dialog.get_by_role("button", name="Start")).to_have_count(0)
    page.keyboard.press("Escape")

    page.locator(f"{SHOWN} .tpiece").filter(has_text=first["reason"].label).get_by_role(
        "radio"
    ).first.press("Space")
    expect(page.locator(f"{SHOWN} .tpiece-saving", has_text="Saved").first).to_be_visible()
    kept = workbook.answers.read_bytes()
    bar(page, NEW).press("Enter")
    expect(dialog).to_contain_text(f"This is attempt 1. 1 of {QUESTIONS} questions are answered.")
    expect(dialog.get_by_role("button", name="Go back")).to_be_focused()
    whole(page)
    page.evaluate(axe_source)
    found = page.evaluate("axe.run({ include: [['.tpiece-bar'], ['.tpiece-dialog']] })")
    assert found["passes"]
    assert found["violations"] == []
    look(page, "question")
    dialog.get_by_role("button", name="Practise this case").press("Enter")
    expect(status(page)).to_have_text(re.compile("^Practice: nothing here"), timeout=90_000)
    expect(page.locator(SHOWN)).to_contain_text("Practice, with the case of attempt 1.")
    expect(page.locator(SHOWN)).to_contain_text(f"Answered so far: 0 of {QUESTIONS}")
    expect(bar(page, "Save and hand in")).to_be_hidden()
    look(page, "practice")
    page.keyboard.press("Alt+Shift+H")
    expect(dialog).to_have_count(0)
    assert workbook.answers.read_bytes() == kept
    bar(page, BACK).press("Enter")
    expect(status(page)).to_have_text("Ready", timeout=90_000)
    expect(page.locator(SHOWN)).to_contain_text(f"Answered so far: 1 of {QUESTIONS}")
    expect(bar(page, "Save and hand in")).to_be_visible()

    bar(page, NEW).press("Enter")
    dialog.get_by_role("button", name="Start attempt 2").press("Enter")
    expect(page.locator(SHOWN)).to_contain_text("Attempt 2 of 2.", timeout=90_000)
    expect(status(page)).to_have_text("Ready", timeout=90_000)
    expect(page.locator(SHOWN)).to_contain_text(f"Answered so far: 0 of {QUESTIONS}")
    look(page, "second")
    after = workbook.answers.read_bytes()
    assert after.startswith(kept)
    assert answer_sheet(after, "").attempt == 2
    page.keyboard.press("Alt+Shift+H")
    expect(dialog).to_contain_text("Nothing on this page is answered yet.")
    page.keyboard.press("Escape")

    answers = model_answers(second, course.book)
    question = next(q for q in second.questions if q.id == "reason")
    part = page.locator(f"{SHOWN} .tpiece").filter(has_text=question.label)
    text = next(o.text for o in question.options if o.id == answers["reason"])
    part.get_by_role("radio", name=text, exact=True).press("Space")
    expect(part.locator(".tpiece-saving")).to_contain_text("Saved", timeout=30_000)
    sheet = answer_sheet(workbook.answers.read_bytes(), "")
    assert {id: one.value for id, one in sheet.latest().items()} == {"reason": answers["reason"]}
    page.reload()
    ready(page, QUESTIONS)
    expect(page.locator(SHOWN)).to_contain_text("Attempt 2 of 2.")
    bar(page, LAST).press("Enter")
    expect(dialog).to_contain_text("Attempt 2 is the last that this course allows.")
    expect(dialog.get_by_role("button", name="Start")).to_have_count(0)
    whole(page)
    page.keyboard.press("Escape")
    assert AnswersFile(workbook.answers, course.id, UNIT, "ada", course.edition).sheet() == sheet
