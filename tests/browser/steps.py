"""Harmless questions for the controls (steps, choices, a number), and a page's first frame."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Locator, Page

from workbook.widgets import Choice, Number, Sequence

STEPS = [
    {"id": "wash", "text": "Wash your hands before you touch anything that goes to the baby."},
    {"id": "warm", "text": "Switch on the heater."},
    {"id": "clock", "text": "Start the clock."},
    {"id": "call", "text": "Call for help."},
]
IDS = [step["id"] for step in STEPS]
ELSEWHERE = {"client": "other", "seq": 1, "number": 9, "at": "2026-05-04T10:00:00Z"}


def given(value: Any, client: str, seq: int) -> dict[str, Any]:
    """Stand for an answers file: the page's stand-in kernel does the saving."""
    raise AssertionError("no kernel runs behind these pages")


def sequence(**more):
    more = {"items": STEPS, "start": IDS, "help": "Any order.", "save": given, **more}
    return Sequence("order", "Arrange the steps.", **more)


def choice(**more):
    more = {"options": STEPS, "save": given, **more}
    return Choice("q", "Choose what is missing.", **more)


def number(**more):
    more = {"unit": "cmH2O", "units": ["cmH2O", "kPa"], "save": given, **more}
    return Number("n", "What does the gauge show?", **more)


def every() -> list[Any]:
    """Return one of each control, as a page would have them."""
    check = {"check": lambda value: {}}
    return [sequence(**check), choice(**check), choice(many=True), number(), number(units=[])]


def status(page: Page) -> Locator:
    return page.get_by_role("status")


def grave(page: Page, axe_source: str, *, least: int = 20) -> list[tuple[str, str]]:
    """Return what the checker finds serious on a whole page: rule and first place.

    More than ``least`` rules must have been looked at.
    """
    page.evaluate(axe_source)
    result = page.evaluate("() => axe.run()")
    assert len(result["passes"]) > least
    found = [v for v in result["violations"] if v["impact"] in ("serious", "critical")]
    return [(v["id"], v["nodes"][0]["html"]) for v in found]


def drawn(page: Page) -> None:
    """Wait for a page's first frame: until it is drawn, a browser drops keys that scroll."""
    page.evaluate(
        "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )


def stop_time(page: Page) -> None:
    """Stop the page's clock, so that no pause of a control ends on a slow machine."""
    page.clock.install(time=0)
    page.clock.pause_at(1)
