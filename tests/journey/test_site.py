"""A learner with a browser and nothing else: a site of static files, a whole unit, full marks."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from tests.journey import hands
from tests.journey.hands import asked, reach, saved
from tests.journey.pages import UNIT, ready, status
from tests.journey.recorder import recorder
from tests.journey.sites import Site, follow, introduce
from workbook.cases import Kind, Question, case
from workbook.cases.dials import set_for

COUNT = len(points(UNIT))
BEFORE_RELOAD = 5  # questions answered before the tab is loaded anew
BUSY_SECONDS = 4
# What a tab that was closed a moment ago does: it keeps the workbook's lock a little longer.
HOLD_A_WHILE = """() => void navigator.locks.request(
  "tpiece-learner:" + location.pathname.replace(/[^/]*$/, ""),
  () => new Promise((resolve) => setTimeout(resolve, 3000)),
)"""
# Comes back to the tab; returns what the page then says it does: nothing, unless it runs anew.
COME_BACK = """async () => {
  const [line, said] = [document.querySelector(".tpiece-bar [role=status]"), []];
  const watch = new MutationObserver(() => said.push(line.textContent));
  watch.observe(line, { childList: true, characterData: true, subtree: true });
  dispatchEvent(new Event("focus"));
  await new Promise((resolve) => setTimeout(resolve, 1500));
  return said;
}"""


def test_the_recorder_notices_other_origins(chromium: Browser):
    """What the other tests rely on: a request to elsewhere is refused and remembered."""
    with recorder() as refused:
        context = chromium.new_context(proxy={"server": refused.address})
        page = context.new_page()
        with pytest.raises(Error, match="RESPONSE_CODE_FAILURE"):
            page.goto("http://elsewhere.invalid/script.js")
        assert any("elsewhere.invalid" in line for line in refused.asked)
        context.close()


def test_a_whole_unit_by_keyboard_earns_full_marks(offline, site, tmp_path):
    """Answered in two sittings, downloaded, taken in from a folder: as in JupyterLab."""
    page = offline.new_page()
    introduce(page, site, "ada")
    follow(page, "Exercise 1")
    opening = page.get_by_text("The page is opening")
    expect(opening).to_be_visible()
    ready(page, COUNT)
    expect(opening).to_have_count(0)
    course = site.course.course
    drawn = case(course.id, UNIT, "ada", course.book)
    given = model_answers(drawn, course.book)
    for n, question in enumerate(drawn.questions):
        if n == BEFORE_RELOAD:
            page.reload()
            ready(page, COUNT)
            expect(page.get_by_text(f"Answered so far: {n} of {COUNT}")).to_be_visible()
        answer(page, question, given[question.id], course.book["bench.look"].value)

    file = downloaded(page, tmp_path / "inbox")
    assert file.name == f"ada.{UNIT}.answers.jsonl"
    (file.parent / "torn.jsonl").write_bytes(file.read_bytes()[50:])
    done = tpiece("grade", "--course", site.course.path, "--inbox", file.parent)
    assert "torn.jsonl is left out" in done.stderr
    assert "1 of 2 files; 1 cannot be used" in done.stdout
    assert done.returncode == 3
    assert scores(site.course, "ada") == dict(points(UNIT))


def answer(page: Page, question: Question, value: Any, look: float) -> None:
    """Answer a question by keys alone, and wait until it is saved."""
    part = asked(page, UNIT, question)
    words = {option.id: option.text for option in question.options}
    if question.kind is Kind.SEQUENCE:
        for place, step in enumerate(value, start=1):
            reach(page, part.get_by_label(re.compile(f"^Place of: {re.escape(words[step])}$")))
            page.keyboard.press("Control+a")
            page.keyboard.type(str(place))
            page.keyboard.press("Enter")
        saved(part)
    elif question.kind is Kind.CHOICES:
        for id in value:
            reach(page, part.get_by_role("checkbox", name=words[id], exact=True))
            page.keyboard.press("Space")
        saved(part)
    elif question.kind is Kind.BENCH:
        hands.set_up(page, part, set_for(question.facts), look)
        hands.use(page, part)
    else:
        hands.answer(page, part, question, value)


def downloaded(page: Page, folder: Path) -> Path:
    """Hand in by its key, read what to do with the file, and return the file."""
    folder.mkdir()
    with page.expect_download() as started:
        page.keyboard.press("Alt+Shift+H")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text(f"{COUNT} of {COUNT} questions answered")
    expect(dialog).to_contain_text("Send that file to your educator")
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)
    expect(status(page)).to_contain_text("Downloaded at")
    path = folder / started.value.suggested_filename
    started.value.save_as(path)
    return path


def tpiece(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """Run a command as a coordinator would."""
    command = [sys.executable, "-m", "graders.cli", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def scores(course: CourseFolder, learner: str) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        submission = book.find_submission(UNIT, learner)
        return {g.name: g.auto_score for n in submission.notebooks for g in n.grades}


def test_a_click_while_busy_is_saved_and_survives_the_tab(offline, site):
    """The kernel drops what it cannot take; the page sends it again, and a new tab shows it."""
    offline.route("**/jupyter-lite.json", exposed)
    page = offline.new_page()
    introduce(page, site, "bea")
    follow(page, "Exercise 1")
    ready(page, COUNT)
    course = site.course.course
    drawn = case(course.id, UNIT, "bea", course.book)
    question = next(q for q in drawn.questions if q.kind is Kind.CHOICE)
    value = model_answers(drawn, course.book)[question.id]
    keep_busy(page, BUSY_SECONDS)
    part = asked(page, UNIT, question)
    hands.choose(page, part, value)
    expect(part.locator(".tpiece-saving")).to_contain_text("Saving")
    saved(part)
    page.close()
    again = offline.new_page()
    again.goto(site.page(f"{UNIT}/{UNIT}"))
    ready(again, COUNT)
    part = asked(again, UNIT, question)
    saved(part)
    expect(part.locator(f"input[value={value!r}]")).to_be_checked()
    a_second_tab_is_sent_away(offline, site)


def test_a_second_attempt_is_begun_sent_and_marked_by_its_own_case(offline, site, tmp_path):
    """The browser keeps both; each file is taken in, and an old one changes nothing."""
    page = offline.new_page()
    introduce(page, site, "cyd")
    follow(page, "Exercise 1")
    ready(page, COUNT)
    first = some_right(page, site, 1)
    early = sent(page, tmp_path / "early")
    page.get_by_role("button", name="New attempt (1 left) or practice").press("Enter")
    page.get_by_role("dialog").get_by_role("button", name="Start attempt 2").press("Enter")
    expect(page.get_by_text("Attempt 2 of 2.")).to_be_visible(timeout=90_000)
    expect(page.get_by_role("button", name="Practise this case")).to_be_visible()
    page.reload()
    ready(page, COUNT)
    expect(page.get_by_text(f"Answered so far: 0 of {COUNT}")).to_be_visible()
    second = some_right(page, site, 2)
    late = sent(page, tmp_path / "late")
    for inbox, answered, attempt in ((early, first, 1), (late, second, 2), (early, second, 2)):
        done = tpiece("grade", "--course", site.course.path, "--inbox", inbox)
        assert done.returncode == 0, done.stderr
        got = {id: earned for id, earned in scores(site.course, "cyd").items() if earned}
        assert got == {id: points(UNIT)[id] for id in answered}
        told = tpiece("grade", "--course", site.course.path, "--explain", "cyd", UNIT).stdout
        assert ("attempt 2" in told) == (attempt == 2)
    assert "later work is there already" in done.stdout


def some_right(page: Page, site: Site, attempt: int) -> list[str]:
    """Answer a few questions rightly, others in each attempt; return which."""
    course = site.course.course
    drawn = case(course.id, UNIT, "cyd", course.book, attempt)
    given = model_answers(drawn, course.book)
    chosen = [q for q in drawn.questions if q.kind in (Kind.CHOICE, Kind.NUMBER)][attempt - 1 : 3]
    for question in chosen:
        hands.answer(page, asked(page, UNIT, question), question, given[question.id])
    return [question.id for question in chosen]


def sent(page: Page, folder: Path) -> Path:
    """Hand in what there is, and return the folder that the file was put into."""
    folder.mkdir()
    with page.expect_download() as started:
        page.keyboard.press("Alt+Shift+H")
        page.get_by_role("dialog").get_by_role("button", name="Hand in anyway").press("Enter")
    started.value.save_as(folder / started.value.suggested_filename)
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    return folder


def exposed(route: Any) -> None:
    """Let the page's own program be reached from the test."""
    reply = route.fetch()
    settings = reply.json()
    settings.setdefault("jupyter-config-data", {})["exposeAppInBrowser"] = True
    route.fulfill(response=reply, json=settings)


def keep_busy(page: Page, seconds: int) -> None:
    """Keep the page's kernel from hearing anything."""
    page.evaluate(
        """(code) => void window.jupyterapp.shell.currentWidget.sessionContext.session.kernel
            .requestExecute({ code })""",
        f"import time; time.sleep({seconds})",
    )
    page.wait_for_timeout(500)


def a_second_tab_is_sent_away(offline: BrowserContext, site: Site) -> None:
    """Two tabs would write to one drive: the second says so and opens nothing."""
    second = offline.new_page()
    second.goto(site.page(f"{UNIT}/{UNIT}"))
    expect(second.get_by_role("status")).to_contain_text("already open in another tab")
    second.close()


def test_a_tab_that_is_still_ending_is_waited_for(offline, site):
    """Closed and opened again at once, the workbook opens; it sends nobody away."""
    ending = offline.new_page()
    introduce(ending, site, "eve")
    ending.evaluate(HOLD_A_WHILE)
    page = offline.new_page()
    page.goto(site.page(f"{UNIT}/{UNIT}"))
    ready(page, COUNT)


def test_who_has_not_said_their_name_is_asked(offline, site):
    """A page opened by its own link leads to the start page first."""
    page = offline.new_page()
    page.goto(site.page(f"{UNIT}/{UNIT}"))
    expect(page.get_by_role("status")).to_contain_text("Say who you are first")
    for wrong in (".hidden", "two words", "a/b", ""):
        page.get_by_label("Your id").fill(wrong)
        page.get_by_role("button", name="Keep it").click()
        assert page.evaluate("localStorage.getItem('tpiece-learner')") is None


def test_every_lesson_opens_without_an_error(offline, site):
    """No lesson needs what a browser's Python has not got; coming back to the tab keeps it."""
    page = offline.new_page()
    introduce(page, site, "zoe")
    lessons = sorted(path.stem for path in (site.folder / "files").glob("*.ipynb"))
    assert len(lessons) > 1
    for lesson in lessons:
        page.goto(site.page(lesson))
        expect(status(page)).to_have_text("Ready", timeout=90_000)
        expect(page.locator("[data-mime-type*=stderr], [data-mime-type*=error]")).to_have_count(0)
        expect(page.locator(".jp-NotebookPanel")).to_have_count(1)
        assert page.evaluate(COME_BACK) == []


def test_a_browser_that_asks_for_dark_pages_gets_them(chromium, site):
    """The page of a lesson follows the browser's own wish, as the start page does."""
    context = chromium.new_context(color_scheme="dark")
    page = context.new_page()
    introduce(page, site, "dot")
    follow(page, "Start here")
    expect(status(page)).to_have_text("Ready", timeout=90_000)
    expect(page.locator("body[data-jp-theme-light=false]")).to_have_count(1)
    context.close()


def test_the_site_names_no_other_origin_in_its_settings(site):
    """Pyodide and every wheel are the site's own; no key to an answer is handed out."""
    settings = (site.folder / "jupyter-lite.json").read_text(encoding="utf-8")
    assert "http" not in settings
    assert not list(site.folder.rglob("*.map"))
    (wheel,) = (site.folder / "static" / "pyodide").glob("tpiece_workbook-*.whl")
    assert b"graders/" not in wheel.read_bytes()
