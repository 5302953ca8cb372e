"""How soon a press shows: keys spread evenly over a frame, and the frame that shows each.

A press waits for the next frame whatever a page does, up to 16.7 ms: of presses at any moment 95 of
100 can show within 15.8 ms at best. Drawn by chance, a hundred moments would move that figure by
half a millisecond; so each press has its own place in the frame, and the places fill it evenly.
What was pressed counts as shown in the frame that ends with the needle higher by ``LIFT``: a needle
falls before a press, and goes on falling without one. The chest counts as shown where it is higher
than when the key came; a lung fills from the press on, so that a press just before a frame has
moved no chest yet.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

from playwright.sync_api import Page

FRAME = 1 / 60  # s
LIFT = 0.25  # cmH2O
PAUSE = 0.13  # s, at least, from letting go to the next press
# Keeps of each press, in ms by the page's clock: the time to the frame that shows it, how many
# frames began until then, the time to the chest (nothing where there is none), when that frame
# began, and how much earlier the key came.
PRESS = """(lift) => {
  const needle = document.querySelector(".tpiece-bench-needle");
  const chest = document.querySelector(".tpiece-bench-chest");
  const value = () => Number(needle.dataset.value);
  const top = () => Number(chest?.getAttribute("d").match(/50,([\\d.]+)/)[1]);
  globalThis.taken = [];
  addEventListener("keydown", ({ timeStamp, key, repeat }) => {
    if (key !== " " || repeat) return;
    const [was, low] = [value(), top()];
    const press = { frames: 0, needle: null, chest: null };
    let count = 0;
    const frame = (at) => {
      count += 1;
      const since = performance.now() - timeStamp;
      if (press.needle === null && value() > was + lift) {
        Object.assign(press, { needle: since, frames: count, at, early: at - timeStamp });
      }
      if (press.chest === null && top() < low) press.chest = since;
      const whole = press.needle !== null && (!chest || press.chest !== null || count > 9);
      if (whole) taken.push(press);
      else requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }, { capture: true });
}"""
NEXT = "() => new Promise((done) => requestAnimationFrame(done))"


@dataclass(frozen=True)
class Press:
    """What came of one press: ms to the frame that shows it, and which frame that was."""

    needle: float
    frames: int
    chest: float | None
    at: float
    early: float


def pressed(page: Page, count: int, shift: float) -> list[Press]:
    """Press at ``count`` places spread over a frame, moved by a share of one of them."""
    page.locator(".tpiece-hold").focus()
    page.wait_for_timeout(500)
    page.evaluate(PRESS, LIFT)
    ours, last = _ours(page), page.evaluate(NEXT)
    step = next(n for n in range(int(count * 0.62), count + 1) if _apart(n, count))
    for n in range(count):
        place = ((n * step) % count + shift) / count
        at = ours + last / 1000 + place * FRAME
        at += FRAME * max(0, -int((at - time.perf_counter() - PAUSE) // FRAME))
        time.sleep(max(0.0, at - time.perf_counter()))
        page.keyboard.down("Space")
        page.wait_for_function(f"taken.length === {n + 1}", polling=20)
        page.keyboard.up("Space")
        last = page.evaluate("taken.at(-1).at")
    return [Press(**press) for press in page.evaluate("taken")]


def _apart(n: int, count: int) -> bool:
    """Whether steps of ``n`` come to every place of ``count`` once."""
    return len({(k * n) % count for k in range(count)}) == count


def _ours(page: Page) -> float:
    """Return our clock at the moment the page's stood at nothing (s)."""
    found: list[tuple[float, float]] = []
    for _ in range(20):
        before = time.perf_counter()
        theirs = float(page.evaluate("performance.now()")) / 1000
        after = time.perf_counter()
        found.append((after - before, (before + after) / 2 - theirs))
    return min(found)[1]


def high(times: list[float]) -> float:
    """Return what 95 of 100 are within."""
    return statistics.quantiles(times, n=20)[-1]


def uneven(taken: list[Press]) -> float:
    """Return by how much presses lie elsewhere in their frame than evenly (ms, at most)."""
    frame = 1000 * FRAME
    places = sorted(-press.early % frame for press in taken)
    even = [(n + 0.5) / len(places) * frame for n in range(len(places))]
    off = [place - other for place, other in zip(places, even, strict=True)]
    return (max(off) - min(off)) / 2


def told(taken: list[Press]) -> str:
    """Return in words how soon presses showed."""
    times = [press.needle for press in taken]
    chests = [press.chest for press in taken if press.chest is not None]
    first = sum(press.frames == 1 for press in taken)
    says = (
        f"press to needle median {statistics.median(times):5.2f} ms, 95 of 100 {high(times):5.2f} "
        f"ms, in the next frame {first} of {len(taken)}"
    )
    if chests:
        same = sum(press.chest == press.needle for press in taken)
        says += f", the chest higher in the same frame {same}, 95 of 100 {high(chests):5.2f} ms"
    return f"{says} (uneven by {uneven(taken):.2f} ms)"
