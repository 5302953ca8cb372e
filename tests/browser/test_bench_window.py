"""All a hand needs at the bench is in one window; the picture is turned where its parts are."""

from __future__ import annotations

import math
from statistics import median

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench_page import bench, dial, hold, kinds, record, stands, use

# In CSS pixels: a page beside its frame, tablets, a phone both ways, and three at 200 %.
SIZES = [
    (1280, 720), (1180, 600), (1024, 768), (820, 1180), (390, 844), (844, 390),
    (640, 360), (512, 384), (410, 590),
]  # fmt: skip
DIALS = ["Flow", "PIP control", "Maximum pressure relief", "PEEP control", "Mask leak"]

# Whether what matters is whole in the window, and nothing lies over its middle.
SEEN = """() => {
  const wanted = {
    gauge: ".tpiece-bench-gauge", chest: ".tpiece-bench-chest", hold: ".tpiece-hold",
    turned: ".tpiece-bench-dial:focus-within",
  };
  return Object.fromEntries(Object.entries(wanted).map(([name, find]) => {
    const node = document.querySelector(find);
    const box = node.getBoundingClientRect();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const inside = box.left >= -0.5 && box.top >= -0.5 && box.width > 20 && box.height > 15
      && box.right <= innerWidth + 0.5 && box.bottom <= innerHeight + 0.5;
    const over = document.elementFromPoint(x, y);
    const own = node.contains(over) || over?.closest("svg") === node.closest("svg");
    const seen = inside && Boolean(over) && own;
    return [name, seen ? "seen" : `${JSON.stringify(box)} ${over?.outerHTML}`];
  }));
}"""


def on_the_baby(live, **more):
    """Return a bench with the mask on a baby whose chest has a band."""
    return live(bench(bench=stands("lung"), chest={"low": 4, "high": 8}), **more)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_gauge_chest_control_and_hole_are_in_one_window(live, width, height):
    """Whichever control has the focus, nothing needs scrolling and nothing is covered."""
    page = on_the_baby(live, viewport={"width": width, "height": height})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for name in DIALS:
        dial(page, name).focus()
        page.keyboard.press("ArrowUp")
        assert set(page.evaluate(SEEN).values()) == {"seen"}, (name, page.evaluate(SEEN))
    gauge = page.locator(".tpiece-bench-gauge").bounding_box()
    assert gauge["width"] >= 130


def test_the_stage_fits_a_page_inside_a_page(live):
    """Where a host scrolls a part of its window, that part is what the stage fits."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    page.evaluate("""() => {
      const main = document.querySelector("main");
      main.style.cssText = "height: 560px; overflow: auto";
      dispatchEvent(new Event("resize"));
    }""")
    page.wait_for_function("document.querySelector('.tpiece-bench-stage').clientHeight < 560")
    dial(page, "PIP control").focus()
    page.keyboard.press("ArrowUp")
    assert set(page.evaluate(SEEN).values()) == {"seen"}


@pytest.mark.parametrize("width", [320, 390, 640, 844, 1024, 1280, 1920])
def test_the_gauges_marks_come_by_whole_classes(live, width):
    """Every mark of a class is shown or none, so that marks stand evenly at every size."""
    page = on_the_baby(live, viewport={"width": width, "height": 700})
    shown = page.evaluate("""() => Object.fromEntries(["ten", "five", "one"].map((kind) => {
      const marks = [...document.querySelectorAll(`.tpiece-bench-mark-${kind}`)];
      return [kind, [marks.length, marks.filter((one) => one.getClientRects().length).length]];
    }))""")
    assert shown["ten"] == [9, 9]
    assert shown["five"] == [8, 8]
    assert shown["one"] in ([64, 64], [64, 0])


def grip(page: Page, name: str) -> tuple[float, float]:
    """Return the middle of a part that can be turned in the picture."""
    box = page.locator(f".tpiece-bench-grip[data-dial={name}]").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def around(page: Page, name: str, turns: float) -> None:
    """Drag a part of the picture around its middle."""
    x, y = grip(page, name)
    place = [(x + 14 * math.sin(a), y - 14 * math.cos(a)) for a in
             (2 * math.pi * turns * n / 40 for n in range(41))]  # fmt: skip
    page.mouse.move(*place[0])
    page.mouse.down()
    for at in place:
        page.mouse.move(*at)
    page.mouse.up()


def says(page: Page, name: str) -> str:
    """Return how far a control is turned, in words."""
    return dial(page, name).get_attribute("aria-valuetext") or ""


def test_a_part_is_turned_around_where_it_is(live):
    """A turn by hand is a turn of the control; its slider has the focus then, for keys."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    around(page, "pip", 1.5)
    assert says(page, "PIP control") == "4.00 of 12 turns"
    expect(dial(page, "PIP control")).to_be_focused()
    around(page, "pip", -2)
    assert says(page, "PIP control") == "2.00 of 12 turns"
    around(page, "flow", 0.5)
    assert says(page, "Flow") == "10.5 L/min"
    use(page)
    assert set(kinds(record(page))) == {"pip", "flow"}


def test_the_mask_is_drawn_up_from_the_face(live):
    """Up leaks more, down seals."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    x, y = grip(page, "leak")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 34)
    page.mouse.up()
    assert says(page, "Mask leak") == "about three quarters"


def test_the_wheel_turns_only_what_has_the_focus(live):
    """A page that is scrolled past a bench changes nothing on it."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    page.mouse.move(*grip(page, "pip"))
    page.mouse.wheel(0, -100)
    page.wait_for_timeout(100)
    assert says(page, "PIP control") == "2.50 of 12 turns"
    dial(page, "PIP control").focus()
    page.mouse.move(*grip(page, "pip"))
    page.mouse.wheel(0, -100)
    page.wait_for_function("""() => document.querySelector("[aria-valuetext^='2.55']")""")


def test_a_control_is_turned_by_typing(live):
    """A number and Enter; what is typed is seen; leaving the control drops it."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    dial(page, "PIP control").focus()
    page.keyboard.type("3.5")
    assert says(page, "PIP control") == "2.50 of 12 turns"
    page.keyboard.press("Enter")
    assert says(page, "PIP control") == "3.50 of 12 turns"
    page.keyboard.type("9")
    page.keyboard.press("Tab")
    assert says(page, "PIP control") == "3.50 of 12 turns"
    dial(page, "Flow").focus()
    page.keyboard.type("10")
    page.keyboard.press("Enter")
    assert says(page, "Flow") == "10 L/min"


def test_one_bench_has_three_views(live):
    """Picture, schematic and words show the same moment; the gauge stays."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(600)
    page.get_by_role("radio", name="Words").check()
    told = page.locator(".tpiece-bench-words")
    expect(told).to_contain_text("The hole (aperture)covered (occluded)")
    expect(told).to_contain_text("PIP valveopen:")
    expect(page.get_by_role("meter")).to_be_visible()
    page.get_by_role("radio", name="Schematic").check()
    expect(page.locator(".tpiece-bench-schematic")).to_be_visible()
    expect(page.locator(".tpiece-bench-picture")).to_be_hidden()
    page.get_by_role("radio", name="Picture").check()
    expect(page.locator(".tpiece-bench-picture")).to_be_visible()


def test_with_reduced_motion_gas_is_lines_with_widths(live):
    """No row of dots moves: a wide arrow where much gas goes, a thin line where little does."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720}, reduced_motion="reduce")
    dial(page, "Flow").press("ArrowUp")
    page.wait_for_timeout(300)
    ways = page.evaluate("""() => Object.fromEntries([...document.querySelectorAll("[data-way]")]
      .map((way) => [way.dataset.way, [way.getAttribute("stroke-dasharray"),
        parseFloat(way.style.strokeWidth || 0), way.getAttribute("marker-end") ?? "none"]]))""")
    assert [dots for dots, _, _ in ways.values() if dots] == []
    assert ways["aperture"][1] > 6
    assert ways["aperture"][2].startswith("url(")
    assert ways["pip"][1] == 0


# What a row of dots has moved on in a second or so, in drawing units a second.
MOVED = """(way) => new Promise((done) => {
  const node = document.querySelector(`[data-way=${way}]`);
  const at = () => -parseFloat(node.getAttribute("stroke-dashoffset"));
  let [last, begin, sum] = [at(), performance.now(), 0];
  const frame = () => {
    const now = at();
    let step = (now - last) % 14;
    if (step < -7) step += 14;
    if (step > 7) step -= 14;
    [last, sum] = [now, sum + step];
    const seconds = (performance.now() - begin) / 1000;
    if (seconds > 1.2) done([sum / seconds, Number(node.dataset.flow)]);
    else requestAnimationFrame(frame);
  };
  requestAnimationFrame(frame);
})"""


def test_dots_pass_at_the_rate_the_model_gives(live):
    """A dot is ten millilitres and dots stand 14 units apart: one litre a minute moves 23."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    dial(page, "Flow").focus()
    page.keyboard.type("1")
    page.keyboard.press("Enter")
    page.wait_for_timeout(1500)
    for way in ("supply", "limb", "aperture"):
        # A browser that stalls skips dots: of five looks, the median is at the rate.
        looks = [page.evaluate(MOVED, way) for _ in range(5)]
        speed = median(speed for speed, _flow in looks)
        assert looks[0][1] == pytest.approx(1000 / 60, rel=0.03)
        assert speed == pytest.approx(looks[0][1] / 10 * 14, rel=0.15)
    expect(page.locator("[data-way=pip]")).to_have_attribute("visibility", "hidden")


def test_a_valve_lifts_while_its_gas_leaves(live):
    """Occluded, most of the gas leaves at the PIP valve; a leak takes it from there."""
    page = on_the_baby(live, viewport={"width": 1280, "height": 720})
    expect(page.locator("[data-open]")).to_have_count(0)
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(1500)
    expect(page.locator("[data-open]")).to_have_count(1)
    expect(page.locator("[data-way=pip]")).to_have_attribute("visibility", "visible")
    expect(page.locator("[data-way=aperture]")).to_have_attribute("visibility", "hidden")
    dial(page, "Mask leak").press("End")
    page.wait_for_timeout(1500)
    expect(page.locator("[data-way=leak]")).to_have_attribute("visibility", "visible")
    expect(page.locator("[data-open]")).to_have_count(0)
    assert hold(page).is_visible()
