"""A workbook server as a learner starts it, and hands on its pages."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jupyter_client import BlockingKernelClient
from playwright.sync_api import Locator, Page, expect

from graders.tasks import work
from workbook.course.settings import FILE

UNIT = "1_setup_order"
START_SECONDS = 180


@dataclass
class Opened:
    """A running workbook: where it lives, where it answers, and its key."""

    home: Path
    learner: str
    address: str
    token: str
    runtime: Path

    @property
    def own(self) -> Path:
        """Return the learner's folder."""
        return self.home / "learners" / self.learner

    @property
    def answers(self) -> Path:
        """Return the answers file of the exercise."""
        return self.own / UNIT / f"{UNIT}.answers.jsonl"

    def page(self, notebook: str) -> str:
        """Return the address of a notebook in the learner's room."""
        return f"{self.address}/doc/tree/{notebook}?token={self.token}"

    def workshop(self, notebook: str) -> str:
        """Return the address of a notebook in the full JupyterLab."""
        return f"{self.address}/lab/tree/{notebook}?token={self.token}"

    def ask(self, method: str, path: str) -> Any:
        """Send a request to the server's own interface."""
        request = urllib.request.Request(f"{self.address}{path}", method=method)
        request.add_header("Authorization", f"token {self.token}")
        with urllib.request.urlopen(request) as reply:
            text = reply.read()
        return json.loads(text) if text else None

    def kernel(self) -> str:
        """Return the id of the kernel behind the exercise."""
        sessions = self.ask("GET", "/api/sessions")
        (found,) = {s["kernel"]["id"] for s in sessions if s["path"] == f"{UNIT}/{UNIT}.ipynb"}
        return str(found)

    def client(self) -> BlockingKernelClient:
        """Return a second client of the running kernel, to keep it busy."""
        (file,) = self.runtime.glob(f"kernel-{self.kernel()}.json")
        client = BlockingKernelClient(connection_file=str(file))
        client.load_connection_file()
        client.start_channels()
        client.wait_for_ready(timeout=120)
        return client


@contextmanager
def opened(home: Path, learner: str, *, at_hand_in: bool = False) -> Iterator[Opened]:
    """Start `tpiece open` with an empty home folder; stop it at the end.

    The course is the demo's; only ``at_hand_in`` it marks at once, as the demo does.
    """
    course = home / "work" / "course"
    if not at_hand_in and not (course / FILE).is_file():
        work.assign(course, course_id="demo", title="Demo course")
    user = home / "home"
    user.mkdir(parents=True, exist_ok=True)
    runtime = home / "runtime"
    environment = {
        **os.environ, "HOME": str(user), "JUPYTER_RUNTIME_DIR": str(runtime),
        "JUPYTER_CONFIG_DIR": str(home / "jupyter"), "JUPYTER_DATA_DIR": str(home / "data"),
    }  # fmt: skip
    environment.pop("TPIECE_LEARNER", None)
    command = [sys.executable, "-m", "graders.cli", "open", "--no-browser"]
    command += ["--folder", str(home / "work"), "--learner", learner]
    process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
    try:
        address, token = _address(process)
        yield Opened(home / "work", learner, address, token, runtime)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=60)


def _address(process: subprocess.Popen[str]) -> tuple[str, str]:
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(r"(http://127\.0\.0\.1:\d+)/\S*\?token=(\S+)", line):
            return found[1], found[2]
    raise AssertionError("the workbook ended without saying where it is open")


SHOWN = ".jp-NotebookPanel:not(.lm-mod-hidden)"


def status(page: Page) -> Locator:
    """Return the line in which the page that is in front says how it stands."""
    return page.locator(f"{SHOWN} .tpiece-status")


def ready(page: Page, count: int) -> None:
    """Wait until the page in front has run and shows its controls."""
    expect(page.locator(f"{SHOWN} .tpiece")).to_have_count(count, timeout=90_000)
    expect(status(page)).to_have_text("Ready", timeout=90_000)


def control(page: Page, label: str) -> Locator:
    """Return the control that asks a question."""
    return page.locator(f"{SHOWN} .tpiece").filter(
        has=page.locator(f".tpiece-label:text-is({label!r})")
    )


def tab_to(page: Page, name: str, most: int = 900) -> None:
    """Press Tab until the part with this name (a regular expression) has the focus."""
    wanted = re.compile(name)
    for _ in range(most):
        if wanted.search(page.evaluate(_FOCUSED) or ""):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never reaches {name!r}")


_FOCUSED = """() => {
  const at = document.activeElement;
  const group = at.closest(".tpiece")?.querySelector(".tpiece-label")?.textContent ?? "";
  const own = at.getAttribute("aria-label") ?? at.labels?.[0]?.textContent ?? at.textContent;
  return `${group} | ${at.type ?? at.tagName} | ${own}`;
}"""


def saved_lines(path: Path) -> list[dict[str, Any]]:
    """Return the answers in a file, header left out."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()][1:]


def wait_for(condition: Callable[[], bool], page: Page, seconds: float = 20) -> None:
    """Wait until something is true outside the page."""
    for _ in range(int(seconds * 10)):
        if condition():
            return
        page.wait_for_timeout(100)
    raise AssertionError("it did not come true in time")
