"""Pictures a question is answered from: the gauge's needle, the strip, a rhythm, their twins."""

from __future__ import annotations

import io
import math
import re

import numpy as np
import pytest
import traitlets
from matplotlib.image import imread
from playwright.sync_api import Locator, expect

from tests.browser.control_page import axe, kept
from tests.browser.steps import choice, number, status
from tests.browser.test_controls import LOOKS
from workbook.cases import Kind, Question
from workbook.lesson.unit import control

TIME = [n / 20 for n in range(121)]
WAVE = [25.0 if t % 1.5 < 0.5 else 5.0 for t in TIME]
STRIP = {
    "kind": "strip",
    "title": "At the mask",
    "time": TIME,
    "pressure": WAVE,
    "low": 0,
    "high": 40,
}
RHYTHM = {
    "kind": "rhythm",
    "title": "A colleague's rhythm",
    "inflations": [[0.1, 0.4], [0.6, 0.8], [1.0, 1.2]],
}
# An odd share of the scale each, so that no value falls on a mark by chance.
VALUES = [round(0.37 + n * 2.017, 3) for n in range(20)]


def gauge(value: float, top: float = 40, **more) -> dict:
    return {"kind": "gauge", "value": value, "top": top, "label": "Circuit pressure", **more}


def every() -> list:
    """Return a question with each kind of figure."""
    return [choice(figure=STRIP), number(figure=gauge(23.4)), choice(figure=RHYTHM)]


def needle(drawing: Locator) -> float:
    """Return the needle's angle in degrees, clockwise from upright, read from the pixels.

    Between the hub and the numbers nothing but the needle is dark: its pixels there have a
    centre, and the gauge's own centre is the middle of the picture.
    """
    dark = 1 - imread(io.BytesIO(drawing.screenshot()))[..., :3].mean(axis=2)
    y, x = (
        at + 0.5 - size / 2 for at, size in zip(np.indices(dark.shape), dark.shape, strict=True)
    )
    radius = np.hypot(x, y) * 320 / dark.shape[1]
    seen = np.where((radius > 40) & (radius < 80) & (dark > 0.1), dark, 0)
    assert seen.sum() > 50, "no needle is drawn"
    return math.degrees(math.atan2((seen * x).sum(), -(seen * y).sum()))


def test_the_needle_points_where_the_value_lies_on_the_scale(show):
    """Twenty values, read back from the pixels, lie far closer than half of a small mark."""
    page = show(*(number(figure=gauge(value)) for value in VALUES))
    drawings = page.locator(".tpiece-gauge").all()
    off = [
        abs((needle(drawing) + 135) / 270 * 40 - value)
        for drawing, value in zip(drawings, VALUES, strict=True)
    ]
    assert max(off) < 0.15  # of a small mark; half of one would be misread


def test_the_ends_and_the_middle_of_the_scale_are_three_quarters_of_a_turn(show):
    """Zero lies at the lower left, half of it upright, the top at the lower right."""
    cases = [(top, share) for top in (20, 40, 80) for share in (0, 0.5, 1)]
    page = show(*(number(figure=gauge(top * share, top)) for top, share in cases))
    drawings = page.locator(".tpiece-gauge").all()
    for (top, share), drawing in zip(cases, drawings, strict=True):
        assert abs(needle(drawing) - (share - 0.5) * 270) < 0.5, (top, share)


@pytest.mark.parametrize(
    ("value", "top", "says"),
    [
        (0, 40, "The needle points at 0."),
        (20, 40, "The needle points at 20."),
        (21, 40, "The needle points one small mark past 20."),
        (23, 40, "The needle points 3 small marks past 20."),
        (20.5, 40, "The needle points half a small mark past 20."),
        (23.4, 40, "The needle points 3 and a half small marks past 20."),
        (29.9, 40, "The needle points at 30."),
        (24, 80, "The needle points 2 small marks past 20."),
        (29.8, 80, "The needle points at 30."),
        (55, 40, "The needle points at the end of the scale, or beyond it."),
    ],
)
def test_the_gauge_says_in_words_where_the_needle_points(show, value, top, says):
    """By the marks, as the eye sees it; the number itself is left to the learner."""
    page = show(number(figure=gauge(value, top)))
    name = page.get_by_role("img").get_attribute("aria-label")
    assert name.startswith("Circuit pressure. The scale runs from 0 to ")
    assert name.endswith(says)
    numbers = set(re.findall(r"\d+(?:\.\d+)?", name))
    assert value % 10 == 0 or f"{value:g}" not in numbers


def test_the_gauge_shows_its_value_only_when_told_to(show):
    """A picture that explains may give the number, in its name and below its unit."""
    page = show(number(figure=gauge(23.4, hide_value=False)))
    expect(page.get_by_role("img", name=re.compile("points at 23.4 cmH2O"))).to_be_visible()
    expect(page.locator(".tpiece-gauge text").filter(has_text="23.4")).to_have_count(1)
    page = show(number(figure=gauge(23.4)))
    expect(page.locator(".tpiece-gauge text").filter(has_text="23.4")).to_have_count(0)


def test_the_scale_has_a_number_every_ten_and_marks_between(show):
    """Marks every 1 up to 40, every 2 beyond; numbers every 10."""
    for top, marks in ((40, 41), (80, 41)):
        page = show(number(figure=gauge(5, top)))
        expect(page.locator(".tpiece-mark")).to_have_count(marks)
        numbers = page.locator(".tpiece-gauge-number").all_text_contents()
        assert numbers == [str(n) for n in range(0, top + 1, 10)]


def test_the_strip_has_axes_in_units_and_lines_to_read_it_by(show):
    """Numbers on both axes stand where the curve's points would be."""
    page = show(choice(figure={**STRIP, "band": [20, 25]}))
    name = "At the mask: Pressure over 6 s, on a scale from 0 to 40 cmH2O."
    strip = page.get_by_role("img", name=name)
    for text in ("Time (s)", "Pressure (cmH₂O)", "40", "0.5"):
        expect(strip.get_by_text(text, exact=True).first).to_be_visible()
    points = page.locator(".tpiece-curve").get_attribute("d")[1:].split("L")
    (_, peak), (_, base) = (map(float, points[n].split(",")) for n in (2, 25))
    tens = {
        text: page.locator(
            ".tpiece-drawing .tpiece-end", has_text=re.compile(f"^{text}$")
        ).first.evaluate("(one) => Number(one.getAttribute('y')) - 5")
        for text in ("0", "10", "20", "30")
    }
    per_unit = (tens["0"] - tens["30"]) / 30
    assert abs((tens["0"] - peak) / per_unit - 25) < 0.1
    assert abs((tens["0"] - base) / per_unit - 5) < 0.1
    expect(page.locator(".tpiece-limit")).to_have_count(2)


def test_the_strip_has_a_text_twin_with_its_corners(show):
    """The table has the turning points of the curve, and not every sample."""
    page = show(choice(figure=STRIP))
    page.get_by_text("The picture in words and numbers").press("Enter")
    expect(page.get_by_role("columnheader", name="Time (s)")).to_be_visible()
    expect(page.get_by_role("row", name="0.45 25", exact=True)).to_be_visible()
    expect(page.get_by_role("row", name="0.5 5", exact=True)).to_be_visible()
    assert 8 < page.get_by_role("row").count() < 30


def test_a_figure_stands_between_the_help_and_the_answer(show):
    """The question is read first, then its picture, then what answers it."""
    page = show(choice(figure=STRIP, help="Look at the strip."))
    parts = page.locator(".tpiece > *").evaluate_all("(all) => all.map((one) => one.classList[0])")
    wanted = ["tpiece-label", "tpiece-help", "tpiece-figure", "tpiece-body"]
    assert parts[:4] == wanted
    page.get_by_label("Start the clock.").check()
    expect(status(page)).to_contain_text("Saved")
    assert kept(page) == ["clock"]


def test_a_figure_of_another_kind_is_refused():
    """A mistake in a question is found in Python, and the kinds are named."""
    with pytest.raises(traitlets.TraitError, match="there are strip, gauge, rhythm"):
        choice(figure={"kind": "pie"})


@pytest.mark.parametrize(
    ("shows", "kind"),
    [
        ({"strip": {k: v for k, v in STRIP.items() if k != "kind"}}, "strip"),
        ({"rhythm": RHYTHM["inflations"]}, "rhythm"),
        ({"figure": gauge(5)}, "gauge"),
        ({"gauge": {"value": 5, "top": 40}}, "gauge"),
    ],
)
def test_a_question_gives_its_control_the_figure(shows, kind):
    """A question's data names a strip, a gauge or a rhythm; without one there is no figure."""
    made = control(Question("q", Kind.NUMBER, "How much?", units=("s",), shows=shows))
    assert made.figure["kind"] == kind
    assert control(Question("q", Kind.NUMBER, "How much?", units=("s",))).figure == {}


# --- rhythm


def test_a_rhythm_is_played_as_sound_shape_and_words(show):
    """Three tones as long as the inflations; the shape and the word change with them."""
    page = show(choice(figure=RHYTHM))
    page.evaluate("""() => {
      globalThis.tones = [];
      globalThis.states = [];
      const { start, stop } = OscillatorNode.prototype;
      OscillatorNode.prototype.start = function (at) { tones.push([at]); start.call(this, at); };
      OscillatorNode.prototype.stop = function (at) {
        if (at) tones.at(-1).push(at);
        stop.call(this, at);
      };
      const state = document.querySelector(".tpiece-state");
      const note = () => states.push(state.textContent);
      new MutationObserver(note).observe(state, { childList: true });
    }""")
    expect(page.locator(".tpiece-bar")).to_have_count(3)
    key = page.get_by_role("button", name="Play the rhythm")
    key.press("Enter")
    expect(page.get_by_role("button", name="Stop the rhythm")).to_be_focused()
    expect(key).to_be_visible()
    lengths = [round(to - from_, 1) for from_, to in page.evaluate("tones")]
    assert lengths == [0.3, 0.2, 0.2]
    assert page.evaluate("states") == ["Occluded", "Released"] * 3
    expect(page.locator(".tpiece-bar")).to_have_count(3)


def occluded(page):
    """Wait for an inflation; it lasts half a second, so every frame is looked at."""
    page.wait_for_function("document.querySelector('.tpiece-state').textContent === 'Occluded'")


def test_a_rhythm_can_be_stopped_and_needs_no_sound(show):
    """Without sound the shape still plays; stopping ends it at once."""
    page = show(choice(figure={**RHYTHM, "seconds": 30}))
    page.evaluate("""() => {
      globalThis.tones = 0;
      const start = OscillatorNode.prototype.start;
      OscillatorNode.prototype.start = function (at) { tones += 1; start.call(this, at); };
    }""")
    page.get_by_label("With sound").uncheck()
    page.get_by_role("button", name="Play the rhythm").click()
    occluded(page)
    page.get_by_role("button", name="Stop the rhythm").click()
    expect(page.locator(".tpiece-state")).to_have_text("Released")
    assert page.evaluate("tones") == 0


def test_a_rhythm_has_a_text_twin_with_its_times(show):
    """Each inflation is a row with when it begins and ends."""
    page = show(choice(figure=RHYTHM))
    name = "Rhythm of 3 inflations in 1.2 s. Each bar is one: the aperture occluded."
    expect(page.get_by_role("img", name=name)).to_be_visible()
    page.get_by_text("The picture in words and numbers").click()
    expect(page.get_by_role("row", name="2 0.6 0.8", exact=True)).to_be_visible()


def test_a_rhythm_moves_no_line_for_who_wants_no_motion(show):
    """With reduced motion the line that wanders over the bars stays away."""
    page = show(choice(figure={**RHYTHM, "seconds": 30}), reduced_motion="reduce")
    page.get_by_role("button", name="Play the rhythm").click()
    occluded(page)
    expect(page.locator(".tpiece-head")).to_be_hidden()


def test_a_long_rhythm_takes_several_rows_in_a_narrow_window(show):
    """A second stays wide enough to be read, and the bars keep their lengths."""
    inflations = [[n * 1.5, n * 1.5 + 0.5] for n in range(20)]
    page = show(
        choice(figure={**RHYTHM, "inflations": inflations}), viewport={"width": 400, "height": 900}
    )
    widths = page.locator(".tpiece-bar").evaluate_all(
        "(all) => all.map((b) => b.width.baseVal.value)"
    )
    assert sum(widths) / 10 >= 35
    assert page.locator(".tpiece-drawing").bounding_box()["height"] > 100


# --- for everybody


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "forced"])
def test_no_serious_accessibility_violation(show, axe_source, look):
    """Light, dark with reduced motion, and forced colours: axe-core finds nothing serious."""
    page = show(*every(), **look)
    for twin in page.get_by_text("The picture in words and numbers").all():
        twin.click()
    assert axe(page, axe_source) == []


@pytest.mark.parametrize("width", [320, 400, 640])
def test_pictures_fit_a_narrow_page(show, width):
    """Nothing scrolls sideways, with the tables open too; no word of a picture is cut off."""
    page = show(*every(), viewport={"width": width, "height": 900})
    for twin in page.get_by_text("The picture in words and numbers").all():
        twin.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = """(all) => all.filter((one) => {
      const [inner, outer] = [one, one.closest("svg")].map((it) => it.getBoundingClientRect());
      return inner.left < outer.left - 1 || inner.right > outer.right + 1;
    }).map((one) => one.textContent)"""
    assert page.locator("svg text").evaluate_all(outside) == []


def test_pictures_keep_a_visible_line_in_forced_colours(show):
    """The needle and the curve have the system's text colour there."""
    page = show(*every(), forced_colors="active")
    look = "(one) => [getComputedStyle(one).stroke, getComputedStyle(document.body).color]"
    line, text = page.locator(".tpiece-curve").evaluate(look)
    assert line == text
