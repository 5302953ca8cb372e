"""A workbook page in a real JupyterLab: opening, hiding code, handing in, starting again."""

from __future__ import annotations

import json
import os
import re
import signal
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

from workbook.launch import environment, free_port, prepare_learner, server_command

LEARNER, COURSE, UNIT, TOKEN = "nurse.one", "toy", "1_unit", "a-made-up-key"
QUESTIONS = [{"id": "q1", "label": "Order of steps"}, {"id": "q2", "label": "Gas flow"}]
BAR = "This page"
START_SECONDS, SLOW_MS, WAIT_MS = 60, 30_000, 2500

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
    lesson = [("markdown", "# Start here"), ("code", "print('lesson ran')")]
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
def started(top: Path) -> Iterator[Site]:
    """Start the workbook as a learner does, with an empty home folder."""
    folder = prepare_learner(
        top / "my work", learner=LEARNER, course_id=COURSE, exchange=top / "exchange",
        lessons=top / "lessons",
    )  # fmt: skip
    (top / "home").mkdir()
    env = environment(folder, LEARNER, token=TOKEN) | {"HOME": str(top / "home")}
    port = free_port()
    with (top / "log").open("w") as log:
        command = server_command(folder, port=port, browser=False)
        server = subprocess.Popen(command, env=env, stdout=log, stderr=log)
    try:
        await_log(top / "log", f"http://127.0.0.1:{port}/lab", server)
        yield Site(top, folder, f"http://127.0.0.1:{port}")
    finally:
        server.terminate()
        try:
            server.wait(timeout=20)
        except subprocess.TimeoutExpired:  # JupyterLab may wait for ever for a kernel half started
            server.kill()
            server.wait(timeout=20)


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
    assert failures == []


def shorter_wait(route: Route) -> None:
    """Serve the file with a wait that a test can sit through."""
    response = route.fetch()
    text = response.text()
    assert "WAIT_MS = 20000" in text
    route.fulfill(response=response, body=text.replace("WAIT_MS = 20000", f"WAIT_MS = {WAIT_MS}"))


def open_page(visitor: BrowserContext, site: Site, path: str) -> Page:
    """Open one address of the workbook, in a workspace of its own."""
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
def unit(exercise: Page, site: Site) -> Iterator[Page]:
    """Yield the open exercise, all answered; put it back in order afterwards."""
    site.answer("q1", "q2")
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


def test_a_page_runs_by_itself_and_is_not_left_changed(unit: Page, site: Site) -> None:
    """The controls are there without a click, and closing asks nothing about saving."""
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_visible()
    assert site.runs()
    assert unit.locator(".jp-mod-dirty").count() == 0


def test_code_is_hidden_until_asked_for(unit: Page) -> None:
    """No code, prompt, add-a-cell button or empty cell shows; one button brings code back."""
    code = unit.locator(".jp-CodeCell .jp-InputArea")
    tools = unit.get_by_role("toolbar", name="main area toolbar")
    for part in (code.first, tools, unit.locator(".jp-Notebook-footer")):
        expect(part).to_be_hidden()
    assert unit.locator(".jp-CodeCell").first.bounding_box() is None
    bar(unit).get_by_role("button", name="Show code").press("Enter")
    expect(code.first).to_be_visible()
    expect(tools).to_be_visible()
    bar(unit).get_by_role("button", name="Hide code").press("Enter")
    expect(code.first).to_be_hidden()


def test_handing_in_by_keyboard_delivers_page_and_answers(unit: Page, site: Site) -> None:
    """One key from inside a control hands in under the learner's own id, and says so."""
    before = len(site.handed_in())
    unit.get_by_role("button", name="Answer", exact=True).focus()
    unit.keyboard.press("Alt+Shift+H")
    said = dialog(unit, "Handed in")
    expect(said).to_contain_text(re.compile(r"Handed in at \d\d:\d\d on \d+ \w+ \d{4}\."))
    expect(said).to_contain_text("2 of 2 questions answered.")
    expect(said.get_by_role("button", name="Close")).to_be_focused()
    unit.keyboard.press("Escape")
    expect(said).to_be_hidden()
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_focused()
    expect(status(unit)).to_have_text(re.compile(r"Handed in at \d\d:\d\d"))
    assert len(site.handed_in()) == before + 1
    arrived = site.handed_in()[-1]
    assert arrived.name.startswith(f"{LEARNER}+{UNIT}+")
    assert {f"{UNIT}.ipynb", f"{UNIT}.answers.jsonl"} <= {path.name for path in arrived.iterdir()}
    assert (arrived / f"{UNIT}.answers.jsonl").read_text().count('"question"') == 2


def test_unanswered_questions_are_named_before_handing_in(unit: Page, site: Site) -> None:
    """Escape goes back with nothing handed in; the other button hands in as it is."""
    site.answer("q1")
    before = len(site.handed_in())
    hand_in(unit)
    asked = dialog(unit, "Some questions are not answered")
    expect(asked).to_contain_text("1 of 2 questions are answered.")
    expect(asked.get_by_role("listitem")).to_have_text(["Gas flow"])
    unit.keyboard.press("Escape")
    expect(status(unit)).to_have_text("Not handed in")
    assert len(site.handed_in()) == before
    hand_in(unit)
    dialog(unit, "Some questions are not answered")
    unit.keyboard.press("Enter")
    expect(dialog(unit, "Handed in")).to_contain_text("1 of 2 questions answered.")
    assert len(site.handed_in()) == before + 1


def test_a_page_without_an_answer_hands_nothing_in(unit: Page, site: Site) -> None:
    """Before the first answer there is nothing to mark, and the sentence says so."""
    (site.folder / UNIT / f"{UNIT}.answers.jsonl").unlink()
    before = len(site.handed_in())
    hand_in(unit)
    expect(dialog(unit, "Not handed in")).to_contain_text("Answer at least one question")
    assert len(site.handed_in()) == before


def test_handing_in_waits_for_an_answer_still_being_saved(unit: Page, site: Site) -> None:
    """The learner sees the wait, and it ends by itself."""
    unit.get_by_role("button", name="Answer slowly").press("Enter")
    hand_in(unit)
    expect(status(unit)).to_have_text("Waiting for 1 answer to be saved…")
    dialog(unit, "Handed in")


def test_an_answer_that_is_not_saved_is_named_and_stops_the_hand_in(unit: Page, site: Site) -> None:
    """A hand-in without the last answer would lose it, so there is none."""
    before = len(site.handed_in())
    unit.get_by_role("button", name="Answer", exact=True).press("Enter")
    hand_in(unit)
    said = dialog(unit, "Not handed in")
    expect(said.get_by_role("listitem")).to_have_text(["Order of steps"])
    expect(said).to_contain_text("Nothing was handed in.")
    assert len(site.handed_in()) == before


def test_an_unreachable_hand_in_folder_is_one_sentence_and_a_way_out(
    unit: Page, site: Site
) -> None:
    """The answers are said to be safe, with the file's name, and can be downloaded."""
    away = site.inbound.rename(site.inbound.with_name("away"))
    try:
        hand_in(unit)
        said = dialog(unit, "Not handed in")
        expect(said).to_contain_text("The hand-in folder of this course cannot be reached.")
        expect(said).to_contain_text(f"Your answers are safe in {UNIT}/{UNIT}.answers.jsonl.")
        with unit.expect_download() as download:
            said.get_by_role("button", name="Download my answers").press("Enter")
    finally:
        away.rename(site.inbound)
    assert download.value.suggested_filename == f"{UNIT}.answers.jsonl"
    assert '"q2"' in Path(download.value.path()).read_text()


REPLIES = {
    "windows": (
        200, "T\nnbgrader.exchange.abc.exchange.ExchangeError: "
        "Sorry, the exchange is not available on Windows.",
        "Handing in from this page is not possible on Windows.", "Send that file to your educator",
    ),
    "unknown": (
        200, "Traceback\n  File x\nRuntimeError: Directory size is too big.",
        "The hand-in stopped with: Directory size is too big.", "Try again in a few minutes.",
    ),
    "no service": (
        404, "", "Hand-in is not set up on this server.", "Send that file to your educator",
    ),
    "broken": (
        500, "", "The server gave no usable reply to the hand-in (code 500).", "Try again",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("code", "value", "cause", "advice"), REPLIES.values(), ids=REPLIES)
def test_every_failed_reply_gives_a_cause_and_what_to_do(
    unit: Page, code: int, value: str, cause: str, advice: str
) -> None:
    """Whatever the server replies, a learner reads a cause, the file's name and a next step."""
    body = json.dumps({"success": False, "value": value})
    unit.route("**/assignments/submit*", lambda route: route.fulfill(status=code, body=body))
    try:
        hand_in(unit)
        said = dialog(unit, "Not handed in")
    finally:
        unit.unroute("**/assignments/submit*")
    for text in (cause, f"{UNIT}.answers.jsonl", advice):
        expect(said).to_contain_text(text)


def test_a_kernel_that_dies_runs_the_page_again_in_a_new_one(unit: Page, site: Site) -> None:
    """Stale controls would take answers and lose them, so they are made anew, by themselves."""
    before = site.runs()
    os.kill(before[-1], signal.SIGKILL)
    expect(status(unit)).to_have_text("Preparing the page…", timeout=SLOW_MS)
    expect(status(unit)).to_have_text("Ready", timeout=SLOW_MS)
    expect(unit.get_by_role("button", name="Answer", exact=True)).to_be_visible()
    assert site.runs()[: len(before)] == before
    assert len(site.runs()) == len(before) + 1


@pytest.mark.parametrize("command", ["Restart Kernel…", "Restart Kernel and Run All Cells…"])
def test_restarting_by_the_menu_runs_the_page_once(unit: Page, site: Site, command: str) -> None:
    """The page runs again by itself; where JupyterLab runs it anyway, not twice."""
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


def test_the_bar_and_the_dialog_are_accessible(unit: Page, site: Site, axe_source: str) -> None:
    """The checker finds nothing in what is ours, and every target is large enough."""
    site.answer("q1")
    hand_in(unit)
    dialog(unit, "Some questions are not answered")
    unit.evaluate(axe_source)
    ours = [[".tpiece-bar"], [".tpiece-dialog"]]
    found = unit.evaluate("ours => axe.run({ include: ours })", ours)
    assert found["passes"]
    assert [f"{rule['id']}: {rule['help']}" for rule in found["violations"]] == []
    for button in unit.locator(".tpiece-bar button:visible, .tpiece-dialog button:visible").all():
        box = button.bounding_box()
        assert box
        assert box["height"] >= 44, button.inner_text()


def test_a_lesson_opens_first_runs_and_cannot_be_handed_in(
    visitor: BrowserContext, site: Site
) -> None:
    """The workbook opens on its start page, which has no hand-in."""
    page = visitor.new_page()
    page.goto(f"{site.url}/?token={TOKEN}")
    expect(status(page)).to_have_text("Ready", timeout=SLOW_MS)
    expect(page.get_by_text("lesson ran", exact=True)).to_be_visible()
    expect(bar(page).get_by_role("button", name="Save and hand in")).to_be_hidden()
    page.close()


def test_a_notebook_that_is_not_a_workbook_page_is_left_alone(
    visitor: BrowserContext, site: Site
) -> None:
    """Other notebooks get no bar, show their code and do not run."""
    page = open_page(visitor, site, "plain.ipynb")
    expect(page.locator(".jp-CodeCell .jp-InputArea")).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_text("| Idle")).to_be_visible(timeout=SLOW_MS)
    page.wait_for_timeout(1000)
    expect(page.get_by_text("plain ran", exact=True)).to_have_count(0)
    expect(bar(page)).to_have_count(0)
    page.close()
