"""A workbook page in a real JupyterLab runs again when its kernel has started afresh."""

from __future__ import annotations

import os
import re
import signal
import time

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.lab_site import (
    SLOW_MS,
    Site,
    ask_server,
    bar,
    session,
    status,
)


def test_a_kernel_that_dies_runs_the_page_again_in_a_new_one(unit: Page, site: Site) -> None:
    """Stale controls would take answers and lose them, so they are made anew, by themselves."""
    before = site.runs()
    os.kill(before[-1], signal.SIGKILL)
    told = "This page stopped, and starts again by itself. Your saved answers are safe."
    expect(status(unit)).to_have_text(told, timeout=SLOW_MS)
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    expect(unit.get_by_role("dialog")).to_have_count(0)
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_visible()
    assert site.runs()[: len(before)] == before
    assert len(site.runs()) == len(before) + 1


@pytest.mark.parametrize("command", ["Restart Kernel…", "Restart Kernel and Run All Cells…"])
def test_restarting_by_the_menu_runs_the_page_once(
    workshop: Page, site: Site, command: str
) -> None:
    """The page runs again by itself; where JupyterLab runs it anyway, not twice."""
    unit = workshop
    before = len(site.runs())
    unit.get_by_role("menuitem", name="Kernel", exact=True).click()
    unit.locator(".lm-Menu-itemLabel").get_by_text(command, exact=True).click()
    unit.get_by_role("button", name="Confirm Kernel Restart").click()
    expect(status(unit)).to_have_text("Preparing the page…")
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    unit.wait_for_timeout(1000)  # time enough for a second run to show
    assert len(site.runs()) == before + 1


def restart_elsewhere(site: Site) -> None:
    """Restart the kernel as another window would; it may be over when this returns."""
    ask_server(site, f"kernels/{session(site)['kernel']['id']}/restart", "POST")


def test_a_kernel_restarted_from_another_window_runs_the_page_again(unit: Page, site: Site) -> None:
    """The same page open twice: a restart in one leaves no stale controls in the other."""
    before = len(site.runs())
    for _ in range(3):  # word of a restart can be lost between kernel and server
        restart_elsewhere(site)
        latest = time.monotonic() + SLOW_MS / 1000
        while len(site.runs()) == before and time.monotonic() < latest:
            unit.wait_for_timeout(100)
        if len(site.runs()) > before:
            break
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert len(site.runs()) == before + 1


def test_a_restart_that_a_page_did_not_hear_of_is_found_on_coming_back(
    unit: Page, site: Site
) -> None:
    """A person who returns to the window finds controls that work."""
    before = len(site.runs())
    unit.evaluate("globalThis.deafToRestarts = true")
    restart_elsewhere(site)
    unit.wait_for_timeout(3000)  # time enough for the new kernel to have said so
    assert len(site.runs()) == before
    unit.evaluate("globalThis.deafToRestarts = false")
    unit.evaluate("dispatchEvent(new Event('focus'))")
    expect(status(unit)).to_have_text("Preparing the page…", timeout=SLOW_MS)
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert len(site.runs()) == before + 1
    unit.evaluate("dispatchEvent(new Event('focus'))")
    unit.wait_for_timeout(1500)  # time enough for a second run to show
    assert len(site.runs()) == before + 1


def test_a_page_that_has_stopped_offers_to_start_again(unit: Page, site: Site) -> None:
    """Without a kernel the page says so, and one button brings it back."""
    again = bar(unit).get_by_role("button", name="Start this page again")
    expect(again).to_be_hidden()
    before = len(site.runs())
    ask_server(site, f"sessions/{session(site)['id']}", "DELETE")
    expect(again).to_be_visible(timeout=SLOW_MS)
    again.press("Enter")
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert len(site.runs()) == before + 1


def test_a_page_starts_again_before_jupyterlab_knows_that_its_session_is_gone(
    unit: Page, site: Site
) -> None:
    """The first try meets a session that the server no longer has; the page asks and tries anew."""
    before, methods = len(site.runs()), []
    old = ask_server(site, "sessions")

    def answer(route: Route) -> None:
        methods.append(route.request.method)
        if "PATCH" in methods:
            route.continue_()
        else:
            route.fulfill(body=old, content_type="application/json")

    unit.route(re.compile("/api/sessions"), answer)
    ask_server(site, f"sessions/{session(site)['id']}", "DELETE")
    again = bar(unit).get_by_role("button", name="Start this page again")
    expect(again).to_be_visible(timeout=SLOW_MS)
    again.press("Enter")
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    assert "PATCH" in methods
    assert len(site.runs()) == before + 1
