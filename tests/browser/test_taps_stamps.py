"""Tapping: how exact the stamps are, how long a record may be, what the kernel accepts."""

from __future__ import annotations

import json
import re
import time
from statistics import median

import pytest
from playwright.sync_api import expect

from tests.browser.taps_page import ALARM, PICTURE, begin, finished, kinds, taps
from workbook.cases import Kind, Question
from workbook.core.answer_sheet import LONGEST_LINE
from workbook.lesson.unit import control
from workbook.widgets import Taps
from workbook.widgets.control import WORDS


def test_stamps_are_the_times_at_which_a_script_pressed(show):
    """Reference: the page's performance.now() just before and just after a script makes an event.

    A stamp lies between the two, to 0.2 ms: a machine that takes the processor away in between
    widens that one interval, and no other.
    """
    page = show(taps(duration=3))
    begin(page)
    around = page.evaluate("""async () => {
      const hold = document.querySelector(".tpiece-hold");
      const gaps = Array.from({ length: 40 }, (_, n) => 23 + ((n * 7919) % 41));
      let next = performance.now() + 50;
      const around = [];
      for (const [n, gap] of gaps.entries()) {
        while (performance.now() < next) if (next - performance.now() > 8) {
          await new Promise((done) => setTimeout(done, 1));
        }
        const type = n % 2 ? "keyup" : "keydown";
        const before = performance.now();
        const event = new KeyboardEvent(type, { key: " ", bubbles: true, cancelable: true });
        around.push([before, performance.now()]);
        hold.dispatchEvent(event);
        next += gap;
      }
      return around;
    }""")
    events = finished(page)["events"]
    assert len(events) == len(around) == 40
    assert median(after - before for before, after in around) < 1.0
    first, (before_first, after_first) = events[0][0], around[0]
    for (stamp, _), (before, after) in zip(events, around, strict=True):
        passed = (stamp - first) * 1000
        assert before - after_first - 0.2 <= passed <= after - before_first + 0.2


def test_stamps_are_the_input_times_even_when_the_page_is_busy(show):
    """Reference: the input time that the browser is given with each trusted key event.

    The page is kept busy, so that a stamp taken when the event is handled would be tens of
    milliseconds late; differences against the first press stay below 1 ms.
    """
    page = show(taps(duration=3))
    begin(page)
    client = page.context.new_cdp_session(page)
    page.evaluate("""() => setInterval(() => {
      const end = performance.now() + 40;
      while (performance.now() < end);
    }, 45)""")
    handled = """() => {
      globalThis.late = [];
      const note = (event) => late.push(performance.now() - event.timeStamp);
      for (const kind of ["keydown", "keyup"]) addEventListener(kind, note, { capture: true });
    }"""
    page.evaluate(handled)
    given_at = []
    for n in range(12):
        at = time.time()
        given_at.append(at)
        key = {"type": "keyUp" if n % 2 else "keyDown", "key": " ", "code": "Space"}
        client.send("Input.dispatchKeyEvent", {**key, "timestamp": at})
        time.sleep(0.03)
    events = finished(page)["events"]
    assert len(events) == 12
    off = [
        abs((t - events[0][0]) - (at - given_at[0])) * 1000
        for (t, _), at in zip(events, given_at, strict=True)
    ]
    assert max(page.evaluate("late")) > 5
    assert max(off) < 1.0


def test_a_record_that_grows_too_long_stops_and_says_so(show):
    """What is kept is whole, ends with a release, and fits a line of the answers file."""
    page = show(taps(duration=2))
    begin(page)
    page.evaluate("""() => {
      const hold = document.querySelector(".tpiece-hold");
      for (let n = 0; n < 1400; n += 1) {
        for (const type of ["keydown", "keyup"]) {
          hold.dispatchEvent(new KeyboardEvent(type, { key: " ", bubbles: true }));
        }
      }
    }""")
    expect(page.get_by_text("One answer holds 2500 presses and releases.")).to_be_visible()
    record = finished(page)
    assert kinds(record) == ["press", "release"] * 1250
    longest = [[1000.1234, kind] for kind in kinds(record)]
    assert len(json.dumps({**record, "events": longest})) < LONGEST_LINE - 4000


def test_every_word_the_page_uses_has_an_english_default():
    """What the JavaScript asks of the words, the words have."""
    code = str(Taps._esm)
    used = set(re.findall(r"words\.(\w+)", code)) | set(re.findall(r'tell\("(\w+)"', code))
    assert len(used) > 40
    assert used <= set(WORDS)
    assert "http" not in code + str(Taps._css)


RECORD = {"format": "tpiece-taps", "version": 1, "duration": 2, "events": [[0.1, "press"]]}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({}, ""),
        ({"events": []}, ""),
        ({"answered": "stop", "answered_at": 0.5}, ""),
        ({"format": "tpiece-hands"}, WORDS["wrongTaps"]),
        ({"duration": 1}, WORDS["wrongTaps"]),
        ({"events": [["now", "press"]]}, WORDS["wrongTaps"]),
        ({"events": [[0.1, "release"]] * 3500}, WORDS["longTaps"]),
    ],
)
def test_only_a_record_of_this_tapping_that_fits_the_file_is_kept(change, says):
    """What cannot be read, is of another length of time, or would not be read back is refused."""
    assert taps().problem({**RECORD, **change}) == says


def test_feedback_may_bring_a_picture_that_goes_with_the_next_answer():
    """The picture is of the answer that was checked."""
    control = taps(save=None, check=lambda value: {"heading": "Close.", "picture": PICTURE})
    control.send = lambda content, buffers=None: None
    answer = {"kind": "answer", "client": "page", "value": RECORD}
    control._hear(None, {**answer, "seq": 1}, [])
    control._hear(None, {"kind": "check"}, [])
    assert control.picture == PICTURE
    control._hear(None, {**answer, "seq": 2}, [])
    assert control.picture == {}


def test_a_question_gives_its_control_what_it_shows():
    """Metronome and distraction come from the question's data, in whichever form it has them."""
    beats = {"rate": 45, "occlude_beats": 1, "release_beats": 2}
    asked = {"asks": "Who is next?", "at": 3, "options": ALARM["options"]}
    whole = control(Question("q", Kind.TAPS, "Tap.", shows={"duration": 9, "metronome": beats}))
    assert (whole.duration, whole.metronome, whole.distraction) == (9, beats, {})
    shows = {**beats, "duration": 9, "metronome": True, "distraction": asked}
    made = control(Question("q", Kind.TAPS, "Tap.", shows=shows))
    assert made.metronome == beats
    assert made.distraction["says"] == "Who is next?"
    alone = control(Question("q", Kind.TAPS, "Tap.", shows={**shows, "metronome": False}))
    assert alone.metronome == {}
