"""A page with a live bench in a bare browser, its tables made by the workbook itself."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.control_page import kept, open_live
from tests.browser.steps import given
from workbook.bench import Bench
from workbook.bench.baby import healthy
from workbook.cases.dials import set_for
from workbook.widgets import BenchControl
from workbook.widgets.bench import RoomBench

SET = {"flow": 8.0, "relief": 40.0, "pip": 20.0, "peep": 5.0}


def stands(outlet: str = "capped", **dials: int) -> Bench:
    """Return a bench that is set, but for the controls named."""
    return Bench(set_for(SET, dials), healthy(3.0), 3.0, outlet)


def bench(kind: type[BenchControl] = BenchControl, **more: Any) -> BenchControl:
    """Return a live bench that asks for nothing in particular."""
    more = {"bench": stands(), "outlets": ["capped", "open", "lung"], "save": given, **more}
    return (RoomBench if more.get("educator") else kind)("run", "Work at the bench.", **more)


def open_bench(browser: Browser, control: BenchControl, errors: list[str], **context: Any) -> Page:
    """Return a page with a live bench; what goes wrong on it is added to ``errors``."""
    return open_live(browser, control, errors, "laws", **context)


def dial(page: Page, name: str) -> Locator:
    """Return a control's slider."""
    return page.get_by_role("slider", name=name)


def needle(page: Page) -> float:
    """Return where the needle points."""
    return float(page.locator(".tpiece-bench-needle").get_attribute("data-value") or "nan")


def hold(page: Page) -> Locator:
    """Return the button below the thumb."""
    return page.get_by_role("button", name="Cover the hole")


def use(page: Page) -> None:
    """Hand the run over, and wait until it is saved."""
    page.get_by_role("button", name="Use this run as my answer").click()
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved")


def record(page: Page) -> dict[str, Any]:
    """Return the newest saved run."""
    found: dict[str, Any] = kept(page)[-1]
    return found


def kinds(run: dict[str, Any]) -> list[str]:
    """Return what was done in a run."""
    return [row[1] for row in run["actions"]]
