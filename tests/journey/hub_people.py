"""People of a hub's course, each in a browser of their own, and what their pages call saved."""

from __future__ import annotations

import json
import os
import re
from http import HTTPStatus
from pathlib import Path
from typing import Any

from jupyter_client import BlockingKernelClient
from playwright.sync_api import Browser, Error, Locator, Page, expect

from graders.marking.exercise import points
from tests.journey import hands
from tests.journey.accounts import processes, until
from tests.journey.hub import COURSE, Hub
from tests.journey.pages import SHOWN, UNIT, ready, saved_lines
from workbook.cases import Kind, case
from workbook.hub import HOME

QUESTIONS = len(points(UNIT))
PATIENCE = 120_000  # ms; a busy machine may take long, and that is no fault
SERVER, KERNEL = "jupyterhub.singleuser", "ipykernel_launcher"


class Person:
    """A learner with an account, who remembers every answer that the page called saved."""

    def __init__(self, hub: Hub, browser: Browser, name: str) -> None:
        self.hub, self.name = hub, name
        self.page: Page = browser.new_context(viewport={"width": 1280, "height": 1000}).new_page()
        self.page.set_default_timeout(PATIENCE)
        book = hub.course.course.book
        self.drawn = case(COURSE, UNIT, name, book)
        self.saved: dict[str, Any] = {}

    @property
    def file(self) -> Path:
        """Return where this person's answers are kept."""
        return self.home / HOME / COURSE / UNIT / f"{UNIT}.answers.jsonl"

    @property
    def home(self) -> Path:
        """Return the home folder of this person's account."""
        return Path(f"~{self.name}").expanduser()

    @property
    def unit(self) -> str:
        """Return the address of the unit's page."""
        return f"{self.hub.address}/user/{self.name}/doc/tree/{UNIT}/{UNIT}.ipynb"

    def sign_in(self, by: str = "/") -> None:
        """Sign in by keyboard, from the front page or a link; the server then starts by itself."""
        self.page.goto(f"{self.hub.address}{by}")
        self.page.get_by_label("Username").focus()
        self.page.keyboard.type(self.name)
        self.page.keyboard.press("Tab")
        self.page.keyboard.type(self.hub.passwords[self.name])
        self.page.keyboard.press("Enter")

    def arrive(self) -> None:
        """Wait for the first page, and open the unit."""
        try:
            self.page.wait_for_url(re.compile(r"/doc\b"), timeout=PATIENCE)
        except Error as error:
            seen = f"{self.name} is at {self.page.url}: {self.page.inner_text('body')}"
            raise AssertionError(f"{seen}\n{self.hub.log()}") from error
        if self.page.url != self.unit:
            self.page.goto(self.unit)
        ready(self.page, QUESTIONS)

    def come_back(self) -> None:
        """Load the page anew until it is there, starting a stopped server as its page offers."""
        until(self._is_back, PATIENCE / 1000)
        ready(self.page, QUESTIONS)

    def _is_back(self) -> bool:
        try:
            reply = self.page.goto(self.unit)
            if reply is None or reply.status == HTTPStatus.SERVICE_UNAVAILABLE:
                return False  # its death was not noticed yet
            self.page.locator(f"{SHOWN} .tpiece").first.wait_for(timeout=PATIENCE / 2)
        except Error:  # between hub and server, a page may be cut short
            return False
        return True

    def part(self, question: str) -> Locator:
        """Return the control of a question."""
        return hands.asked(self.page, UNIT, self.drawn[question])

    def give(self, question: str, value: Any) -> None:
        """Answer a question by keyboard, and see that the page calls it saved."""
        for _ in range(3):
            self._dismiss()
            try:
                hands.answer(self.page, self.part(question), self.drawn[question], value)
            except AssertionError:
                if not self._disturbed():
                    raise
            else:
                self.saved[question] = value
                return
        raise AssertionError("a dialog came up again and again")

    def _disturbed(self) -> bool:
        """Say whether JupyterLab asks what to do about a connection that was lost."""
        return bool(self.page.get_by_role("dialog").count())

    def _dismiss(self) -> None:
        while self._disturbed():
            self.page.keyboard.press("Escape")
            self.page.wait_for_timeout(100)

    def wanted(self, right: dict[str, Any], *kinds: Kind) -> dict[str, Any]:
        """Return the right answers of some kinds of question."""
        return {q.id: right[q.id] for q in self.drawn.questions if q.kind in kinds}

    def kept(self) -> dict[str, Any]:
        """Return what is on disk of the answers that were called saved, the latest of each."""
        answers = (line for line in saved_lines(self.file) if "question" in line)
        latest = {line["question"]: line["value"] for line in answers}
        return {question: latest.get(question) for question in self.saved}

    def insist(self, question: str, value: dict[str, str]) -> None:
        """See an answer saved that was given while nothing replied, doing as the page says."""
        try:
            expect(self.told(question)).to_contain_text("Saved", timeout=PATIENCE / 2)
        except AssertionError:
            expect(self.told(question)).to_contain_text("reload the page. Then answer again")
            self.come_back()
            self.give(question, value)
        self.saved[question] = value

    def told(self, question: str) -> Locator:
        """Return what a control says of its answer."""
        return self.part(question).locator(".tpiece-saving")

    def shows(self, question: str, text: str) -> None:
        """See that the page shows an answer, and calls it saved."""
        part = self.part(question)
        expect(part.get_by_role("textbox")).to_have_value(text, timeout=PATIENCE)
        hands.saved(part)

    def begin_attempt(self, number: int) -> None:
        """Begin an attempt by the page's own button; it draws another case, of which nothing is."""
        self._dismiss()
        bar = self.page.locator(f"{SHOWN} .tpiece-bar")
        bar.get_by_role("button", name="New attempt").click()
        name = f"Start attempt {number}"
        self.page.get_by_role("dialog").get_by_role("button", name=name).click()
        said = self.page.locator(SHOWN).get_by_text(f"Attempt {number}.")
        expect(said).to_be_visible(timeout=PATIENCE)
        ready(self.page, QUESTIONS)
        self.drawn = case(COURSE, UNIT, self.name, self.hub.course.course.book, number)
        self.saved = {}

    def hand_in(self) -> None:
        """Hand in by the page's own button, with questions left open."""
        self._dismiss()
        self.page.locator(f"{SHOWN} .tpiece-bar").get_by_role("button", name="hand in").click()
        dialog = self.page.get_by_role("dialog")
        dialog.get_by_role("button", name="Hand in anyway").click()
        expect(dialog).to_contain_text("Handed in at", timeout=PATIENCE)
        answered = f"{len(self.saved)} of {QUESTIONS} questions answered"
        expect(dialog).to_contain_text(answered)
        self.page.keyboard.press("Enter")
        expect(dialog).to_have_count(0)

    def hand_in_and_see(self) -> Locator:
        """Hand in by the button, with questions left open, and stay until the result is shown."""
        self._dismiss()
        self.page.locator(f"{SHOWN} .tpiece-bar").get_by_role("button", name="hand in").click()
        self.page.get_by_role("dialog").get_by_role("button", name="Hand in anyway").click()
        result = self.page.locator(".tpiece-result-page:not(.lm-mod-hidden)")
        expect(result.locator(".tpiece-stands")).to_be_visible(timeout=PATIENCE)
        return result

    def server(self) -> int:
        """Return the process of this person's server."""
        (found,) = processes(self.name, SERVER)
        return found

    def run(self, code: str) -> Any:
        """Run code in this person's own kernel, as the person could; return what it prints."""
        runtime = self.home / ".local/share/jupyter/runtime"
        newest = max(runtime.glob("kernel-*.json"), key=os.path.getmtime)
        client = BlockingKernelClient(connection_file=str(newest))
        client.load_connection_file()
        client.start_channels()
        told: list[str] = []
        try:
            client.wait_for_ready(timeout=120)
            client.execute_interactive(
                code, store_history=False, timeout=120,
                output_hook=lambda message: told.append(_said(message["content"])),
            )  # fmt: skip
        finally:
            client.stop_channels()
        return json.loads("".join(told))


def _said(content: dict[str, Any]) -> str:
    """Return what was printed; a traceback too, so that a mistake of ours is seen."""
    return str(content.get("text", "")) + "\n".join(content.get("traceback", ()))
