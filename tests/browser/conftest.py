"""Fixtures of the browser tests."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.control_page import open_control


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
