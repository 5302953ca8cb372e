"""A learner counts the rate by hand: nine tasks in a real browser, by keyboard alone."""

from __future__ import annotations

import csv
import re
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from graders.tasks import work
from tests.journey.pages import Opened, control, opened, ready, saved_lines, tab_to, wait_for
from workbook.cases import Case, Kind, Question, case
from workbook.core.answer_sheet import answers_path
from workbook.rules.timing import Count
from workbook.units.rate.case.questions import EXERCISE, TAPPED

NAMES = 30  # learners among whom the one with the shortest runs is found
LEAD = 0.3  # s; the first inflation does not come with the first beat


@pytest.fixture(scope="module")
def home(tmp_path_factory) -> Path:
    """Return a home folder with a course of this unit."""
    path = tmp_path_factory.mktemp("counting")
    work.assign(path / "work" / "course", course_id="may", title="May", units=[EXERCISE])
    return path


@pytest.fixture(scope="module")
def course(home) -> CourseFolder:
    """Return the course."""
    return CourseFolder(home / "work" / "course")


@pytest.fixture(scope="module")
def drawn(course) -> Case:
    """Return the case with the shortest runs among many learners."""
    settings = course.course
    every = (case(settings.id, EXERCISE, f"nurse-{n}", settings.book) for n in range(NAMES))
    return min(every, key=lambda one: sum(one[id].facts["duration"] for id in TAPPED))


@pytest.fixture(scope="module")
def workbook(home, drawn):
    """Yield that learner's running workbook."""
    with opened(home, drawn.learner) as running:
        yield running


@pytest.fixture
def page(chromium, workbook, drawn):
    """Yield a browser window with the exercise open and ready."""
    page = chromium.new_context(viewport={"width": 1280, "height": 1000}).new_page()
    page.goto(workbook.page(f"{EXERCISE}/{EXERCISE}.ipynb"))
    ready(page, len(drawn.questions))
    yield page
    page.context.close()


def test_a_rate_counted_by_hand_is_saved_handed_in_and_marked_alike(page, workbook, course, drawn):
    """Two runs held with the space bar and seven answers earn nearly every point, both ways."""
    wanted = model_answers(drawn, course.course.book)
    for question in drawn.questions:
        _answer(page, question, wanted[question.id])
    wait_for(lambda: set(_latest(workbook)) == set(wanted), page)
    _is_what_the_hands_did(_latest(workbook), wanted, drawn)
    _hand_in(page)

    assert any("1 submissions" in taken.says for taken in work.collect(course.path))
    assert work.grade(course.path).problems == ()
    ours, full = _scores(course, drawn.learner), dict(points(EXERCISE))
    assert {id: ours[id] for id in full if id not in TAPPED} == {
        id: most for id, most in full.items() if id not in TAPPED
    }
    assert sum(ours.values()) >= 0.9 * sum(full.values())
    page_of_course, table = work.report(course.path)[:2]
    (row,) = csv.DictReader(table.read_text(encoding="utf-8-sig").splitlines())
    assert (row["learner"], row["unit"]) == (drawn.learner, EXERCISE)
    assert float(row["score"]) == sum(ours.values())
    text = page_of_course.read_text(encoding="utf-8")
    assert all(named in text for named in (drawn.learner, *full))
    Nbgrader(course).autograde(EXERCISE, drawn.learner)
    assert _scores(course, drawn.learner) == ours


def _is_what_the_hands_did(
    saved: Mapping[str, Any], wanted: Mapping[str, Any], drawn: Case
) -> None:
    """Assert that answers are right, and that each run holds as many inflations as were given."""
    for id, answer in wanted.items():
        if id not in TAPPED:
            assert saved[id] == answer
            continue
        kinds = [kind for _, kind in saved[id]["events"]]
        assert kinds == ["press", "release"] * _inflations(drawn[id])
        assert saved[id].get("answered") == answer.get("answered")


def _hand_in(page: Page) -> None:
    page.keyboard.press("Alt+Shift+H")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Handed in at", timeout=30_000)
    expect(dialog).to_contain_text("9 of 9 questions answered")
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)


def _latest(workbook: Opened) -> dict[str, Any]:
    path = answers_path(workbook.own / EXERCISE / f"{EXERCISE}.ipynb")
    if not path.exists():
        return {}
    return {line["question"]: line["value"] for line in saved_lines(path)}


def _scores(course: CourseFolder, learner: str) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        submission = book.find_submission(EXERCISE, learner)
        return {g.name: g.auto_score for n in submission.notebooks for g in n.grades}


# --- the hands


def _answer(page: Page, question: Question, answer: Any) -> None:
    """Answer a question by keyboard and wait until it is called saved."""
    group = re.escape(question.label)
    if question.kind is Kind.TAPS:
        tab_to(page, rf"^{group} \| button \| Start$")
        _tap(page, question, answer.get("answered", ""))
    elif question.kind is Kind.NUMBER:
        tab_to(page, rf"^{group} \| text \|")
        page.keyboard.type(answer["text"])
        page.keyboard.press("Enter")
    elif question.kind is Kind.CHOICES:
        _tick(page, question, answer)
    else:
        _choose(page, question, answer)
    told = control(page, question.label).get_by_role("status")
    expect(told).to_contain_text("Saved", timeout=60_000)


def _choose(page: Page, question: Question, answer: str) -> None:
    first = re.escape(question.options[0].text)
    tab_to(page, rf"^{re.escape(question.label)} \| radio \| {first}$")
    page.keyboard.press("Space")
    for _ in range([option.id for option in question.options].index(answer)):
        page.keyboard.press("ArrowDown")


def _tick(page: Page, question: Question, answer: list[str]) -> None:
    for option in question.options:
        if option.id in answer:
            text = re.escape(option.text)
            tab_to(page, rf"^{re.escape(question.label)} \| checkbox \| {text}$")
            page.keyboard.press("Space")


def _inflations(question: Question) -> int:
    """Return how many whole cycles fit into a run, with the last release well inside it."""
    return int((question.facts["duration"] - 2 * LEAD) * question.facts["rate"] / 60)


def _tap(page: Page, question: Question, answered: str) -> None:
    """Start a run and hold the space bar for the first beat of every cycle."""
    run = control(page, question.label)
    page.keyboard.press("Enter")
    expect(run.locator("[data-phase=count]")).to_be_visible(timeout=60_000)
    shows = question.shows
    beats = Count(question.facts["rate"], shows["occlude_beats"], shows["release_beats"])
    begin, cycle = time.monotonic() + LEAD, 60 / question.facts["rate"]
    keys = [option["id"] for option in shows["distraction"].get("options", ())]
    for n in range(_inflations(question)):
        _at(begin + n * cycle, lambda: page.keyboard.down("Space"))
        _at(begin + n * cycle + beats.inflation, lambda: page.keyboard.up("Space"))
        if answered and run.locator(".tpiece-alarm[data-state=open]").count():
            page.keyboard.press(str(keys.index(answered) + 1))
    expect(run.locator("[data-phase=idle]")).to_be_visible(timeout=60_000)


def _at(moment: float, act: Callable[[], None]) -> None:
    """Do something at a moment of the clock."""
    time.sleep(max(0.0, moment - time.monotonic()))
    act()
