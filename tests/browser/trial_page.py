"""A page with a trial in a bare browser, its tables and its words made by the workbook itself."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.browser.steps import given
from workbook.cases.starting import Baby
from workbook.rules import rulebook
from workbook.trial import Scene
from workbook.trial.moves import BABY
from workbook.units.faults.case.questions import facts_of, shows, texts
from workbook.widgets import TrialControl

SET = {"flow": 8.0, "pip": 25.0, "peep": 5.0, "relief": 40.0}
MET = Baby(39, 3.2)


def trial(fault: str = "hose-kinked", setting: str = BABY, **more: Any) -> TrialControl:
    """Return a trial with a fault of our choice."""
    facts = facts_of(fault, setting, SET, MET, rulebook())
    goal = texts()["goal" if setting == BABY else "goal-before"]
    shown = shows(facts, goal, more.pop("alarm", ""), rulebook())
    more = {"help": "It was set, and checked.", "save": given, **more}
    return TrialControl(
        "trial-1", texts()["ask"].format(n=1), scene=Scene.of(facts), shows=shown, **more
    )


def begin(page: Page) -> None:
    """Let the time run."""
    page.get_by_role("button", name="Begin").click()


def place(page: Page, name: str) -> Locator:
    """Return the tab of a place the hand can go to."""
    return page.get_by_role("tab", name=name, exact=True)


def move(page: Page, name: str) -> Locator:
    """Return the button of a move."""
    return page.get_by_role("button", name=name)


def free(page: Page) -> None:
    """Wait until the hand is free again."""
    expect(page.locator(".tpiece-trial[data-busy]")).to_have_count(0, timeout=15_000)


def told(page: Page) -> Locator:
    """Return the log of what was done and answered."""
    return page.get_by_role("log")


def kinds(record: dict[str, Any]) -> list[str]:
    """Return what was done in a trial."""
    return [row[1] for row in record["moves"]]
