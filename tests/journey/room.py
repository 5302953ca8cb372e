"""What a learner's room shows and takes: its words, its keys, and what nothing may change."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.journey.pages import Opened

# What the host calls things, and names of files: no learner need ever read them.
HOST = re.compile(
    r"\b(kernels?|cells?|notebooks?|jupyter\w*|nbgrader|widgets?|markdown|i?python|traceback|"
    r"console|terminal|launcher|workspaces?)\b|\.ipynb|\.jsonl?\b|\.toml\b|\b\d_[a-z]+_[a-z]+",
    re.IGNORECASE,
)
_SAID = """() => {
  const names = ["title", "aria-label", "aria-description", "aria-roledescription", "alt",
                 "placeholder"];
  const seen = (node) => node.getClientRects().length > 0;
  const named = [...document.querySelectorAll("body *")].filter(seen)
    .flatMap((node) => names.map((name) => node.getAttribute(name)));
  return [document.title, ...named.filter(Boolean), ...document.body.innerText.split("\\n")];
}"""
_STATE = """() => {
  const open = [...jupyterapp.shell.widgets("main")].filter((each) => each.content?.widgets);
  const { content } = open.find((each) => each.isVisible);
  const shown = (selector) => [...document.querySelectorAll(selector)]
    .filter((node) => node.getClientRects().length).length;
  return {
    cells: content.widgets.map((cell) => cell.model.sharedModel.getSource()),
    rendered: content.widgets.map((cell) => cell.rendered ?? null),
    mode: content.mode,
    unsaved: content.model.dirty,
    editors: shown(".cm-editor, [contenteditable=true]"),
    windows: shown(".jp-Dialog, dialog, [role=dialog], .lm-Menu"),
  };
}"""


def said(page: Page) -> list[str]:
    """Return every text on the screen, with the names that a screen reader speaks."""
    found: list[str] = page.evaluate(_SAID)
    return found


def host_words(page: Page) -> list[str]:
    """Return what on the screen speaks of the host instead of the course."""
    return [text for text in said(page) if HOST.search(text)]


def state(page: Page) -> dict[str, Any]:
    """Return what the page in front holds, and what stands over it."""
    found: dict[str, Any] = page.evaluate(_STATE)
    return found


def kept(workbook: Opened) -> dict[str, str]:
    """Return a digest of each page and answers file of a learner."""
    files = [*workbook.own.rglob("*.ipynb"), *workbook.own.rglob("*.answers.jsonl")]
    return {str(path): _digest(path) for path in files}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
