"""Fixtures of the browser tests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.bench_page import open_bench
from tests.browser.bench_picture_page import open_picture
from tests.browser.control_page import faultless, open_control
from tests.browser.face_page import face, open_face
from tests.browser.lab_site import exercise, site, unit, visitor, workshop  # noqa: F401  # fixtures
from workbook.widgets import Face


@pytest.fixture
def tab(chromium: Browser) -> Iterator[Page]:
    """Yield a page of its own context."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    yield context.new_page()
    context.close()


@pytest.fixture
def show(chromium):
    """Yield what shows controls on a page of their own; each page is closed at the end."""
    pages: list[Page] = []

    def _show(*controls: Any, **context: Any) -> Page:
        pages.append(open_control(chromium, *controls, **context))
        return pages[-1]

    yield _show
    for page in pages:
        page.context.close()


@pytest.fixture
def picture(chromium):
    """Yield what opens a bench's picture; each page is closed, and none may have an error."""
    opened: list[tuple[Page, list[str]]] = []

    def _open(**more: Any) -> Page:
        opened.append(open_picture(chromium, **more))
        return opened[-1][0]

    yield _open
    assert [error for _, errors in opened for error in errors] == []
    for page, _ in opened:
        page.context.close()


@pytest.fixture
def lay(chromium):
    """Yield what opens a face to lay a mask on; each page is closed, and none may have an error."""
    with faultless() as (pages, errors):

        def _lay(made: Face | None = None, **context: Any) -> Page:
            pages.append(open_face(chromium, made or face(), errors, **context))
            return pages[-1]

        yield _lay


@pytest.fixture
def live(chromium):
    """Yield what opens a live bench; each page is closed, and none may have an error."""
    with faultless() as (pages, errors):

        def _open(control: Any, **context: Any) -> Page:
            pages.append(open_bench(chromium, control, errors, **context))
            return pages[-1]

        yield _open
