"""A course as a site, served as any folder is, and a browser that reaches nothing else."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from graders.course.coursefolder import CourseFolder
from graders.site.build import build_site
from graders.tasks import work
from tests.conftest import CHROMIUM_FLAGS
from tests.journey.hands import reach
from tests.journey.pages import UNIT
from tests.journey.recorder import recorder
from workbook.start.launch import free_port

CACHE = Path(__file__).parents[2] / ".test-tools" / "site"
OWN_REQUESTS = "AutofillServerCommunication"  # Chromium's own, about any page with a field


@dataclass(frozen=True)
class Site:
    """A course, its site, and where the site is served."""

    course: CourseFolder
    folder: Path
    address: str

    def page(self, notebook: str) -> str:
        """Return the address of a page, as the start page links it."""
        return f"{self.address}/lab/index.html?path={notebook}.ipynb"


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Yield the site of a course, served as any folder is by Python's own web server."""
    home = tmp_path_factory.mktemp("site")
    settings = {"course_id": "may", "title": "May course", "units": [UNIT], "attempts": "2"}
    course = work.assign(home / "may", **settings)
    built = build_site(course.path, home / "out", CACHE)
    port = free_port()
    command = [sys.executable, "-m", "http.server", str(port), "--bind", "127.0.0.1"]
    command += ["--directory", str(built.folder)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as server:
        address = f"http://127.0.0.1:{port}"
        _await(address)
        yield Site(course, built.folder, address)
        server.terminate()


def _await(address: str) -> None:
    for _ in range(100):
        try:
            urllib.request.urlopen(address).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"{address} does not answer")


@pytest.fixture
def offline(chromium: Browser) -> Iterator[BrowserContext]:
    """Yield a browser that reaches this computer alone, and see that it tried no other."""
    with recorder() as refused:
        quiet = chromium.browser_type.launch(
            executable_path=shutil.which("chromium") or shutil.which("chromium-browser"),
            args=[*CHROMIUM_FLAGS, f"--disable-features={OWN_REQUESTS}"],
        )
        yield quiet.new_context(
            viewport={"width": 1280, "height": 1000},
            proxy={"server": refused.address, "bypass": "127.0.0.1"},
        )
        quiet.close()
        assert refused.asked == []


def introduce(page: Page, site: Site, learner: str) -> None:
    """Say who is at work, by keyboard, on the start page."""
    page.goto(site.address)
    reach(page, page.get_by_label("Your id"))
    page.keyboard.type(learner)
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text(f"You are {learner}")


def follow(page: Page, name: str) -> None:
    """Follow a link of the start page by keyboard."""
    reach(page, page.get_by_role("link", name=name))
    page.keyboard.press("Enter")
