"""Whole units done by hand in a real browser: by keys alone, and by touch, to the marks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import mean
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import mark, model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from graders.tasks import work
from graders.units.targets.raise_pip import bounds_of
from tests.journey import hands
from tests.journey.hands import Fingers, asked, dial, saved
from tests.journey.pages import Opened, opened, ready, saved_lines, wait_for
from workbook.bench import DIALS
from workbook.cases import Case, Kind, case
from workbook.cases.dials import set_for
from workbook.course.settings import Course

SETUP, TARGETS, SIZES = "1_setup_order", "3_pressure_targets", "5_interface_sizing"
KEEP, OCCLUDE = "Keep occluded", "Cover the hole"
USE = "Use this run as my answer"
TOUCH = {"has_touch": True, "viewport": {"width": 820, "height": 1100}}
KEYS = {"viewport": {"width": 1280, "height": 1000}}
AWAY = 6  # mm by which a mask is first laid wrong


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    """Yield a running workbook of the learner ada."""
    with opened(tmp_path_factory.mktemp("workbook"), "ada") as running:
        yield running


@pytest.fixture
def untouched(tmp_path: Path) -> Iterator[Opened]:
    """Yield a running workbook of the learner bea, who has answered nothing yet."""
    with opened(tmp_path, "bea") as running:
        yield running


@pytest.fixture
def at(chromium: Browser, workbook: Opened) -> Iterator[Callable[..., Page]]:
    """Yield what opens a unit in a browser of its own."""
    pages: list[Page] = []

    def _open(unit: str, running: Opened = workbook, **context: Any) -> Page:
        page = chromium.new_context(**context).new_page()
        pages.append(page)
        page.goto(running.page(f"{unit}/{unit}.ipynb"))
        ready(page, len(points(unit)))
        return page

    yield _open
    for page in pages:
        page.context.close()


def folder(workbook: Opened) -> CourseFolder:
    return CourseFolder(workbook.home / "course")


def drawn(workbook: Opened, unit: str) -> tuple[Case, Course]:
    """Return the learner's case of a unit, and the course it was drawn for."""
    course = folder(workbook).course
    return case(course.id, unit, workbook.learner, course.book), course


def lines(workbook: Opened, unit: str) -> list[dict[str, Any]]:
    """Return every answer saved so far."""
    file: Path = workbook.own / unit / f"{unit}.answers.jsonl"
    return saved_lines(file) if file.exists() else []


def latest(workbook: Opened, unit: str) -> dict[str, Any]:
    return {line["question"]: line["value"] for line in lines(workbook, unit)}


def earns_all(workbook: Opened, unit: str, question: str) -> None:
    """See that the answer that stands earns every point."""
    met, course = drawn(workbook, unit)
    verdict = mark(met, question, latest(workbook, unit).get(question), course.book)
    assert verdict.earned == points(unit)[question], str(verdict)


# --- whole units by keyboard


def test_the_pressure_unit_is_done_by_keyboard_alone(at, workbook):
    """Sets, gauges, predictions and a rising PIP in an unbroken count: full marks, both ways."""
    page, (met, course) = at(TARGETS, **KEYS), drawn(workbook, TARGETS)
    given = model_answers(met, course.book)
    for question in met.questions:
        part = asked(page, TARGETS, question)
        if question.id != "raise":
            hands.answer(page, part, question, given[question.id])
            continue
        rate = mean(bounds_of(question, course.book).rate)
        hands.inflate(page, dial(part, "PIP control"), given["raise"], rate)
        use_by_keyboard(page, part)
    run = latest(workbook, TARGETS)["raise"]
    assert {action[1] for action in run["actions"]} == {"occlude", "release", "pip"}
    earns_all(workbook, TARGETS, "raise")
    check(page, workbook, TARGETS, given, {"raise"})


def test_the_sizing_unit_is_done_by_keyboard_alone(at, workbook):
    """A mask laid by arrow keys and fields, sizes chosen and typed: full marks, both ways."""
    page, (met, course) = at(SIZES, **KEYS), drawn(workbook, SIZES)
    given = model_answers(met, course.book)
    for question in met.questions:
        part = asked(page, SIZES, question)
        if question.kind is Kind.FACE:
            hands.lay(page, part, given[question.id])
        else:
            hands.answer(page, part, question, given[question.id])
    check(page, workbook, SIZES, given, set())


def check(
    page: Page,
    workbook: Opened,
    unit: str,
    given: dict[str, Any],
    own: set[str],
    hand_in: Callable[[int], None] | None = None,
) -> None:
    """Hand in, by its key unless told how, and see full marks both ways, and a report."""
    kept = latest(workbook, unit)
    assert {q: kept.get(q) for q in given if q not in own} == {
        q: value for q, value in given.items() if q not in own
    }
    (hand_in or partial(hands.hand_in, page))(len(given))
    course = folder(workbook)
    assert f"{unit}: 1 submissions collected." in [
        taken.says for taken in work.collect(course.path)
    ]
    assert work.grade(course.path).problems == ()
    ours = scores(course, unit, workbook.learner)
    assert ours == dict(points(unit))
    for written in work.report(course.path)[:2]:
        text = written.read_text(encoding="utf-8-sig")
        assert unit in text
        assert workbook.learner in text
    Nbgrader(course).autograde(unit, workbook.learner)
    assert scores(course, unit, workbook.learner) == ours


def scores(course: CourseFolder, unit: str, learner: str) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        submission = book.find_submission(unit, learner)
        return {g.name: g.auto_score for n in submission.notebooks for g in n.grades}


def use_by_keyboard(page: Page, part: Locator) -> None:
    """Choose the run as the answer."""
    hands.use(page, part)
    expect(part.locator(".tpiece-bench-saved")).to_contain_text("Your saved run")


# --- a whole unit by touch


def test_the_sizing_unit_is_done_by_touch(at, untouched):
    """Fingers drag the mask, tap choices, fields and units, and hand in: full marks, both ways."""
    page, (met, course) = at(SIZES, untouched, **TOUCH), drawn(untouched, SIZES)
    fingers, given = Fingers(page), model_answers(met, course.book)
    for question in met.questions:
        part, value = asked(page, SIZES, question), given[question.id]
        before = len(lines(untouched, SIZES))
        if question.kind is Kind.FACE:
            part.get_by_role("radio", name=f"{value['mask']:g} mm").tap()
            for off in (AWAY, 0):
                fingers.drag(part, value["x"] + off, value["y"] - off)
        else:
            fingers.answer(part, question, value)
        saved(part)
        wait_for(lambda before=before: len(lines(untouched, SIZES)) > before, page)
    check(page, untouched, SIZES, given, set(), fingers.hand_in)


# --- set-up on the bench, from everything off to ready


def test_the_bench_is_set_up_by_keyboard_alone(at, workbook):
    """Cap, flow, relief, PIP, PEEP, a look at both, the baby: ten of ten by keys."""
    page, (met, course) = at(SETUP, **KEYS), drawn(workbook, SETUP)
    part, wanted = asked(page, SETUP, met["bench"]), set_for(met["bench"].facts)
    hands.set_up(page, part, wanted, course.book["bench.look"].value)
    before = len(lines(workbook, SETUP))
    use_by_keyboard(page, part)
    ready_for_the_baby(page, workbook, before)


def test_the_bench_is_set_up_by_touch(at, workbook):
    """The same by fingers: taps on sliders, buttons and labels, and a thumb that holds."""
    page, (met, course) = at(SETUP, **TOUCH), drawn(workbook, SETUP)
    part, wanted = asked(page, SETUP, met["bench"]), set_for(met["bench"].facts)
    look = course.book["bench.look"].value + 0.5
    fingers, keep = Fingers(page), part.get_by_role("button", name=KEEP)
    part.get_by_label("Cap on").tap()
    fingers.turn(part, "Flow", wanted["flow"])
    fingers.turn(part, "PIP control", DIALS["pip"].clicks)
    keep.tap()
    fingers.turn(part, "Maximum pressure relief", wanted["relief"])
    page.wait_for_timeout(1000 * look)
    fingers.turn(part, "PIP control", wanted["pip"])
    page.wait_for_timeout(1000 * look)
    keep.tap()
    fingers.turn(part, "PEEP control", wanted["peep"])
    page.wait_for_timeout(1000 * look)
    fingers.hold(part.get_by_role("button", name=OCCLUDE), look)
    part.get_by_label("Mask on the baby").tap()
    before = len(lines(workbook, SETUP))
    part.get_by_role("button", name=USE).tap()
    ready_for_the_baby(page, workbook, before)


def ready_for_the_baby(page: Page, workbook: Opened, before: int) -> None:
    """Wait until the run is on disk, and see what it earns."""
    wait_for(lambda: len(lines(workbook, SETUP)) > before, page)
    assert lines(workbook, SETUP)[-1]["question"] == "bench"
    earns_all(workbook, SETUP, "bench")
