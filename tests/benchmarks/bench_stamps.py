"""How exactly a hand's presses are stamped: the tap record beside a button heard in the kernel.

Run ``python -m tests.benchmarks.bench_stamps``. In JupyterLab, in a headless browser, each press
of Space reaches the Taps control and clicks an ipywidgets Button whose handler stores
``time.perf_counter()``. The reference is the input time that the browser is given with the press.
It prints the largest error of an interval, between neighbouring presses and between any two, while
the kernel is idle, is busy with messages, and runs a 5 s cell. It ends with 1 when an interval of
the tap record is 1 ms or more out in any of the three.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.benchmarks.lab_page import lab_page

PRESSES, WANTED = 24, 1.0  # presses in each attempt; milliseconds
HELD = 0.05  # s
GAPS = [0.12 + (n * 7919 % 80) / 1000 for n in range(PRESSES)]  # s; no two alike in a row
CELL = 5.0  # s; the presses take less
SLACK = 5.0  # s a busy machine may be late with the presses
DURATION = sum(GAPS) + SLACK  # s

CONTROLS = """
import json, time, ipywidgets
from IPython.display import display
from workbook.widgets import Taps

def kept(value, client, seq):
    with open("records.jsonl", "a") as file:
        file.write(json.dumps(value) + "\\n")
    return {"number": seq, "at": "2026-05-04T10:00:00Z"}

def heard(_):
    at = time.perf_counter()
    with open("heard.jsonl", "a") as file:
        file.write(f"{at!r}\\n")

def work(_):
    end = time.perf_counter() + 0.015
    while time.perf_counter() < end:
        pass

button, load = (ipywidgets.Button(description=name) for name in ("Heard", "Load"))
button.on_click(heard)
load.on_click(work)
beats = {"rate": 60, "occlude_beats": 1, "release_beats": 2}
display(Taps("tap", "Keep it.", duration=DURATION, metronome=beats, save=kept), button, load)
"""
# Each press that the tap control gets also clicks the button, before the control sees it.
BOTH = """() => addEventListener("keydown", (event) => {
  const hold = event.target.closest?.(".tpiece-hold");
  const counting = document.querySelector("[data-phase=count]");
  if (hold && counting && event.key === " ") document.querySelector("[title=Heard]").click();
}, { capture: true })"""
LOAD = """() => globalThis.load = setInterval(
  () => document.querySelector("[title=Load]").click(), 25)"""
REST = "() => clearInterval(globalThis.load)"
RUN = """(code) => void jupyterapp.shell.currentWidget.sessionContext.session.kernel
  .requestExecute({ code })"""
LONG = f"""
end = time.perf_counter() + {CELL}
while time.perf_counter() < end:
    pass
"""
Errors = tuple[float, float]  # largest errors between neighbours and between any two (ms)


def pressed(page: Page, during: Callable[[], Any]) -> list[float]:
    """Make one attempt, with something going on in the kernel; return the input times (s)."""
    page.locator(".tpiece-taps .tpiece-key").first.press("Enter")
    page.wait_for_selector("[data-phase=count]")
    during()
    page.wait_for_timeout(200)
    client = page.context.new_cdp_session(page)
    key = {"key": " ", "code": "Space"}
    given, began = [], time.time()
    for n in range(PRESSES):
        time.sleep(max(0.0, began + sum(GAPS[:n]) - time.time()))
        given.append(time.time())
        down = {"type": "keyDown", **key, "timestamp": given[-1]}
        client.send("Input.dispatchKeyEvent", down)
        time.sleep(HELD)
        client.send("Input.dispatchKeyEvent", {"type": "keyUp", **key, "timestamp": time.time()})
    if time.time() - began > DURATION - 1:
        raise RuntimeError("The machine was too busy to press in time. Run this again.")
    page.wait_for_selector("[data-phase=idle]")
    return given


def lines(path: Path, count: int) -> list[Any]:
    """Wait until a file has this many lines and return what they hold."""
    for _ in range(600):
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        if text.count("\n") >= count:
            return [json.loads(line) for line in text.splitlines()]
        time.sleep(0.1)
    raise RuntimeError(f"{path.name} never got {count} lines.")


def largest(found: Sequence[float], given: Sequence[float]) -> Errors:
    """Return the largest error of an interval between neighbours and between any two (ms)."""
    if len(found) != len(given):
        raise RuntimeError(f"{len(given)} presses were made and {len(found)} were stamped.")
    off = [1000 * (one - other) for one, other in zip(found, given, strict=True)]
    return max(abs(b - a) for a, b in pairwise(off)), max(off) - min(off)


def attempt(
    page: Page, folder: Path, during: Callable[[], Any], done: int
) -> tuple[Errors, Errors]:
    """Make the attempt after ``done`` others; return the errors of the record and the handler."""
    given = pressed(page, during)
    page.evaluate(REST)
    record = lines(folder / "records.jsonl", done + 1)[done]
    tapped = [t for t, kind in record["events"] if kind == "press"]
    heard = lines(folder / "heard.jsonl", (done + 1) * PRESSES)[done * PRESSES :]
    return largest(tapped, given), largest(heard, given)


def measured(page: Page, folder: Path) -> list[float]:
    """Measure with the kernel in each of three states; print; return the tap record's errors."""
    states: dict[str, Callable[[], Any]] = {
        "idle": lambda: None,
        "busy with messages": lambda: page.evaluate(LOAD),
        f"running a {CELL:g} s cell": lambda: page.evaluate(RUN, LONG),
    }
    errors = []
    for done, (name, during) in enumerate(states.items()):
        record, handler = attempt(page, folder, during, done)
        report(f"kernel {name}: tap record", record)
        report(f"kernel {name}: handler", handler)
        errors.append(record[1])
    return errors


def report(name: str, errors: Errors) -> None:
    """Print the largest errors of a series of presses."""
    print(f"{name:38} neighbours {errors[0]:9.2f} ms   any two {errors[1]:9.2f} ms")


def main() -> int:
    """Measure, print, judge."""
    cell = f"DURATION = {DURATION}\n{CONTROLS}"
    with lab_page([cell], ["[title=Heard]", ".tpiece-hold"], width=1400) as (page, folder):
        page.evaluate(BOTH)
        page.wait_for_timeout(1500)
        errors = measured(page, folder)
    print(f"largest error of an interval, {PRESSES} presses; wanted: tap record < {WANTED:g} ms")
    return int(max(errors) >= WANTED)


if __name__ == "__main__":
    sys.exit(main())
