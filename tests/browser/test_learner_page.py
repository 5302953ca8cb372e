"""A learner's own page in a browser: accessible, whole without scripts, sound on paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.lab_course import marked
from tests.test_learner_page import page, view


@pytest.fixture
def address(tmp_path: Path) -> str:
    """Return where the page of a learner with an unsafe act lies."""
    path = tmp_path / "ada.html"
    path.write_text(page(view(marked("ada", ""), marked("ada", "peep-before-pip"))), "utf-8")
    return path.as_uri()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 400])
def test_the_checker_finds_nothing(chromium: Browser, address, axe_source, scheme, width):
    """axe-core, with every fold open; nothing but a table may scroll sideways."""
    context = chromium.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    shown = context.new_page()
    shown.goto(address)
    shown.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    shown.evaluate(axe_source)
    found = shown.evaluate("axe.run()")
    assert found["passes"]
    assert [f"{rule['id']}: {rule['help']}" for rule in found["violations"]] == []
    assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")
    context.close()


def test_it_is_whole_without_scripts_and_asks_nobody(chromium: Browser, address):
    """Keys open what is folded; no request leaves."""
    context = chromium.new_context(java_script_enabled=False)
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    shown = context.new_page()
    shown.goto(address)
    fold = shown.get_by_text("What was right (")
    fold.focus()
    shown.keyboard.press("Enter")
    assert shown.locator("details[open]").count() == 1
    assert asked == [address]
    context.close()


def test_it_prints_on_a4(chromium: Browser, address, tmp_path):
    """Reference: pypdf as the reader; what matters stands on the first sheet."""
    from pypdf import PdfReader

    context = chromium.new_context()
    shown = context.new_page()
    shown.goto(address)
    shown.pdf(path=str(tmp_path / "ada.pdf"), format="A4")
    sheets = PdfReader(tmp_path / "ada.pdf").pages
    assert "Do this next" in sheets[0].extract_text()
    assert "could harm a baby" in sheets[0].extract_text()
    assert len(sheets) < 8
    context.close()
