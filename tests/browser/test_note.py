"""The note of a case, in a bare browser: typed, ticked, chosen, left blank; in every width."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import given
from workbook.rules import rulebook
from workbook.scenario.note import read_note
from workbook.scenario.told_note import entries
from workbook.widgets.note import NoteControl

HEAD = {"format": "tpiece-note", "version": 1}
SAVED = {
    "value": {**HEAD, "begun": 48.5, "pip": "none", "interface": "tube", "heart-1": "unknown"},
    "number": 2,
    "at": "2026-05-04T10:00:00Z",
}
MORE = {"save": given, "help": "Write what happened."}


def note(**more: Any) -> NoteControl:
    label = "Case 1: write the note that your team leaves."
    return NoteControl("note-1", label, entries=entries(rulebook()), **{**MORE, **more})


def field(page: Page, name: str) -> Any:
    return page.get_by_role("textbox", name=name)


def test_a_note_is_written_by_keyboard_alone(show) -> None:
    """Numbers with a comma or a point, boxes by Space, the interface by its letter."""
    page = show(note())
    expect(page.get_by_role("status")).to_have_text("Not answered yet.")
    field(page, "Ventilation began at").focus()
    page.keyboard.type("48,5")
    page.get_by_role("checkbox", name="Highest PIP: Not done").focus()
    page.keyboard.press("Space")
    page.get_by_role("combobox").select_option("tube")
    expect(page.get_by_role("status")).to_contain_text("Saved at")
    assert kept(page)[-1] == {**HEAD, "begun": 48.5, "pip": "none", "interface": "tube"}
    read_note(kept(page)[-1])


def test_who_ticks_not_known_has_typed_no_number_and_the_other_way_round(show) -> None:
    """One entry says one thing."""
    page = show(note(saved=SAVED))
    box = page.get_by_role("checkbox", name="Heart rate at 1 min: Not known")
    expect(box).to_be_checked()
    expect(field(page, "Ventilation began at")).to_have_value("48.5")
    field(page, "Heart rate at 1 min").fill("80")
    expect(box).not_to_be_checked()
    box.check()
    expect(field(page, "Heart rate at 1 min")).to_have_value("")


def test_what_is_no_number_stays_and_is_said(show) -> None:
    """Nothing that was typed is lost; the rest is not saved without it."""
    page = show(note())
    field(page, "Highest oxygen").fill("thirty")
    expect(page.get_by_role("status")).to_contain_text("Not saved: type a number")
    expect(field(page, "Highest oxygen")).to_have_value("thirty")
    expect(field(page, "Highest oxygen")).to_have_attribute("aria-invalid", "true")


def test_what_cannot_be_is_refused_in_one_sentence() -> None:
    """It says which entry."""
    says = note().problem({**HEAD, "oxygen": 101})
    assert says == "Not saved: Highest oxygen: 101 cannot be. Look at it again."
    assert note().problem({**HEAD, "begun": 48}) == ""


def test_only_minutes_that_a_case_can_reach_are_asked_for(show) -> None:
    """A case of seven minutes has no tenth."""
    page = show(note())
    expect(page.get_by_text("Heart rate at 5 min")).to_be_visible()
    expect(page.get_by_text("Heart rate at 10 min")).to_have_count(0)


@pytest.mark.parametrize("width", [1280, 820, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_note_fits_every_width(show, width: int, scheme: str, tmp_path, axe_source) -> None:
    """Nothing is cut off or wider than the page; each box is as large as a finger."""
    page = show(note(saved=SAVED), viewport={"width": width, "height": 900}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for label in page.locator(".tpiece-note label.tpiece-option").all():
        box = label.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    assert axe(page, axe_source) == []
    page.screenshot(path=str(tmp_path / "note.png"), full_page=True)
