"""A learner at work in a real browser: by keyboard, through crashes, in two tabs, to the marks."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from graders.tasks import work
from tests.browser.control_page import axe
from tests.journey import hands
from tests.journey.pages import (
    SHOWN,
    UNIT,
    Opened,
    control,
    opened,
    ready,
    saved_lines,
    status,
    tab_to,
    wait_for,
)
from workbook.cases import Case, Kind, Question, case
from workbook.cases.dials import set_for

EXERCISE = f"{UNIT}/{UNIT}.ipynb"
QUESTIONS = len(points(UNIT))
OURS = f"{SHOWN} .jp-OutputArea, {SHOWN} .tpiece-bar"  # what the workbook itself shows


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    """Yield a running workbook of the learner ada."""
    with opened(tmp_path_factory.mktemp("workbook"), "ada") as running:
        yield running


@pytest.fixture(scope="module")
def drawn(workbook) -> Case:
    """Return ada's case."""
    course = CourseFolder(workbook.home / "course").course
    return case(course.id, UNIT, "ada", course.book)


@pytest.fixture
def page(chromium, workbook):
    """Yield a fresh browser window with ada's exercise open and ready."""
    context = chromium.new_context(viewport={"width": 1280, "height": 1000})
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(workbook.page(EXERCISE))
    ready(page, QUESTIONS)
    yield page
    strange = [url for url in asked if not re.match(r"(http://127\.0\.0\.1|data:|blob:)", url)]
    assert strange == []
    context.close()


def test_the_whole_exercise_by_keyboard_alone(page, workbook, drawn, axe_source):
    """Every question answered, handed in, and graded the same by both ways: full marks.

    On the page with all its answers axe finds nothing serious.
    """
    answers = model_answers(drawn, work.CourseFolder(workbook.home / "course").course.book)
    for question in drawn.questions:
        if question.kind is Kind.BENCH:
            _set_up_by_keyboard(page, question, workbook)
            continue
        _answer_by_keyboard(page, question, answers[question.id])
        expect(control(page, question.label).first.get_by_role("status")).to_be_visible()
    run = _latest(workbook)["bench"]  # no two runs are the same: what it earns is seen below
    wait_for(lambda: _sorted(_latest(workbook)) == _sorted({**answers, "bench": run}), page)
    assert axe(page, axe_source, within=OURS) == []
    page.keyboard.press("Alt+Shift+H")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Handed in at", timeout=30_000)
    expect(dialog).to_contain_text(f"{QUESTIONS} of {QUESTIONS} questions answered")
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)

    course = CourseFolder(workbook.home / "course")
    run_tpiece("collect", "--course", course.path)
    run_tpiece("grade", "--course", course.path)
    run_tpiece("report", "--course", course.path)
    ours = _scores(course)
    assert ours == dict(points(UNIT))
    Nbgrader(course).autograde(UNIT, "ada")
    assert _scores(course) == ours
    assert "ada" in (course.path / "report.html").read_text(encoding="utf-8")


def _sorted(answers: dict[str, Any]) -> dict[str, Any]:
    """Return answers with ticked boxes in one order; the order of steps stays what it is."""
    check = "shift-check"
    return {**answers, check: sorted(answers.get(check, []))}


def run_tpiece(*words: str | Path) -> None:
    """Run a command as a coordinator would."""
    subprocess.run([sys.executable, "-m", "graders.cli", *map(str, words)], check=True)


def _scores(course: CourseFolder) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        submission = book.find_submission(UNIT, "ada")
        return {g.name: g.auto_score for n in submission.notebooks for g in n.grades}


def _latest(workbook: Opened) -> dict[str, Any]:
    if not workbook.answers.exists():
        return {}
    return {line["question"]: line["value"] for line in saved_lines(workbook.answers)}


def _set_up_by_keyboard(page: Page, question: Question, workbook: Opened) -> None:
    part = hands.asked(page, UNIT, question)
    book = CourseFolder(workbook.home / "course").course.book
    hands.set_up(page, part, set_for(question.facts), book["bench.look"].value)
    hands.use(page, part)


def _answer_by_keyboard(page: Page, question: Any, answer: Any) -> None:
    words = {option.id: option.text for option in question.options}
    group = re.escape(question.label)
    if question.kind is Kind.SEQUENCE:
        for place, step in enumerate(answer, start=1):
            tab_to(page, f"^{group} .* Place of: {re.escape(words[step])}$")
            page.keyboard.press("Control+a")
            page.keyboard.type(str(place))
            page.keyboard.press("Enter")
    elif question.kind is Kind.NUMBER:
        tab_to(page, rf"^{group} \| text \|")
        page.keyboard.type(answer["text"])
        page.keyboard.press("Enter")
    elif question.kind is Kind.CHOICES:
        for id in answer:
            tab_to(page, rf"^{group} \| checkbox \| {re.escape(words[id])}$")
            page.keyboard.press("Space")
    else:
        _choose_by_keyboard(page, question, answer)


def _choose_by_keyboard(page: Page, question: Any, answer: str) -> None:
    """Choose a radio: the same question may stand on the page more than once."""
    ids = [option.id for option in question.options]
    tab_to(
        page, rf"^{re.escape(question.label)} \| radio \| {re.escape(question.options[0].text)}$"
    )
    page.keyboard.press("Space")
    for _ in range(ids.index(answer)):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")


def test_after_a_killed_kernel_and_a_closed_browser_every_answer_is_there(
    chromium, workbook, page, drawn
):
    """kill -9 on the kernel, the window gone: reopened, the page shows what was saved."""
    held = control(page, drawn["gauge-held"].label)
    held.get_by_role("textbox").fill("17,5")
    expect(held.get_by_role("status")).to_contain_text("Saved")
    subprocess.run(["pkill", "-9", "-f", f"kernel-{workbook.kernel()}"], check=True)
    page.context.close()
    again = chromium.new_page()
    again.goto(workbook.page(EXERCISE))
    ready(again, QUESTIONS)
    held = control(again, drawn["gauge-held"].label)
    expect(held.get_by_role("textbox")).to_have_value("17,5")
    expect(held.get_by_role("status")).to_contain_text("Saved")
    assert _latest(workbook)["gauge-held"]["text"] == "17,5"
    again.close()


def test_an_answer_given_while_the_kernel_is_busy_is_saved_when_it_is_free(page, workbook, drawn):
    """The page says "Saving…" for as long as that is the truth."""
    client = workbook.client()
    client.execute("import time; time.sleep(6)")
    page.wait_for_timeout(500)
    held = control(page, drawn["gauge-held"].label)
    held.get_by_role("textbox").fill("18")
    expect(held.get_by_role("status")).to_contain_text("Saving…")
    assert _latest(workbook).get("gauge-held", {}).get("text") != "18"
    expect(held.get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    assert _latest(workbook)["gauge-held"]["text"] == "18"
    assert [line["value"] for line in saved_lines(workbook.answers)].count(
        {"text": "18", "unit": "cmH2O"}
    ) == 1
    client.stop_channels()


def test_after_a_restart_from_the_menu_the_page_runs_itself_again(page, workbook, drawn):
    """In the full JupyterLab the kernel is restarted; a new answer is then saved as before."""
    page.goto(workbook.workshop(EXERCISE))
    ready(page, QUESTIONS)
    page.get_by_role("menuitem", name="Kernel", exact=True).click()
    page.get_by_role("menuitem", name=re.compile(r"^Restart Kernel…\s*0")).click()
    page.get_by_role("dialog").get_by_role("button", name="Confirm Kernel Restart").click()
    expect(status(page)).to_have_text("Preparing the page…", timeout=30_000)
    ready(page, QUESTIONS)
    held = control(page, drawn["gauge-held"].label)
    held.get_by_role("textbox").fill("19")
    expect(held.get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    wait_for(lambda: _latest(workbook)["gauge-held"]["text"] == "19", page)


def test_a_kernel_restarted_behind_the_pages_back_gets_no_false_saved(page, workbook, drawn):
    """Nothing is called saved that is not on disk, and in the end the page says how it stands."""
    workbook.ask("POST", f"/api/kernels/{workbook.kernel()}/restart")
    page.wait_for_timeout(1000)
    held = control(page, drawn["gauge-held"].label)
    held.get_by_role("textbox").fill("20,5")
    page.wait_for_timeout(1500)

    def told() -> str:
        text: str = control(page, drawn["gauge-held"].label).get_by_role("status").inner_text()
        return text

    for _ in range(200):
        said = told()
        on_disk = _latest(workbook).get("gauge-held", {}).get("text") == "20,5"
        shown = control(page, drawn["gauge-held"].label).get_by_role("textbox").input_value()
        assert on_disk or shown != "20,5" or "Saved" not in said
        if on_disk or "Not saved yet" in said:
            break
        page.wait_for_timeout(100)
    assert "Not saved yet" in told() or _latest(workbook)["gauge-held"]["text"] == "20,5"


def test_of_two_windows_one_counts_and_shows_what_the_other_saved(chromium, page, workbook, drawn):
    """The older says so within two seconds and takes no answer; going on there shows the newer's.

    The second window is of another browser profile: nothing but the server knows of both.
    """
    held, released = (drawn[question].label for question in ("gauge-held", "gauge-released"))
    control(page, held).get_by_role("textbox").fill("21")
    expect(control(page, held).get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    before = len(saved_lines(workbook.answers))
    other = chromium.new_page()
    other.goto(workbook.page(EXERCISE))
    ready(other, QUESTIONS)
    expect(status(page)).to_contain_text("open in another window")
    expect(control(other, held).get_by_role("textbox")).to_have_value("21")
    control(other, released).get_by_role("textbox").fill("6")
    expect(control(other, released).get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    page.get_by_role("button", name="Go on here").press("Enter")
    ready(page, QUESTIONS)
    expect(control(page, released).get_by_role("textbox")).to_have_value("6")
    expect(status(other)).to_contain_text("open in another window")
    control(page, held).get_by_role("textbox").fill("22")
    expect(control(page, held).get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    lines = saved_lines(workbook.answers)[before:]
    assert [(line["question"], line["value"]["text"]) for line in lines] == [
        ("gauge-released", "6"), ("gauge-held", "22"),
    ]  # fmt: skip
    assert [line["n"] for line in lines] == [before + 2, before + 3]
    other.close()


def test_answers_that_vanished_come_back_from_the_open_page(page, workbook, drawn):
    """Somebody removes the file: the page says so, and not one saved answer is lost."""
    held = control(page, drawn["gauge-held"].label)
    held.get_by_role("textbox").fill("18,5")
    expect(held.get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    before = workbook.answers.read_bytes()
    workbook.answers.unlink()
    part = control(page, drawn["gauge-open"].label)
    part.get_by_role("textbox").fill("0,4")
    expect(part.get_by_role("status")).to_contain_text("it is back, with all", timeout=60_000)
    assert workbook.answers.read_bytes().startswith(before)
    assert _latest(workbook)["gauge-open"]["text"] == "0,4"
    workbook.answers.unlink()
    page.keyboard.press("Alt+Shift+H")
    # Whether it then asks or tells is another test's: it knows again what was answered.
    expect(page.get_by_role("dialog")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("dialog")).not_to_contain_text("Nothing on this page is answered yet")
    page.keyboard.press("Escape")
    assert workbook.answers.read_bytes().startswith(before)


def test_a_tab_closed_at_once_has_saved_what_it_called_saved(chromium, workbook, drawn):
    """What was acknowledged is on disk, though the notebook itself was never saved."""
    page = chromium.new_page()
    page.goto(workbook.page(EXERCISE))
    ready(page, QUESTIONS)
    part = control(page, drawn["gauge-open"].label)
    part.get_by_role("textbox").fill("0,2")
    expect(part.get_by_role("status")).to_contain_text("Saved", timeout=60_000)
    page.close()
    assert _latest(workbook)["gauge-open"]["text"] == "0,2"


def test_a_narrow_window_leaves_the_page_its_room(chromium, workbook, axe_source):
    """At 400 pixels the list of files gives way, and a control has most of the width.

    The browser asks for dark pages: axe finds nothing serious on one with answers either.
    """
    context = chromium.new_context(viewport={"width": 400, "height": 900}, color_scheme="dark")
    page = context.new_page()
    page.goto(workbook.page(EXERCISE))
    ready(page, QUESTIONS)
    box = page.locator(f"{SHOWN} .tpiece").first.bounding_box()
    assert box is not None
    assert box["width"] > 250
    assert axe(page, axe_source, within=OURS) == []
    context.close()


def test_the_server_goes_down_with_the_command(tmp_path):
    """Stopping the command leaves no server behind."""
    with opened(tmp_path, "bob") as running:
        port = running.address.rsplit(":", 1)[1]
        assert running.ask("GET", "/api/status")["started"]
    ended = subprocess.run(["pgrep", "-f", f"ServerApp.port={port}"], capture_output=True)
    assert ended.returncode == 1
    assert not (tmp_path / "home" / ".jupyter").exists()
