"""A workbook in a real JupyterLab on made-up pages, and hands on its bar and dialogs."""

from __future__ import annotations

import json
import re
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route, expect

from workbook.start.launch import environment, free_port, prepare_learner, server_command

LEARNER, COURSE, UNIT, TOKEN = "nurse.one", "toy", "1_unit", "a-made-up-key"
QUESTIONS = [{"id": "q1", "label": "Order of steps"}, {"id": "q2", "label": "Gas flow"}]
BAR = "This page"
START_SECONDS, SLOW_MS, WAIT_MS = 180, 90_000, 2500

# Stands in for a control: "Answer" is never acknowledged, "Answer slowly" after a second.
CONTROL = '''
import anywidget
class Control(anywidget.AnyWidget):
    _esm = """
    const waiting = (globalThis.tpieceUnsaved ??= new Map());
    const changed = () => document.dispatchEvent(new Event("tpiece-unsaved"));
    const later = () => setTimeout(() => { waiting.delete("q1"); changed(); }, 1000);
    const add = (el, label, then) => {
      const button = document.createElement("button");
      button.textContent = label;
      button.setAttribute("data-lm-suppress-shortcuts", "true");
      button.onclick = () => { waiting.set("q1", "Order of steps"); changed(); then(); };
      el.append(button);
    };
    export default { render({ el }) {
      add(el, "Answer", () => {});
      add(el, "Answer slowly", later);
    } };
    """
Control()
'''

# Lets a test lose the word of a new kernel, as happens between kernel and server.
DEAF = """
const decoder = new TextDecoder();
globalThis.WebSocket = class extends WebSocket {
  constructor(...about) {
    super(...about);
    this.addEventListener("message", (event) => {
      const text = typeof event.data === "string" ? event.data : decoder.decode(event.data);
      if (globalThis.deafToRestarts && /"execution_state"/.test(text))
        event.stopImmediatePropagation();
    });
  }
};
"""


def write_page(path: Path, cells: list[tuple[str, str]], about: dict[str, str] | None) -> None:
    """Write a notebook; ``about`` is what makes it a workbook page."""
    code = {"outputs": [], "execution_count": None}
    page = {
        "cells": [
            {"id": f"cell-{n}", "cell_type": kind, "metadata": {}, "source": text}
            | (code if kind == "code" else {})
            for n, (kind, text) in enumerate(cells)
        ],
        "metadata": {
            "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
            **({"tpiece": about} if about else {}),
        },
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(page), encoding="utf-8")


def write_pages(top: Path, **language: str) -> None:
    """Write a lesson, a page that is not ours, and one released exercise, in a language."""
    count = "import os\nprint(os.getpid(), file=open('runs.txt', 'a'))"
    lesson = [
        ("markdown", f"# Start here\n\n[the unit]({UNIT}/{UNIT}.ipynb)"),
        ("code", "print('lesson ran')"),
    ]
    start = {"unit": "start", "kind": "start", **language}
    write_page(top / "lessons" / "start_here.ipynb", lesson, start)
    write_page(top / "lessons" / "plain.ipynb", [("code", "print('plain ran')")], None)
    exercise = [("markdown", "# A unit"), ("code", count), ("code", CONTROL)]
    about = {"unit": UNIT, "kind": "exercise", **language}
    write_page(top / "exchange" / COURSE / "outbound" / UNIT / f"{UNIT}.ipynb", exercise, about)
    (top / "exchange" / COURSE / "inbound").mkdir()


@dataclass
class Site:
    """A running workbook and what is known about it."""

    top: Path
    folder: Path
    url: str

    @property
    def inbound(self) -> Path:
        """Return where hand-ins arrive."""
        return self.top / "exchange" / COURSE / "inbound"

    def runs(self) -> list[int]:
        """Return the kernel's process of each time that the exercise has run."""
        path = self.folder / UNIT / "runs.txt"
        return [int(line) for line in path.read_text().split()] if path.exists() else []

    def answer(self, *questions: str) -> None:
        """Write the answers file as if these questions were answered."""
        head = {"n": 1, "format": "tpiece-answers/1", "course": COURSE, "questions": QUESTIONS}
        lines = [head, *({"n": 2, "question": q, "value": 1} for q in questions)]
        text = "".join(json.dumps(line) + "\n" for line in lines)
        (self.folder / UNIT / f"{UNIT}.answers.jsonl").write_text(text, encoding="utf-8")

    def handed_in(self) -> list[Path]:
        """Return what has arrived, oldest first."""
        return sorted(self.inbound.iterdir(), key=lambda path: path.stat().st_mtime_ns)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Start the workbook on pages in English."""
    top = tmp_path_factory.mktemp("workbook")
    write_pages(top)
    with started(top) as site:
        yield site


@contextmanager
def started(top: Path, course: str = "", **more: Any) -> Iterator[Site]:
    """Start the workbook as a learner does, with an empty home folder.

    ``more`` is what else ``prepare_learner`` is told.
    """
    folder = prepare_learner(
        top / "my work", learner=LEARNER, course_id=COURSE, exchange=top / "exchange",
        lessons=top / "lessons", course_text=course, **more,
    )  # fmt: skip
    expose(folder)
    (top / "home").mkdir()
    env = environment(folder, LEARNER, token=TOKEN) | {"HOME": str(top / "home")}
    port = free_port()
    with (top / "log").open("w") as log:
        command = server_command(folder, port=port, browser=False)
        server = subprocess.Popen(command, env=env, stdout=log, stderr=log)
    try:
        await_log(top / "log", f"http://127.0.0.1:{port}/", server)
        yield Site(top, folder, f"http://127.0.0.1:{port}")
    finally:
        server.terminate()
        try:
            server.wait(timeout=20)
        except subprocess.TimeoutExpired:  # JupyterLab may wait for ever for a kernel half started
            server.kill()
            server.wait(timeout=20)


def expose(folder: Path) -> None:
    """Let a test ask JupyterLab itself, by the name ``jupyterapp``."""
    path = folder / ".tpiece" / "config" / "labconfig" / "page_config.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**told, "exposeAppInBrowser": True}), encoding="utf-8")


def await_log(log: Path, text: str, server: subprocess.Popen[bytes]) -> None:
    """Wait until the server says that it is open."""
    end = time.monotonic() + START_SECONDS
    while text not in log.read_text():
        assert server.poll() is None, f"the server ended: {log.read_text()}"
        assert time.monotonic() < end, f"the server is not open in time: {log.read_text()}"
        time.sleep(0.2)


@pytest.fixture(scope="module")
def visitor(chromium: Browser, site: Site) -> Iterator[BrowserContext]:
    """Yield a browser window; whatever any page asked, it asked of this computer."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    asked: list[str] = []
    failures: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    context.on("weberror", lambda error: failures.append(str(error.error)))
    context.on("page", lambda page: page.on("websocket", lambda ws: asked.append(ws.url)))
    context.route("**/tpiece-workbook/page/answers.js", shorter_wait)
    context.add_init_script(DEAF)
    yield context
    context.close()
    local = re.compile(r"(http|ws)://127\.0\.0\.1:|data:|blob:")
    assert len(asked) > 20
    assert [url for url in asked if not local.match(url)] == []
    assert not failures, failures


def shorter_wait(route: Route) -> None:
    """Serve the file with a wait that a test can sit through."""
    response = route.fetch()
    text = response.text()
    assert "WAIT_MS = 20000" in text
    route.fulfill(response=response, body=text.replace("WAIT_MS = 20000", f"WAIT_MS = {WAIT_MS}"))


def open_page(visitor: BrowserContext, site: Site, path: str) -> Page:
    """Open one page of the workbook as a learner sees it, in the room."""
    page = visitor.new_page()
    page.goto(f"{site.url}/doc/tree/{path}?token={TOKEN}")
    return page


def open_workshop(visitor: BrowserContext, site: Site, path: str) -> Page:
    """Open one page in the full JupyterLab, in a workspace of its own."""
    page = visitor.new_page()
    workspace = re.sub(r"\W", "-", path)
    page.goto(f"{site.url}/lab/workspaces/{workspace}/tree/{path}?token={TOKEN}")
    return page


@pytest.fixture(scope="module")
def exercise(visitor: BrowserContext, site: Site) -> Page:
    """Open the exercise once for the tests that follow."""
    site.answer("q1", "q2")
    page = open_page(visitor, site, f"{UNIT}/{UNIT}.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    return page


@pytest.fixture
def workshop(visitor: BrowserContext, site: Site) -> Iterator[Page]:
    """Open the exercise in the full JupyterLab, as an educator does."""
    site.answer("q1", "q2")
    page = open_workshop(visitor, site, f"{UNIT}/{UNIT}.ipynb")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    yield page
    page.close()


@pytest.fixture
def unit(exercise: Page, site: Site) -> Iterator[Page]:
    """Yield the open exercise, all answered; put it back in order afterwards."""
    site.answer("q1", "q2")
    here = bar(exercise).get_by_role("button", name="Go on here")
    if here.is_visible():  # another test opened the page in a window of its own
        here.click()
        expect(status(exercise)).to_have_text("Ready", timeout=SLOW_MS)
    yield exercise
    exercise.evaluate("globalThis.tpieceUnsaved?.clear()")
    while exercise.get_by_role("dialog").count():
        exercise.keyboard.press("Escape")
        exercise.wait_for_timeout(200)


def bar(page: Page) -> Locator:
    """Return the bar above the page."""
    return page.get_by_role("group", name=BAR)


def status(page: Page) -> Locator:
    """Return the line that says what the page is doing."""
    return bar(page).get_by_role("status")


def hand_in(page: Page) -> None:
    """Hand in by the button, with the keyboard."""
    bar(page).get_by_role("button", name="Save and hand in").focus()
    page.keyboard.press("Enter")


def ask_server(site: Site, what: str, method: str = "GET") -> bytes:
    """Ask the server something, as another window would."""
    key = {"Authorization": f"token {TOKEN}"}
    url = f"{site.url}/api/{what}"
    request = urllib.request.Request(url, method=method, headers=key)
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request) as reply:
        return reply.read()


def session(site: Site) -> dict[str, Any]:
    """Return the running session of the exercise."""
    return next(s for s in json.loads(ask_server(site, "sessions")) if UNIT in s["path"])


def dialog(page: Page, name: str) -> Locator:
    """Return a dialog by its name, once it is there."""
    found = page.get_by_role("dialog", name=name)
    expect(found).to_be_visible(timeout=SLOW_MS)
    return found
