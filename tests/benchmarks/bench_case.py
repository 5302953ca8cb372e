"""How many pictures a second a case from birth draws, and how long its record takes to replay.

Run ``python -m tests.benchmarks.bench_case [CASES]`` (300 unless given; ``--page`` or ``--replays``
does one of the two). A bare page in a headless browser plays a case live, its baby stepped by the
workbook, with the mask on, inflations by Space, the oximeter and leads on, on a processor slowed
fourfold; an empty page, which draws nothing, is measured in turn in the same run, for other work on
the machine takes pictures from both. Then an expert's records of drawn cases, seven minutes long,
are read and replayed in pure Python, in processor time, right after the draw. It ends with 1 when
the case draws fewer than 58 pictures a second while the empty page draws that many, or when a
replay takes 40 ms or more, in the middle or in 95 of 100.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from tests.benchmarks.bench_frames import FRAMES
from tests.browser.control_page import open_live
from tests.browser.steps import given
from tests.conftest import CHROMIUM_FLAGS
from tests.scenario_base import BOOK, case
from workbook.cases import Kind
from workbook.rules import RuleBook, editions, rulebook
from workbook.scenario import Case, read_scenario, replay, seconds
from workbook.scenario.expert import expert
from workbook.units.scenario.case.questions import questions
from workbook.widgets.case import CaseControl

SLOWED, SECONDS, ROUNDS = 4, 5.0, 3
LEAST, MOST = 58.0, 40.0  # pictures a second; ms for a replay
DRAWN = 300
# Space is pressed and let go on the page itself, so that no other process keeps the rhythm.
INFLATE = """() => {
  const key = (kind) => document.activeElement.dispatchEvent(
    new KeyboardEvent(kind, { key: " ", code: "Space", bubbles: true, cancelable: true }));
  setInterval(() => { key("keydown"); setTimeout(() => key("keyup"), 500); }, 1500);
}"""


def begun(browser: Browser, errors: list[str]) -> Page:
    """Return a page with a case that goes on: mask, oximeter and leads on, inflations."""
    made = CaseControl("case-1", "A case.", case=case("easy", 3), book=BOOK, save=given)
    page = open_live(browser, made, errors, "laws", viewport={"width": 1280, "height": 720})
    page.get_by_role("button", name="The baby is born").click()
    for tab, acts in (("Heart", ("oximeter", "leads")), ("Mask", ("connect",))):
        page.get_by_role("tab", name=tab, exact=True).click()
        for act in acts:
            page.locator(f"[data-act={act}]").click()
    page.locator(".tpiece-hold").focus()
    page.evaluate(INFLATE)
    page.wait_for_timeout(2500)
    return page


def rate(page: Page) -> tuple[float, float]:
    """Return pictures a second on a slowed processor, and the longest gap between two (ms)."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    times = page.evaluate(FRAMES, SECONDS)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    gaps = [after - before for before, after in pairwise(times)]
    return 1000 * len(gaps) / (times[-1] - times[0]), max(gaps)


def pictures() -> bool:
    """Print what a case and an empty page draw, in turn; say whether it is enough."""
    found: dict[str, list[tuple[float, float]]] = {"case, live": [], "empty page": []}
    errors: list[str] = []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM_FLAGS)
        for _ in range(ROUNDS):
            live = begun(browser, errors)
            found["case, live"].append(rate(live))
            told = live.locator("[data-sees=Chest] dd").inner_text()
            live.context.close()
            empty = browser.new_page()
            found["empty page"].append(rate(empty))
            empty.close()
        browser.close()
    for name, rows in found.items():
        rates = " ".join(f"{each:.1f}" for each, _ in rows)
        longest = max(gap for _, gap in rows)
        print(f"{name:10}  {rates} pictures a second at {SLOWED}x, longest gap {longest:.0f} ms")
    print(f"the chest, at the end: {told}; errors on the page: {len(errors)}")
    case_rate, bare = (statistics.median(each for each, _ in rows) for rows in found.values())
    return not errors and (case_rate >= LEAST or case_rate >= bare - 1)


def records(count: int) -> Iterator[tuple[Case, Any, RuleBook]]:
    """Yield drawn cases, each with an expert's record of it."""
    books = [rulebook(id) for id in editions()]
    for n in range(-(-count // 2)):
        book = books[n % len(books)]
        for asked in questions("bench", f"learner{n}", book):
            if asked.kind is Kind.CASE:
                made = asked.facts["case"]
                yield made, expert(made, book).to_data(), book


def replayed(made: Case, record: Any, book: RuleBook) -> None:
    """Read a record and replay it, as marks and debrief do."""
    limit = book["scenario.limit"].value
    replay(made, read_scenario(record, made.id, seconds(book), limit), book)


def taken(do: Callable[..., object], *given_to: Any) -> float:
    """Return the processor time that something takes (ms)."""
    begun_at = time.process_time()
    do(*given_to)
    return 1000 * (time.process_time() - begun_at)


def replays(count: int) -> bool:
    """Print how long replays take; say whether that is short enough."""
    times, acts, longest = [], 0, 0
    for made, record, book in records(count):
        times.append(taken(replayed, made, record, book))
        acts, longest = max(acts, len(record["acts"])), max(longest, record["duration"])
    cuts = statistics.quantiles(times, n=20)
    print(
        f"{len(times)} drawn cases, up to {longest / 1000:.0f} s and {acts} acts: "
        f"p50 {cuts[9]:.1f} ms  p95 {cuts[-1]:.1f} ms  most {max(times):.1f} ms"
    )
    return cuts[-1] < MOST


def main() -> int:
    """Measure what is asked for; return 1 when something takes too long."""
    words = sys.argv[1:]
    count = next((int(word) for word in words if word.isdigit()), DRAWN)
    fine = True
    if "--page" not in words:
        fine = replays(count)
    if "--replays" not in words:
        fine = pictures() and fine
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
