"""A notebook open and run in JupyterLab, in a headless browser, for what is timed there."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import nbformat
from playwright.sync_api import Page, sync_playwright

from tests.conftest import CHROMIUM_FLAGS

ROOT = json.dumps(str(Path(__file__).parents[2]))
NAME = "timed.ipynb"


@contextmanager
def lab_page(cells: Sequence[str], shown: Sequence[str], width: int) -> Iterator[tuple[Page, Path]]:
    """Yield a page on which cells have run, once what they show is there, and their folder."""
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = Path(place)
        _write(folder / NAME, cells)
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=CHROMIUM_FLAGS
        )
        with _laboratory(folder) as address:
            page = browser.new_page(viewport={"width": width, "height": 1400})
            _run(page, address, shown)
            yield page, folder
        browser.close()


def _write(path: Path, cells: Sequence[str]) -> None:
    first, *rest = cells
    sources = [f"import sys; sys.path.insert(0, {ROOT})\n{first}", *rest]
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(one) for one in sources])
    made.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    nbformat.write(made, path)


@contextmanager
def _laboratory(folder: Path) -> Iterator[str]:
    """Start JupyterLab on a folder; yield the address of its notebook."""
    options = ["--no-browser", "--port=0", "--allow-root", f"--ServerApp.root_dir={folder}",
               "--LabApp.expose_app_in_browser=True"]  # fmt: skip
    command = [sys.executable, "-m", "jupyterlab", *options]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stderr is not None
        lines = (re.search(r"(http://(?:127\.0\.0\.1|localhost):\d+)/lab\?token=(\w+)", line)
                 for line in process.stderr)  # fmt: skip
        found = next(line for line in lines if line)
        yield f"{found[1]}/lab/tree/{NAME}?token={found[2]}"
    finally:
        process.terminate()
        process.wait(timeout=60)


def _run(page: Page, address: str, shown: Sequence[str]) -> None:
    """Open the notebook, run it, and wait for each thing it shows."""
    page.goto(address)
    page.wait_for_function("globalThis.jupyterapp?.shell?.currentWidget?.content?.widgets?.length")
    page.wait_for_function(
        "jupyterapp.shell.currentWidget.sessionContext?.session?.kernel?.status === 'idle'"
    )
    page.evaluate("void jupyterapp.commands.execute('notebook:run-all-cells')")
    for selector in shown:
        page.wait_for_selector(selector, timeout=90_000)
