"""What a lesson's page is sent: the code and styles of its controls, all and each text once.

A page's kernel sends every control with its whole code (``_esm``) and styles (``_css``) in the
message that opens it. Run as ``python3 -m tests.benchmarks.bench_carried [UNIT ...]``; it asks a
real kernel and counts the messages as they come.
"""

from __future__ import annotations

import sys
import tempfile
import time
import zlib
from pathlib import Path
from typing import Any

import nbformat
from jupyter_client.manager import start_new_kernel

from workbook.lesson.page import FOLDER
from workbook.start.launch import prepare_learner

UNITS = ("1_", "3_", "6_")
CELL_SECONDS = 120
CARRIED = ("_esm", "_css")


def opened(page: Path) -> tuple[list[dict[str, Any]], int, float]:
    """Return what each control is opened with, the bytes of all messages, seconds to the first."""
    notebook = nbformat.read(page, as_version=4)
    manager, client = start_new_kernel(cwd=str(page.parent))
    states: list[dict[str, Any]] = []
    whole, first, begun = 0, 0.0, time.perf_counter()

    def heard(message: dict[str, Any]) -> None:
        nonlocal whole, first
        if message["msg_type"] != "comm_open":
            return
        state = message["content"]["data"].get("state", {})
        whole += len(str(message["content"]).encode())
        if "_esm" in state:
            first = first or time.perf_counter() - begun
            states.append(state)

    try:
        for cell in notebook.cells:
            if cell.cell_type == "code":
                client.execute_interactive(
                    cell.source, output_hook=heard, timeout=CELL_SECONDS, allow_stdin=False
                )
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    return states, whole, first


def main() -> None:
    wanted = tuple(sys.argv[1:]) or UNITS
    with tempfile.TemporaryDirectory() as top:
        (Path(top) / "exchange").mkdir()
        folder = prepare_learner(
            Path(top) / "work", learner="nurse.one", course_id="demo",
            exchange=Path(top) / "exchange", lessons=FOLDER,
        )  # fmt: skip
        pages = sorted(path for path in folder.rglob("*.ipynb") if path.name.startswith(wanted))
        for page in pages:
            states, whole, first = opened(page)
            texts = [state[name] for state in states for name in CARRIED if state.get(name)]
            each = {text: len(text.encode()) for text in texts}
            packed = sum(len(zlib.compress(text.encode())) for text in each)
            print(
                f"{page.name}: {len(states)} controls, code and styles "
                f"{sum(each[text] for text in texts):,} bytes, each text once "
                f"{sum(each.values()):,} ({packed:,} packed), all that opens them {whole:,}; "
                f"the first after {first:.1f} s"
            )


if __name__ == "__main__":
    main()
