"""The picture of the bench: needle, strip and drawing show what they are given."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from statistics import median

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.bench_picture_page import DIALS, STEP, TOP


def angle(x: float, y: float) -> float:
    """Return degrees clockwise from upright."""
    return math.degrees(math.atan2(x, -y))


def needle(page: Page) -> float:
    """Return where the needle points, read from the pixels of the gauge's outer half."""
    box = page.locator(".tpiece-bench-gauge svg")
    pixels = np.asarray(Image.open(io.BytesIO(box.screenshot())).convert("RGB"))
    red, green, blue = (pixels[:, :, n] for n in range(3))
    middle = pixels.shape[1] / 2
    y, x = (each + 0.5 - middle for each in np.nonzero((red > 200) & (green < 60) & (blue > 200)))
    outer = np.hypot(x, y) > 0.5 * middle
    assert outer.sum() > 20
    return angle(x[outer].sum(), y[outer].sum())


def printed(page: Page) -> dict[int, float]:
    """Return the angle at which each number of the scale is printed."""
    rows = page.evaluate("""() => {
      const face = document.querySelector(".tpiece-bench-face").getBoundingClientRect();
      return [...document.querySelectorAll(".tpiece-bench-number")].map((text) => {
        const box = text.getBoundingClientRect();
        return [Number(text.textContent), box.x + box.width / 2 - face.x - face.width / 2,
          box.y + box.height / 2 - face.y - face.height / 2];
      });
    }""")
    return {number: angle(x, y) for number, x, y in rows}


VALUES = [0, 1, 4.9, 10, 17.3, 20, 25.5, 40, 59.2, 66, 79, 80, 93, -3]


@pytest.mark.parametrize("width", [1280, 400])
def test_the_needle_points_at_its_value_between_the_printed_numbers(picture, width):
    """Read back from pixels, it is within half a small mark; beyond an end it stays there."""
    page = picture(viewport={"width": width, "height": 800}, device_scale_factor=2)
    page.add_style_tag(content=".tpiece .tpiece-bench { --bench-needle: #f0f !important }")
    scale = printed(page)
    assert list(scale) == list(range(0, TOP + 1, 10))
    mark = (scale[TOP] - scale[0]) / TOP
    for value in VALUES:
        page.evaluate("(manometer) => show({ manometer })", value)
        inside = min(max(value, 0), TOP)
        low = min(int(inside // 10) * 10, TOP - 10)
        wanted = scale[low] + (scale[low + 10] - scale[low]) * (inside - low) / 10
        assert abs(needle(page) - wanted) < mark / 2, value
        shown = page.locator(".tpiece-bench-needle").get_attribute("data-value")
        assert float(shown) == value
        says = ["beyond the", "scale"] if value > TOP else []
        expect(page.locator(".tpiece-bench-beyond tspan")).to_have_text(says)


def test_a_screen_reader_reads_the_gauge_as_a_meter(picture):
    """Its name, its ends and its value in words are there when asked for."""
    page = picture()
    page.evaluate("show({ manometer: 24.6 })")
    gauge = page.get_by_role("meter", name="Pressure gauge")
    expect(gauge).to_have_attribute("aria-valuenow", "25")
    expect(gauge).to_have_attribute("aria-valuetext", "25 cmH2O")
    page.evaluate("show({ manometer: 99 })")
    expect(gauge).to_have_attribute("aria-valuenow", str(TOP))
    expect(gauge).to_have_attribute("aria-valuetext", "beyond the scale")


_PLACES = """() => {
  const middle = (node) => {
    const box = node.getBoundingClientRect();
    return [box.x + box.width / 2, box.y + box.height / 2];
  };
  const track = [...document.querySelectorAll(".tpiece-bench-track")].at(-1);
  const texts = (kind) => Object.fromEntries([...track.querySelectorAll(`.${kind} text`)]
    .map((text) => [text.textContent, middle(text)]));
  const curve = track.querySelector(".tpiece-bench-curve");
  const [matrix, points] = [curve.getScreenCTM(), curve.getAttribute("d").slice(1).split("L")];
  const bar = track.querySelector(".tpiece-bench-bars rect").getBoundingClientRect();
  return {
    levels: texts("tpiece-bench-grid"), seconds: texts("tpiece-bench-seconds"),
    bars: track.querySelectorAll(".tpiece-bench-bars rect").length, bar: [bar.left, bar.right],
    points: points.map((point) => {
      const place = new DOMPoint(...point.split(",").map(Number)).matrixTransform(matrix);
      return [place.x, place.y];
    }),
  };
}"""


def test_the_strip_draws_its_data_against_its_own_scale(picture):
    """Levels, the times of a step and the bar of the occluded span lie at the printed numbers."""
    page = picture(viewport={"width": 1280, "height": 800})
    page.evaluate(f"bench.strip(({STEP})())")
    found = page.evaluate(_PLACES)
    levels, seconds = found["levels"], found["seconds"]
    assert list(levels) == ["0", "10", "20", "30", "40"]
    (_, low), (_, high) = found["points"][0], min(found["points"], key=lambda point: point[1])
    assert low == pytest.approx(levels["20"][1], abs=2)
    assert high == pytest.approx(levels["30"][1], abs=2)
    rise, fall = (b[0] for a, b in pairwise(found["points"]) if abs(a[1] - b[1]) > 5)
    assert [rise, fall] == pytest.approx([seconds["12"][0], seconds["13"][0]], abs=2)
    assert found["bars"] == 1
    assert found["bar"] == pytest.approx([seconds["12"][0], seconds["13"][0]], abs=2)
    strip = page.get_by_role("img", name="pressure from 20 to 30 cmH2O, the aperture occluded 1")
    expect(strip).to_be_visible()


def test_marks_of_time_move_with_the_paper_and_stand_where_their_time_is(picture):
    """Whether a mark has just come or has stood for seconds, and when a run is gone back in."""
    page = picture(viewport={"width": 1280, "height": 800})
    found: dict[float, dict[int, float]] = {}
    for now in (15.0, 15.4, 16.2, 21.7, 4.5, 16.2):
        page.evaluate(f"bench.strip(({STEP})(), {{ now: {now} }})")
        seconds = page.evaluate(_PLACES)["seconds"]
        found[now] = {int(text): x for text, (x, _) in seconds.items()}
        since = math.ceil(now - 10)
        assert sorted(found[now]) == list(range(max(0, since), since + 10))
    step = found[15.0][13] - found[15.0][12]
    assert step > 50
    for now, marks in found.items():
        for at, x in marks.items():
            assert x == pytest.approx(found[15.0][12] + (at - 12 - (now - 15)) * step, abs=1)


_CURVE = """() => {
  const history = [];
  for (let n = 0; n <= 1000; n += 1) {
    const beat = n % 100;
    const [up, down] = [1 - Math.exp(-beat / 6), Math.exp((40 - beat) / 4)];
    const manometer = beat < 40 ? 25 * up : 5 + 20 * down;
    history.push({ time: n / 100, manometer });
    if (beat === 40) history.push({ time: n / 100, manometer: 5 }); // two at one moment
  }
  const line = benchPath(history, 0, (at) => at.manometer, (time) => 110 * time, (cm) => 4 * cm);
  const flat = history.map(({ time }) => ({ time, manometer: 7 }));
  return {
    every: history.map(({ time, manometer }) => [110 * time, 4 * manometer]),
    drawn: line.slice(1).split("L").map((point) => point.split(",").map(Number)),
    flat: benchPath(flat, 0, (at) => at.manometer, (time) => time, (cm) => cm),
    one: benchPath(history, history.length - 1, (at) => at.manometer, Number, Number),
  };
}"""


def _beside(points, line) -> float:
    """Return how far (pixels) the farthest of the points lies beside a line."""
    begin, way = line[:-1], np.diff(line, axis=0)
    long = np.maximum((way**2).sum(axis=1), 1e-12)
    farthest = 0.0
    for point in points:
        along = np.clip(((point - begin) * way).sum(axis=1) / long, 0, 1)
        nearest = np.hypot(*(begin + way * along[:, None] - point).T).min()
        farthest = max(farthest, nearest)
    return farthest


def test_the_strips_line_leaves_out_only_what_lies_on_it(picture):
    """Every point of a run lies on the drawn line to a sixth of a pixel; of a flat one two stay."""
    found = picture().evaluate(_CURVE)
    line, every = np.array(found["drawn"]), np.array(found["every"])
    assert len(line) < len(every) / 2
    assert np.all(np.diff(line[:, 0]) >= 0)
    assert _beside(every, line) < 0.17
    assert found["flat"] == "M0.0,7.0L10.0,7.0"
    assert found["one"] == ""


@pytest.mark.parametrize(("most", "top"), [(19, "20"), (21, "40"), (40, "40"), (64, "80")])
def test_the_strips_scale_steps(picture, most, top):
    """The end of the scale is the next of its steps above the highest pressure in sight."""
    page = picture()
    page.evaluate("""(most) => bench.strip(
      [0, 1, 2].map((time) => ({ time, manometer: time === 1 ? most : 5, volume: 0, held: false }))
    )""", most)  # fmt: skip
    expect(page.locator(".tpiece-bench-track")).to_have_attribute("data-top", top)


def test_the_volume_has_a_strip_of_its_own_on_request(picture):
    """It comes, and goes again, in millilitres."""
    page = picture()
    page.evaluate(f"bench.strip(({STEP})(), {{ volume: true }})")
    expect(page.locator(".tpiece-bench-track")).to_have_count(2)
    expect(page.get_by_text("Volume in the lung, mL")).to_be_visible()
    expect(page.get_by_role("img", name="Volume from 10 to 30 mL.")).to_be_visible()
    page.evaluate(f"bench.strip(({STEP})())")
    expect(page.locator(".tpiece-bench-track")).to_have_count(1)


def test_with_reduced_motion_the_strip_does_not_scroll(picture):
    """Within a stretch of seconds only the curve grows; without the wish it scrolls."""
    moved = []
    for wish in ("reduce", "no-preference"):
        page = picture(reduced_motion=wish)
        places = [
            page.evaluate(f"""(now) => {{
              bench.strip(({STEP})().filter(({{ time }}) => time <= now), {{ now }});
              return [...document.querySelectorAll(".tpiece-bench-seconds text")]
                .map((text) => text.textContent + text.getBoundingClientRect().x);
            }}""", now)
            for now in (12.1, 12.4)
        ]  # fmt: skip
        moved.append(places[0] != places[1])
    assert moved == [False, True]


STATES = [
    ({"outlet": "capped", "held": True}, ["occluded", "Patient outlet", "cap on"]),
    ({"outlet": "open", "held": False}, ["released", "Patient outlet", "open"]),
    ({"outlet": "lung", "held": False}, ["released", "mask on the baby", "Mask leak"]),
]


@pytest.mark.parametrize("width", [1280, 400])
@pytest.mark.parametrize(("view", "words"), STATES, ids=["capped", "open", "lung"])
def test_the_schematic_says_its_state_in_words(picture, view, words, width):
    """The aperture and the outlet are named in the drawing, and in its name for a reader."""
    page = picture(viewport={"width": width, "height": 800})
    page.evaluate("(view) => { bench.look('schematic'); show(view) }", view)
    drawing = page.locator(".tpiece-bench-drawing:visible")
    expect(drawing).to_have_count(1)
    for word in words:
        expect(drawing.get_by_text(word, exact=True)).to_be_visible()
    hidden = {"occluded", "released", "cap on", "open", "mask on the baby"} - set(words)
    for word in hidden:
        expect(drawing.get_by_text(word, exact=True)).to_be_hidden()
    name = page.locator(".tpiece-bench-schematic").get_attribute("aria-label")
    assert name.endswith(f"Now: {words[0]}, {words[1 if view['outlet'] == 'lung' else 2]}.")


def test_knobs_and_the_float_stand_where_the_controls_stand(picture):
    """A knob's line turns from end to end, and the float rises with the flow's position."""
    page = picture(viewport={"width": 1280, "height": 800})
    read = """() => {
      const drawing = document.querySelector(".tpiece-bench-wide");
      const turns = [...drawing.querySelectorAll(".tpiece-bench-knobline")]
        .map((line) => line.getAttribute("transform"));
      return [turns, drawing.querySelector(".tpiece-bench-float").getBoundingClientRect().y];
    }"""
    page.evaluate("bench.look('schematic'); show({})")
    turns, low = page.evaluate(read)
    assert set(turns) == {"rotate(-135.0)"}
    full = {name: dial["clicks"] for name, dial in DIALS.items()}
    page.evaluate("(positions) => show({ positions })", full)
    turns, high = page.evaluate(read)
    assert set(turns) == {"rotate(135.0)"}
    assert low - high > 40


def test_a_frame_costs_little(picture, capsys):
    """Needle, drawing and a strip of 1000 points take under 4 ms of a frame in the median."""
    page = picture(chest={"low": 4, "high": 8}, viewport={"width": 1280, "height": 800})
    costs = page.evaluate("""async () => {
      const [history, costs] = [[], []];
      for (let n = 0; n < 1120; n += 1) {
        const [time, held] = [n / 100, (n / 60) % 1 < 0.5];
        const view = { time, held, manometer: held ? 25 - n / 100 : 5, volume: 10 + n / 100,
          outlet: "lung" };
        history.push({ ...at, ...view });
        if (n < 1000) continue;
        await new Promise(requestAnimationFrame);
        const start = performance.now();
        show(view);
        bench.strip(history);
        costs.push(performance.now() - start);
      }
      return costs;
    }""")
    with capsys.disabled():
        print(f"\n  a frame of the bench's picture: {median(costs):.2f} ms in the median")
    assert len(costs) == 120
    assert median(costs) < 4
