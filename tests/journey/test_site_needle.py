"""The needle at a site, frame by frame, against the model that grades: live, and replayed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from statistics import median
from typing import Any

import pytest
from playwright.sync_api import Locator, Page

from graders.marking.exercise import points
from tests.journey import hands
from tests.journey.hands import asked, reach
from tests.journey.pages import UNIT, ready
from tests.journey.sites import Site, follow, introduce
from workbook.bench import Bench, Hands, read_hands
from workbook.cases import Case, case
from workbook.cases.dials import set_for
from workbook.physics import Trace, start, trace_from
from workbook.physics.solver.stepper import STEP

WITHIN = 0.005  # of the run's highest pressure
BREATHS = 4  # by Space, once the tables of every control are there
FRAMES = 15  # a second that are judged at least, however busy the machine
STAMP = 1e-4  # s to which a page knows the time of anything, and a record keeps it

# Notes each frame in which the needle is drawn, with the page's own time as the bench reads it:
# the clock stands still while one frame is drawn, or one click is heard. Of each press and release
# of Space it notes when it was made and when the page heard of it, which is a little later.
WATCH = """() => {
  const now = performance.now.bind(performance);
  const frame = requestAnimationFrame.bind(globalThis);
  let still = null;
  performance.now = () => still ?? now();
  Object.assign(globalThis, { frames: [], clicked: 0, keys: [] });
  const moved = new MutationObserver(() => {});
  moved.observe(document, { subtree: true, attributeFilter: ["data-value"] });
  globalThis.requestAnimationFrame = (draw) => frame((time) => {
    moved.takeRecords();
    still = now();
    try {
      draw(time);
    } finally {
      const drawn = moved.takeRecords().map(({ target }) => target);
      const needle = drawn.find((one) => one.matches(".tpiece-bench-needle"));
      if (needle) frames.push([still, Number(needle.dataset.value)]);
      still = null;
    }
  });
  addEventListener("click", () => {
    still = clicked = now();
    setTimeout(() => (still = null));
  }, { capture: true });
  for (const kind of ["keydown", "keyup"]) addEventListener(kind, ({ code, timeStamp }) => {
    if (code === "Space") keys.push([timeStamp, now()]);
  }, { capture: true });
}"""

Frame = tuple[float, float]  # when it was drawn, by the page's time (ms); what the needle shows


@pytest.fixture
def page(offline: Any, site: Site) -> Page:
    """Return the unit as the learner cyd opens it at the site, the needle watched."""
    page: Page = offline.new_page()
    page.add_init_script(f"({WATCH})()")
    introduce(page, site, "cyd")
    follow(page, "Exercise 1")
    ready(page, len(points(UNIT)))
    return page


def drawn(site: Site) -> Case:
    course = site.course.course
    return case(course.id, UNIT, "cyd", course.book)


def given(page: Page, tmp_path: Any) -> Hands:
    """Download what is answered so far, and return the run."""
    page.keyboard.press("Alt+Shift+H")
    with page.expect_download() as started:
        page.get_by_role("dialog").get_by_role("button").last.click()
    file = tmp_path / "answers.jsonl"
    started.value.save_as(file)
    page.get_by_role("dialog").get_by_role("button").last.click()
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return read_hands(lines[-1]["value"])


def modelled(bench: Bench, run: Hands) -> Trace:
    """Return the model's trace, with steps short enough to be judged by."""
    record = bench.record(run)
    begin = start(record.circuit, record.lung, outlet=record.outlet)
    return trace_from(begin, record.lung, record.actions, record.duration, STEP / 4)


def worst(frames: Sequence[Frame], zero: float, trace: Trace) -> float:
    """Return by what share of the highest pressure a frame is out at most; times in ms."""
    times = [(stamp - zero) / 1000 for stamp, _ in frames]
    around = zip(
        *(trace.at([max(0.0, time + off) for time in times]) for off in (-STAMP, 0, STAMP)),
        strict=True,
    )
    out = (
        max(min(model) - shown, shown - max(model), 0.0)
        for (_, shown), model in zip(frames, around, strict=True)
    )
    return max(out) / max(trace.manometer)


def breathe(page: Page, part: Locator) -> float:
    """Wait for the last tables, occlude a few times by Space; return when that began (ms)."""
    page.wait_for_timeout(3000)
    reach(page, part.get_by_role("button", name="Cover the hole"))
    began: float = page.evaluate("performance.now()")
    for _ in range(BREATHS):
        page.keyboard.down("Space")
        page.wait_for_timeout(500)
        page.keyboard.up("Space")
        page.wait_for_timeout(700)
    return began


def live(page: Page, run: Hands, frames: list[Frame], began: float) -> tuple[list[Frame], float]:
    """Return the frames since a moment, and when the run began by the page's time.

    A frame that was drawn between a key and the page's hearing of it cannot know of it: left out.
    """
    keys = page.evaluate("keys")[-2 * BREATHS :]
    made = [touch.time for touch in run.touches if touch.kind in ("occlude", "release")]
    pairs = zip(keys, made[-2 * BREATHS :], strict=True)
    zero = median(stamp - 1000 * time for (stamp, _), time in pairs)
    every = [frame for frame in frames if frame[0] >= began]
    found = [one for one in every if not any(stamp <= one[0] <= heard for stamp, heard in keys)]
    assert len(every) - len(found) <= len(keys)
    return found, zero


def replayed(page: Page, part: Locator, run: Hands) -> tuple[list[Frame], float]:
    """Replay the run by keys; return its frames, and when it began by the page's time."""
    page.evaluate("frames.length = 0")
    reach(page, part.get_by_role("button", name="Replay the run"))
    page.keyboard.press("Enter")
    part.get_by_text("The replay has ended").wait_for(timeout=1000 * run.duration + 30_000)
    zero, frames = page.evaluate("[clicked, frames]")
    return [frame for frame in frames if frame[0] - zero < 1000 * run.duration], zero


def test_the_needle_at_a_site_is_the_models_at_every_frame(page, site, tmp_path):
    """Everything set up by keys: as it is played, and as it is played again from its record."""
    question = drawn(site)["bench"]
    part = asked(page, UNIT, question)
    look = site.course.course.book["bench.look"].value
    hands.set_up(page, part, set_for(question.facts), look)
    began = breathe(page, part)
    frames = page.evaluate("frames")
    hands.use(page, part)
    run = given(page, tmp_path)
    trace = modelled(Bench.from_data(question.facts["bench"]), run)
    for seen, zero in (live(page, run, frames, began), replayed(page, part, run)):
        assert len(seen) > FRAMES * (seen[-1][0] - seen[0][0]) / 1000
        assert worst(seen, zero, trace) < WITHIN
