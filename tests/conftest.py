"""Fixtures shared by every test: the browser, the accessibility checker, the rules."""

from __future__ import annotations

import secrets
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.lesson_screen import LESSON, Screen
from workbook.lesson.bench import BenchLesson
from workbook.lesson.page import Lesson, open_page
from workbook.rules import RuleBook, rulebook
from workbook.units.bench.lesson import open_page as open_bench
from workbook.units.rate.lesson import RateLesson
from workbook.units.rate.lesson import open_page as open_rate
from workbook.units.sizing.lesson import SizesLesson
from workbook.units.sizing.lesson import open_page as open_sizes
from workbook.units.targets.lesson import TargetsLesson
from workbook.units.targets.lesson import open_page as open_targets

# A busy machine makes no drawn example wrong; one that is wrong can be drawn again.
hypothesis.settings.register_profile(
    "workbook",
    deadline=None,
    print_blob=True,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("workbook")

SEEDS = 2**32
collect_ignore = ["tiny_unit"]  # a unit to copy; its page runs where it is laid over a tree

# Files that take half a minute or more, the longest first: what begins last should be short, for
# whoever runs side by side waits for it. `--durations=120` of a whole run says which they are.
LONGEST = (
    "journey/test_site.py",
    "journey/test_whole_course.py",
    "journey/test_hub.py",
    "browser/test_trial.py",
    "journey/test_by_hand.py",
    "browser/test_lesson_page.py",
    "journey/test_page.py",
    "browser/test_result_page.py",
    "browser/test_room.py",
    "browser/test_labextension_restart.py",
    "journey/test_rate_by_hand.py",
    "journey/test_site_needle.py",
    "journey/test_newcomer.py",
    "journey/test_packaging.py",
    "journey/test_demo.py",
    "journey/test_durable.py",
    "journey/test_units.py",
    "browser/test_labextension_language.py",
    "browser/test_labextension.py",
    "journey/test_stock.py",
    "journey/test_corpus.py",
    "journey/test_nbgrader.py",
    "journey/test_attempt.py",
    "test_new_unit.py",
    "browser/test_bench_window.py",
    "browser/test_report_filters.py",
    "browser/test_language_pages.py",
    "browser/test_case.py",
    "test_forms.py",
    "test_rules_sheet.py",
    "test_brief.py",
)

PATIENCE = 30_000  # ms a page may take to show what a test waits for, on a busy machine
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_configure(config: pytest.Config) -> None:
    """Settle from which seed is drawn, the same for all that run side by side."""
    if not hasattr(config.option, "drawn_from"):
        config.option.drawn_from = config.option.hypothesis_seed or secrets.randbelow(SEEDS)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Begin every test that draws from that seed; what failed before is still tried first."""
    _longest_first(items)
    if config.option.hypothesis_seed:
        return  # Hypothesis sees to it
    for item in items:
        function = getattr(item, "function", None)
        if hypothesis.is_hypothesis_test(function):
            hypothesis.seed(config.option.drawn_from)(function)


def _longest_first(items: list[pytest.Item]) -> None:
    """Begin with the files that take longest, then with those of many tests; each keeps its own."""
    tests = Counter(item.path for item in items)
    folder = Path(__file__).parent
    place = {folder / name: n for n, name in enumerate(LONGEST)}
    items.sort(key=lambda item: (place.get(item.path, len(place)), -tests[item.path]))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how the very same draws are had again, of the same files: what is loaded has a say."""
    seed = terminalreporter.config.option.drawn_from
    terminalreporter.write_line(
        f"Drawn at random; the same again of the same files: --hypothesis-seed={seed}"
    )


@pytest.fixture
def book() -> RuleBook:
    """Return the rules of the default edition."""
    return rulebook()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Yield a headless Chromium."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    assert path, "Chromium is missing; python3 -m tests installs it"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        expect.set_options(timeout=PATIENCE)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def axe_source() -> str:
    """Return the accessibility checker as text to inject into a page."""
    path = Path(__file__).parent.parent / ".test-tools" / "axe-core" / "axe.min.js"
    assert path.is_file(), "axe-core is missing; python3 -m tests fetches it"
    return path.read_text(encoding="utf-8")


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Screen:
    """Return what stands in for a page: it collects what a lesson displays."""
    made = Screen()
    monkeypatch.setattr("IPython.display.display", made.display)
    return made


@pytest.fixture
def lesson(tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> Lesson:
    """Return the set-up order lesson as an invented nurse opens it."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_page(LESSON, tmp_path)


@pytest.fixture
def bench_lesson(tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> BenchLesson:
    """Return the bench lesson as the same nurse opens it."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_bench(folder=tmp_path)


@pytest.fixture
def targets_lesson(
    tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch
) -> TargetsLesson:
    """Return the pressure lesson as the same nurse opens it."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_targets(folder=tmp_path)


@pytest.fixture
def rate_lesson(tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> RateLesson:
    """Return the counting lesson as the same nurse opens it."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_rate(folder=tmp_path)


@pytest.fixture
def sizes_lesson(tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> SizesLesson:
    """Return the sizing lesson as the same nurse opens it."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_sizes(folder=tmp_path)
