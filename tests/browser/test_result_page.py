"""The result in a real browser: on a page of its own and in the exercise, by keyboard alone."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from graders.grading.at_hand_in import MODULE
from graders.grading.grade import grade
from graders.grading.result import marked_values, result_of, write
from graders.marking.graded import Graded
from graders.marking.personas import answers_of
from tests.browser.control_page import axe
from tests.browser.lab_site import (
    LEARNER,
    SLOW_MS,
    TOKEN,
    Site,
    hand_in,
    open_page,
    started,
    status,
    write_page,
)
from tests.page_words import translations
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import TO_SEND, digest, give
from workbook.course.result import came_back, own
from workbook.course.settings import FILE, read_course

UNIT = "1_setup_order"
COURSE = 'id = "toy"\ntitle = "Before the lab"\nunits = ["1_setup_order"]\n'
AT_ONCE = 'feedback = "at hand-in"\n'
EXERCISE = f"{UNIT}/{UNIT}.ipynb"
# Stands in for a control: it says which second it was asked to show.
CONTROL = """\
from IPython.display import HTML
# unit.ask("{id}")
HTML('<fieldset class="tpiece" id="ask-{id}"><legend>{id}</legend></fieldset>')
"""
LISTEN = """() => document.querySelector("#ask-bench").addEventListener("tpiece-seek",
  ({ detail }) => (globalThis.shown = detail))"""


def lay_pages(top: Path) -> None:
    """Lay a lesson and an exercise with two stand-in controls, as a course gives them out."""
    lessons = {"start_here": "Start here", UNIT: "Lesson 1: set-up order", "2_bench": "The bench"}
    for name, title in lessons.items():
        about = {"unit": name, "kind": "lesson", "minutes": 12}
        write_page(top / "lessons" / f"{name}.ipynb", [("markdown", f"# {title}")], about)
    cells = [("markdown", "# Exercise 1: set-up order")]
    cells += [("code", CONTROL.format(id=id)) for id in ("order", "bench")]
    about = {"unit": UNIT, "kind": "exercise", "minutes": 10}
    write_page(top / "exchange" / "toy" / "outbound" / UNIT / f"{UNIT}.ipynb", cells, about)
    (top / "exchange" / "toy" / "inbound").mkdir()


def answer(folder: Path, holds: str, attempt: int = 1) -> None:
    """Answer the exercise as somebody with a belief does."""
    course = read_course(folder)
    drawn = case(course.id, UNIT, LEARNER, course.book, attempt)
    path = answers_path(folder / EXERCISE)
    file = AnswersFile(path, course.id, UNIT, LEARNER, course.edition, protocol=course.stamp)
    if attempt == 1:
        path.unlink(missing_ok=True)
    else:
        file.attempt = file.begin(attempt - 1)
    for question in drawn.questions:
        file.asks(question.id, question.label)
    for question, value in answers_of(drawn, course.book, holds).items():
        file.append(question, value)


def mark(folder: Path) -> None:
    """Hand in, and lay the result as marking lays it."""
    course = read_course(folder)
    give(folder, course.id, LEARNER, UNIT)
    shutil.rmtree(folder / TO_SEND)
    graded = grade(folder / UNIT, course, UNIT, LEARNER)
    write(result_of(graded, course, marked_values(folder / UNIT, graded)), own(folder, UNIT))


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start a course in which a run that could harm was handed in and marked."""
    top = tmp_path_factory.mktemp("marked")
    lay_pages(top)
    with started(top, COURSE) as site:
        answer(site.folder, "peep-before-pip")
        mark(site.folder)
        yield site


@pytest.fixture
def page(chromium: Browser, marked: Site) -> Iterator[Page]:
    """Yield the result in a window of its own; no page may have an error."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    errors: list[str] = []
    context.on("weberror", lambda error: errors.append(str(error.error)))
    page = opened(context.new_page(), marked)
    yield page
    context.close()
    assert errors == []


def opened(page: Page, site: Site) -> Page:
    page.goto(f"{site.url}/doc/tree/{UNIT}/result?token={TOKEN}")
    result(page).get_by_role("heading", level=1).wait_for(timeout=SLOW_MS)
    return page


def result(page: Page) -> Locator:
    return page.locator(".tpiece-result-page:not(.lm-mod-hidden)")


def test_the_result_says_where_one_stands_what_was_found_and_what_is_next(page: Page) -> None:
    """Points, finding, belief, rule, source, place to read; no name of a file, no host's word."""
    said = result(page).inner_text()
    for text in (
        "Your result", "Exercise 1: set-up order", "Unsafe act", "of 32 points", "Do this next",
        "read lesson 1", "Look at this again", "The answer fits this belief", "Rule:", "Source:",
        "Your whole run of", "What your hands did here could harm a baby",
    ):  # fmt: skip
        assert text in said, text
    assert not [word for word in ("ipynb", "1_setup", "Kernel", "nbgrader") if word in said]
    assert page.title().startswith("Your result · Exercise 1: set-up order")


def test_its_headings_are_in_order_for_a_screen_reader(page: Page) -> None:
    """One first heading, and no level left out."""
    levels = (
        result(page)
        .locator("h1, h2, h3, h4, h5")
        .evaluate_all("(all) => all.map((each) => Number(each.tagName[1]))")
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels)), levels


def test_a_moment_of_the_run_is_reached_by_keyboard(page: Page) -> None:
    """Tab to the finding's button, Enter: the exercise shows the run at that second."""
    wanted = page.get_by_role("button", name="in your run").first
    for _ in range(60):
        if wanted.evaluate("(node) => node === document.activeElement"):
            break
        page.keyboard.press("Tab")
    expect(wanted).to_be_focused()
    seconds = float((wanted.inner_text()).split()[1])
    page.evaluate("globalThis.shown = null")
    page.add_script_tag(
        content="""
      document.addEventListener("tpiece-seek", ({ detail }) => (globalThis.shown = detail), true);
    """
    )
    page.keyboard.press("Enter")
    page.wait_for_function("globalThis.shown !== null", timeout=SLOW_MS)
    assert page.evaluate("globalThis.shown") == pytest.approx(seconds, abs=0.06)
    assert page.evaluate("location.pathname").endswith(EXERCISE)
    page.go_back()
    expect(result(page)).to_be_visible()


@pytest.mark.parametrize("where", ["result", "exercise"])
def test_an_experts_run_of_the_same_case_is_behind_ones_own(
    page: Page, marked: Site, where: str
) -> None:
    """On one axis of time; told apart by a dash and a name, and the same in words."""
    at = result(page)
    if where == "exercise":
        page.goto(f"{marked.url}/doc/tree/{EXERCISE}?token={TOKEN}")
        at = page.locator("details.tpiece-marked").last
    run = at.locator("figure.tpiece-run")
    expect(run).to_have_count(1, timeout=SLOW_MS)
    strip = run.get_by_role("img")
    lines = strip.locator("polyline")
    expect(lines).to_have_count(2)
    dashes = lines.evaluate_all(
        "(all) => all.map((each) => getComputedStyle(each).strokeDasharray)"
    )
    assert dashes[0] != "none"
    assert dashes[1] == "none"
    own, expert = (run.locator(".tpiece-whose").nth(n) for n in (0, 1))
    expect(own).to_have_text("Your run")
    expect(expert).to_have_text("An expert's run")
    for says in (strip.get_attribute("aria-label"), run.locator("figcaption").inner_text()):
        assert says is not None
        assert "Your whole run of" in says
        assert "An expert's run of the same case takes 12 s" in says


def test_the_exercise_shows_the_result_too(page: Page, marked: Site) -> None:
    """Above the page where one stands; below each question what was found; the way to all of it."""
    page.goto(f"{marked.url}/doc/tree/{EXERCISE}?token={TOKEN}")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    top = page.get_by_role("complementary", name="Your result")
    expect(top).to_contain_text("Unsafe act")
    below = page.locator("details.tpiece-marked")
    expect(below).to_have_count(2)
    expect(below.last).to_contain_text("What your hands did here could harm a baby")
    page.evaluate(LISTEN)
    button = below.last.get_by_role("button", name="in your run").first
    button.press("Enter")
    page.wait_for_function("globalThis.shown > 0")
    top.get_by_role("link", name="See the result").press("Enter")
    expect(result(page)).to_be_visible(timeout=SLOW_MS)


def serious(page: Page, axe_source: str) -> list[str]:
    """Return what the checker finds; that no language is called so is the pseudo-language's."""
    found = axe(page, axe_source)
    return [each for each in found if not ("lang-valid" in each or "valid-lang" in each)]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("language", ["en", "qps-rtl"])
def test_it_is_accessible_in_both_schemes_and_both_directions(
    chromium: Browser, marked: Site, axe_source: str, scheme: str, language: str
) -> None:
    """The checker finds nothing serious on the result and in the exercise."""
    settings = marked.folder / FILE
    before = settings.read_text(encoding="utf-8")
    settings.write_text(f'{before}language = "{language}"\n', encoding="utf-8")
    context = chromium.new_context(color_scheme=scheme, viewport={"width": 820, "height": 900})
    told = {"content_type": "text/javascript", "body": translations(["qps-rtl"])}
    context.route("**/translations.js", lambda route: route.fulfill(**told))
    try:
        mark(marked.folder)
        page = opened(context.new_page(), marked)
        page.locator(".tpiece-result-page details.tpiece-right summary").click()
        page.wait_for_timeout(300)  # colours follow the browser a moment later
        assert serious(page, axe_source) == []
        expect(result(page)).to_have_attribute("dir", "rtl" if "rtl" in language else "ltr")
        page.goto(f"{marked.url}/doc/tree/{EXERCISE}?token={TOKEN}")
        page.locator("details.tpiece-marked").first.wait_for(timeout=SLOW_MS)
        assert serious(page, axe_source) == []
    finally:
        settings.write_text(before, encoding="utf-8")
        mark(marked.folder)
        context.close()


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_nothing_of_it_is_wider_than_the_window(
    chromium: Browser, marked: Site, width: int
) -> None:
    """And every button and link is large enough for a finger."""
    context = chromium.new_context(viewport={"width": width, "height": 844})
    page = opened(context.new_page(), marked)
    assert result(page).evaluate("(node) => node.scrollWidth - node.clientWidth") == 0
    for target in result(page).locator("a:visible, button:visible, summary:visible").all():
        box = target.bounding_box()
        assert box
        assert box["height"] >= 24
    context.close()


# --- from the hand-in


@pytest.fixture(scope="module")
def at_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start a course that marks at hand-in."""
    top = tmp_path_factory.mktemp("at-once")
    lay_pages(top)
    with started(top, COURSE + AT_ONCE, extensions=[MODULE]) as site:
        yield site


def test_the_result_is_on_screen_as_soon_as_work_is_handed_in(
    chromium: Browser, at_once: Site
) -> None:
    """By one key; nothing is asked, Back is the exercise.

    An attempt that was marked is over: what the result gave away is not handed in, and the next
    attempt has a result of its own.
    """
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    answer(at_once.folder, "peep-before-pip")
    page = open_page(context, at_once, EXERCISE)
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    hand_in(page)
    expect(result(page)).to_contain_text("Unsafe act", timeout=SLOW_MS)
    assert page.evaluate("location.pathname").endswith(f"/{UNIT}/result")
    assert len(at_once.handed_in()) == 1
    page.go_back()
    expect(status(page)).to_contain_text("Handed in at")
    expect(page.get_by_role("complementary", name="Your result")).to_contain_text("Unsafe act")
    hand_in(page)  # the same again: the same result
    expect(result(page)).to_contain_text("Unsafe act", timeout=SLOW_MS)
    page.go_back()
    answer(at_once.folder, "")
    before = len(at_once.handed_in())
    hand_in(page)
    closed = page.get_by_role("dialog", name="These answers are marked")
    expect(closed).to_contain_text("You changed these answers after it:", timeout=SLOW_MS)
    expect(closed.get_by_role("listitem").filter(has_text="Arrange the steps")).to_be_visible()
    expect(status(page)).to_contain_text("Not handed in")
    closed.get_by_role("button", name="New attempt or practice").press("Enter")
    expect(page.get_by_role("dialog")).to_contain_text("This is attempt 1.")
    page.keyboard.press("Escape")
    assert len(at_once.handed_in()) == before
    home = context.new_page()
    home.goto(f"{at_once.url}/doc?token={TOKEN}")
    expect(home.get_by_text("You changed answers after this was marked.")).to_be_visible()
    expect(home.get_by_text("hand in again if they are to count")).to_have_count(0)
    home.close()
    answer(at_once.folder, "", attempt=2)
    hand_in(page)
    expect(result(page)).to_contain_text("Everything was right.", timeout=SLOW_MS)
    assert len(at_once.handed_in()) == before + 1
    context.close()


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start a course that is marked at hand-in, on a server that may not mark."""
    top = tmp_path_factory.mktemp("elsewhere")
    lay_pages(top)
    with started(top, COURSE + AT_ONCE) as site:
        yield site


def give_back(site: Site, better: Graded | None = None) -> Graded:
    """Lay the result of what the page holds, as who marks on a hub does; another may count."""
    course = read_course(site.folder)
    graded = grade(site.folder / UNIT, course, UNIT, LEARNER)
    values = marked_values(site.folder / UNIT, graded)
    name = digest(answers_path(site.folder / EXERCISE))
    result = result_of(better or graded, course, values)
    write(result, came_back(site.top / "exchange" / "toy", name))
    return graded


def test_a_result_that_is_marked_elsewhere_comes_to_the_page_by_itself(
    chromium: Browser, elsewhere: Site
) -> None:
    """The page says that it comes, and shows it; so does the home of who went there meanwhile.

    A page that was closed and opened again finds it, too.
    """
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    answer(elsewhere.folder, "")
    page = open_page(context, elsewhere, EXERCISE)
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    hand_in(page)
    comes = "Handed in. The result comes here in a moment."
    expect(status(page)).to_have_text(comes, timeout=SLOW_MS)
    expect(page.get_by_role("dialog")).to_have_count(0)
    first = give_back(elsewhere)
    expect(result(page)).to_contain_text("Everything was right.", timeout=SLOW_MS)
    page.go_back()
    expect(status(page)).to_contain_text("Handed in at")
    answer(elsewhere.folder, "peep-before-pip", attempt=2)
    hand_in(page)
    expect(status(page)).to_have_text(comes, timeout=SLOW_MS)
    page.get_by_role("link", name="All lessons and exercises").first.press("Enter")
    way = page.locator(".tpiece-way")
    expect(way).to_contain_text("the latest is not marked yet", timeout=SLOW_MS)
    give_back(elsewhere, better=first)
    best = "An earlier hand-in is better than your latest, so it counts."
    expect(way).to_contain_text(best, timeout=SLOW_MS)
    expect(way).not_to_contain_text("not marked yet")
    page.get_by_role("link", name="See the result").press("Enter")
    expect(result(page)).to_contain_text(best, timeout=SLOW_MS)
    answer(elsewhere.folder, "peep-before-pip", attempt=3)
    page.goto(f"{elsewhere.url}/doc/tree/{EXERCISE}")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    hand_in(page)
    expect(status(page)).to_have_text(comes, timeout=SLOW_MS)
    page.reload()
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    give_back(elsewhere)
    yours = page.get_by_role("complementary", name="Your result")
    expect(yours).to_contain_text("Unsafe act", timeout=SLOW_MS)
    context.close()


@pytest.fixture(scope="module")
def by_file(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start a course that came as a file: there is no way to its educator."""
    top = tmp_path_factory.mktemp("by-file")
    lay_pages(top)
    with started(top, COURSE, by_file=True) as site:
        yield site


def test_work_of_a_course_that_came_as_a_file_ends_as_a_file_to_send(
    chromium: Browser, by_file: Site
) -> None:
    """One sentence says which file, to whom, and where it lies; the home says so as well."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    answer(by_file.folder, "")
    page = open_page(context, by_file, EXERCISE)
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    hand_in(page)
    told = page.get_by_role("dialog", name="One more step: send your file")
    expect(told).to_be_visible(timeout=SLOW_MS)
    name = f"{LEARNER}.{UNIT}.answers.jsonl"
    place = by_file.folder / TO_SEND
    expect(told).to_contain_text(f"Send the file {name} to your educator. It lies in {place}.")
    expect(told).to_contain_text("Your result comes when your coordinator has graded.")
    assert (place / name).read_bytes() == answers_path(by_file.folder / EXERCISE).read_bytes()
    assert by_file.handed_in() == []
    page.keyboard.press("Escape")
    expect(status(page)).to_contain_text("File to send made at")
    page.get_by_role("link", name="All lessons and exercises").first.press("Enter")
    expect(page.locator(".tpiece-way")).to_contain_text("file to send made on")
    expect(page.locator(".tpiece-home-main")).to_contain_text(f"lie in {place}.")
    context.close()
