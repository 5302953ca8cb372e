"""A trial in a bare browser: by keys or touch alone, what it shows, keeps and never tells."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench_page import needle
from tests.browser.control_page import axe, kept
from tests.browser.trial_page import begin, free, kinds, move, place, told, trial
from workbook.trial import NAMED, UNKNOWN, read_trial
from workbook.trial.moves import BEFORE

# A page beside its frame, a tablet, a phone both ways, and a page at 200 %.
WINDOWS = [(1280, 720), (820, 1180), (390, 844), (844, 390), (640, 360)]
SAVED = {
    "format": "tpiece-trial", "version": 1, "duration": 9_000,
    "moves": [
        [1_000, "bag"], [4_000, "look-flow"], [7_000, "name", "no-gas"], [7_000, "sure", "fairly"],
    ],
}  # fmt: skip


def read(control, record):
    """Read a record as marking does."""
    seconds = {each["id"]: each["seconds"] for each in control.moves}
    return read_trial(record, control._scene.setting, seconds, control.limit)


def saved(page: Page) -> dict:
    """Hand the trial over, wait until it is saved, and return it."""
    expect(page.locator(".tpiece-saving")).to_contain_text("Saved")
    return kept(page)[-1]


# --- from its beginning to saved


def test_a_trial_is_done_by_keys_alone(live):
    """From the first Tab to "Saved": places by arrows, the hole by Space, a name, mend, read."""
    control = trial("hose-kinked")
    page = live(control, viewport={"width": 1280, "height": 720})
    press = page.keyboard.press

    def go(name: str) -> None:
        for _ in range(40):
            press("Tab")
            said = page.evaluate("document.activeElement.textContent")
            if said.startswith(name):
                return
        raise AssertionError(f"Tab never comes to {name}")

    press("Tab")
    expect(page.get_by_role("button", name="Begin")).to_be_focused()
    press("Enter")
    page.keyboard.down("Space")
    page.wait_for_timeout(700)
    page.keyboard.up("Space")
    go("Supply")
    for _ in range(3):
        press("ArrowRight")
    expect(place(page, "Hose")).to_be_focused()
    go("Follow the hose")
    press("Enter")
    free(page)
    expect(told(page)).to_contain_text("has a kink, but is not shut")
    go("Hose")
    press("End")
    expect(place(page, "It is …")).to_be_focused()
    press("Tab")
    page.keyboard.type("The patient hose is kinked in")
    go("I am sure")
    press("Enter")
    expect(move(page, "Free the hose")).to_be_focused()
    press("Enter")
    free(page)
    press("Tab")
    press("Enter")
    free(page)
    expect(told(page)).to_contain_text("Covered 25, open 5 cmH2O.")
    go("Use this trial")
    press("Enter")
    record = saved(page)
    read(control, record)
    assert kinds(record) == [
        "occlude", "release", "follow-hose", "name", "sure", "mend", "read",
    ]  # fmt: skip
    assert record["moves"][3][2] == "hose-kinked"


def test_a_trial_is_done_by_touch_alone(live):
    """On a telephone: the part in the picture, the moves, the bag, the name."""
    control = trial("no-gas")
    page = live(control, viewport={"width": 390, "height": 844}, has_touch=True)
    move(page, "Begin").tap()
    move(page, "Take the bag").tap()
    free(page)
    expect(told(page)).to_contain_text("You ventilate with the bag. The chest rises.")
    page.locator(".tpiece-trial-place[data-part=meter]").tap()
    expect(place(page, "Flow")).to_have_attribute("aria-selected", "true")
    move(page, "Look at the flow meter").tap()
    free(page)
    place(page, "It is …").tap()
    page.locator(".tpiece-trial-pick").select_option("no-gas")
    move(page, "I am fairly sure").tap()
    move(page, "Connect a supply").tap()
    free(page)
    move(page, "Read both pressures again").tap()
    free(page)
    move(page, "Use this trial").first.tap()
    record = saved(page)
    read(control, record)
    assert kinds(record) == ["bag", "look-flow", "name", "sure", "mend", "read"]


# --- what it never tells


@pytest.mark.parametrize("fault", [*NAMED])
def test_no_fault_can_be_read_off_a_page(fault):
    """Two trials that differ in what is wrong alone differ in what the model shows alone."""
    setting = NAMED[fault].settings[-1]
    control, other = trial(fault, setting), trial("hose-kinked", setting)
    names = [n for n in control.traits(sync=True) if not n.startswith("_")]
    unlike = {n for n in names if getattr(control, n) != getattr(other, n)}
    unlike -= {"layout", "tabbable", "tooltip", "comm"}
    assert unlike <= {"tables", "rest", "start"}
    assert fault not in json.dumps([control.tables, control.rest, control.start])


def test_what_was_not_looked_at_is_not_seen(live):
    """Float and supply gauge show nothing before a look; no gas is drawn, no hiss is told."""
    page = live(trial("no-gas"), viewport={"width": 1280, "height": 720})
    begin(page)
    ball, gas = page.locator(".tpiece-bench-ball"), page.locator(".tpiece-bench-gases")
    expect(ball).to_be_hidden()
    expect(page.locator(".tpiece-trial-needle")).to_have_attribute("d", "")
    assert (
        page.evaluate("(node) => getComputedStyle(node).visibility", gas.element_handle())
        == "hidden"
    )
    place(page, "Flow").click()
    move(page, "Look at the flow meter").click()
    free(page)
    expect(ball).to_be_visible()
    expect(told(page)).to_contain_text("The float lies at the bottom.")
    assert float(ball.get_attribute("cy")) == pytest.approx(-12, abs=1)


def test_what_a_valve_does_is_not_seen(live):
    """Gas and valves are out of sight, as in the closed housing of a device."""
    page = live(trial("limits-fail"), viewport={"width": 1280, "height": 720})
    begin(page)
    assert page.locator(".tpiece-bench-works").count() == 2
    for works in page.locator(".tpiece-bench-works").all():
        expect(works).to_be_hidden()


def test_no_message_holds_a_null(live):
    """A browser's Python knows no null: a page leaves out what it has not."""
    page = live(trial("no-gas"), viewport={"width": 1280, "height": 720})
    begin(page)
    move(page, "Take the bag").click()
    free(page)
    place(page, "It is …").click()
    page.locator(".tpiece-trial-pick").select_option("no-gas")
    move(page, "I am sure").click()
    move(page, "Connect a supply").click()
    free(page)
    move(page, "Use this trial").first.click()
    saved(page)
    sent = page.evaluate("kernel.sent")
    assert {"laws", "tell", "answer"} <= {each["kind"] for each in sent}
    assert "null" not in json.dumps(sent)


# --- what it costs


def test_a_move_takes_its_seconds(live):
    """While a hand is busy nothing else is taken; the record holds the time of each."""
    control = trial("hole-narrow")
    page = live(control, viewport={"width": 1280, "height": 720})
    begin(page)
    place(page, "T").click()
    move(page, "Change the T").click()
    move(page, "Call for help").click(force=True)  # not taken: the hand is busy
    free(page)
    move(page, "Call for help").click()
    free(page)
    place(page, "It is …").click()
    page.locator(".tpiece-trial-pick").select_option(UNKNOWN)
    move(page, "It is a guess").click()
    move(page, "Use this trial").first.click()
    record = saved(page)
    read(control, record)
    assert kinds(record) == ["swap-t", "call", "name", "sure"]
    swap = next(each["seconds"] for each in control.moves if each["id"] == "swap-t")
    assert record["moves"][1][0] - record["moves"][0][0] >= 1000 * swap


def test_the_heart_rate_falls_until_somebody_ventilates(live):
    """It falls after the time the rules give, and rises again with the bag."""
    control = trial("hose-blocked")
    page = live(control, viewport={"width": 1280, "height": 720})
    begin(page)
    heart = page.locator(".tpiece-trial-heart")
    expect(heart).to_contain_text("falling", timeout=1000 * (control.heart_law["waits"] + 5))
    move(page, "Take the bag").click()
    free(page)
    expect(heart).not_to_contain_text("falling")
    expect(heart).to_contain_text(f"{control.heart_law['begins']:.0f}", timeout=10_000)


def test_a_bag_that_moves_no_chest_lets_the_heart_rate_fall_until_the_airway_is_open(live):
    """The page does as the marks do: it ventilates once what lies past the bag is mended."""
    control = trial("airway-blocked")
    page = live(control, viewport={"width": 1280, "height": 720})
    begin(page)
    heart = page.locator(".tpiece-trial-heart")
    move(page, "Take the bag").click()
    free(page)
    expect(told(page)).to_contain_text("The chest does not rise either.")
    expect(heart).to_contain_text("falling", timeout=1000 * (control.heart_law["waits"] + 5))
    place(page, "Mask").click()
    move(page, "Reposition").click()
    free(page)
    expect(told(page)).to_contain_text("With the bag the chest rises now.")
    expect(heart).not_to_contain_text("falling")
    expect(heart).to_contain_text(f"{control.heart_law['begins']:.0f}", timeout=10_000)


def test_a_chest_that_cannot_empty_stays_up(live):
    """Nobody inflates, and the picture says so in words as well; with the mask off it falls."""
    page = live(trial("hole-narrow"), viewport={"width": 1280, "height": 720})
    begin(page)
    expect(page.locator(".tpiece-bench-drawing")).to_contain_text("the chest stays up")
    keep = page.get_by_role("button", name="Keep")
    keep.click()
    keep.click()
    expect(told(page)).to_contain_text("The chest stayed up.")
    move(page, "Take the mask off").click()
    free(page)
    expect(page.locator(".tpiece-bench-drawing")).not_to_contain_text("the chest stays up")


def test_a_chest_is_told_of_once_somebody_inflates(live):
    """A chest at rest is no finding; what an inflation did stands in the log, too."""
    page = live(trial("airway-blocked"), viewport={"width": 1280, "height": 720})
    begin(page)
    drawing, keep = page.locator(".tpiece-bench-drawing"), page.get_by_role("button", name="Keep")
    expect(drawing).not_to_contain_text("chest")
    keep.click()
    expect(drawing).to_contain_text("the chest does not move")
    keep.click()
    expect(told(page)).to_contain_text("The chest did not move. Heart rate")
    move(page, "Take the mask off").click()
    free(page)
    expect(drawing).not_to_contain_text("chest")


def test_nothing_past_the_scale_is_read_off(live):
    """Neither log nor strip knows a pressure that the gauge cannot show."""
    page = live(trial("limits-fail"), viewport={"width": 1280, "height": 720})
    begin(page)
    keep = page.get_by_role("button", name="Keep")
    keep.click()
    expect(page.get_by_role("meter")).to_have_attribute("aria-valuetext", "beyond the scale")
    page.wait_for_timeout(500)
    keep.click()
    expect(told(page)).to_contain_text("gauge was over 80. The gauge stands at")
    curve = page.locator(".tpiece-bench-curve-pressure").get_attribute("d")
    ups = [float(up) for up in re.findall(r",(-?[\d.]+)", curve)]
    top = page.locator(".tpiece-bench-grid path").last.get_attribute("d")
    assert min(ups) == pytest.approx(float(re.search(r",([\d.]+)H", top)[1]), abs=0.1)


def test_a_right_device_makes_the_chest_rise_and_no_further(live):
    """Only what is at fault makes a chest rise too far."""
    page = live(trial("oxygen-out"), viewport={"width": 1280, "height": 720})
    begin(page)
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(700)
    expect(page.locator(".tpiece-bench-drawing")).to_contain_text("the chest rises")
    expect(page.locator(".tpiece-bench-drawing")).not_to_contain_text("too far")


def test_what_was_is_told_as_past_and_in_the_order_of_time(live):
    """A breath that is over, a run of inflations from when to when; the strip's scale stays."""
    page = live(trial("oxygen-out"), viewport={"width": 1280, "height": 720})
    begin(page)
    drawing, keep = page.locator(".tpiece-bench-drawing"), page.get_by_role("button", name="Keep")
    title = page.locator(".tpiece-bench-strip .tpiece-bench-title")
    expect(title).to_have_text("Gauge, cmH2O, scale 0 to 40")
    for _ in range(2):
        keep.click()
        expect(drawing).to_contain_text("the chest rises")
        keep.click()
        expect(drawing).to_contain_text("the chest rose")
    place(page, "Flow").click()
    page.locator(".tpiece-trial-dials:visible button").last.click()
    move(page, "Look at the flow meter").click()
    free(page)
    lines = told(page).locator("p").all_text_contents()
    assert re.match(r"\d+\.\d to \d+\.\d s: 2 inflations", lines[0])
    assert "Flow" in lines[1]
    times = [
        float(number) for line in lines for number in re.findall(r"[\d.]+(?= (?:to|s:))", line)
    ]
    assert times == sorted(times)
    expect(title).to_have_text("Gauge, cmH2O, scale 0 to 40")


def test_the_strip_says_its_new_scale_and_keeps_it(live):
    """Where nothing limits the pressure the strip goes on to the end of the gauge, and stays."""
    page = live(trial("limits-fail"), viewport={"width": 1280, "height": 720})
    begin(page)
    keep = page.get_by_role("button", name="Keep")
    title = page.locator(".tpiece-bench-strip .tpiece-bench-title")
    keep.click()
    expect(title).to_have_text("Gauge, cmH2O, scale 0 to 80")
    keep.click()
    page.wait_for_timeout(12_000)  # longer than the strip
    expect(title).to_have_text("Gauge, cmH2O, scale 0 to 80")


def test_before_birth_there_is_no_heart_rate_and_no_baby(live):
    """The outlet is capped; its cap may come off."""
    page = live(trial("flow-high", BEFORE), viewport={"width": 1280, "height": 720})
    begin(page)
    expect(page.locator(".tpiece-trial-heart")).to_have_text("")
    expect(page.locator(".tpiece-bench-chest")).to_be_hidden()
    move(page, "Take the cap off").click()
    free(page)
    expect(move(page, "Take the cap off")).to_have_attribute("aria-pressed", "true")


@pytest.mark.parametrize("fault", ["hose-kinked", "leak-some", "needle-sticks", "flow-low"])
def test_the_needle_is_the_models(live, fault):
    """Mask on, capped, off, and after the mend: where the closed form of the model stands."""
    control = trial(fault)
    page = live(control, viewport={"width": 1280, "height": 720})
    begin(page)
    scene = control._scene
    states = [scene.start]
    for name, id in (("Cap the outlet", "cap"), ("Take the mask off", "open")):
        page.wait_for_timeout(600)
        assert needle(page) == pytest.approx(scene.needle(states[-1], held=False), abs=0.3)
        move(page, name).click()
        free(page)
        states.append(scene.after(states[-1], id))
    page.wait_for_timeout(600)
    assert needle(page) == pytest.approx(scene.needle(states[-1], held=False), abs=0.3)
    place(page, "It is …").click()
    page.locator(".tpiece-trial-pick").select_option(fault)
    move(page, "I am sure").click()
    move(page, NAMED[fault].mend).click()
    free(page)
    page.wait_for_timeout(600)
    mended = scene.after(states[-1], "mend", fault)
    assert not scene.present(mended)
    assert needle(page) == pytest.approx(scene.needle(mended, held=False), abs=0.3)


# --- kept, and shown again


def test_a_saved_trial_is_there_again_and_a_closed_one_takes_nothing(live):
    """After a reload it is told; handed in, nothing can be begun."""
    kept_answer = {"value": SAVED, "number": 1, "at": "2026-05-04T10:00:00Z"}
    page = live(trial("no-gas", saved=kept_answer))
    expect(page.get_by_text("Your saved trial: 4 moves in 9 s.")).to_be_visible()
    closed = live(trial("no-gas", saved=kept_answer, read_only=True))
    expect(move(closed, "Begin")).to_have_attribute("aria-disabled", "true")
    expect(move(closed, "Start again")).to_be_hidden()


def test_what_is_not_used_is_asked_for_before_it_is_dropped(live):
    """Starting again asks once; after it nothing was done."""
    page = live(trial("leak-large"), viewport={"width": 1280, "height": 720})
    begin(page)
    move(page, "Call for help").click()
    free(page)
    again = move(page, "Start again")
    again.click()
    expect(page.get_by_text("Choose “Start again” once more")).to_be_visible()
    again.click()
    expect(told(page)).to_have_text("What you do is answered here.")
    expect(move(page, "Begin")).to_be_focused()


def test_a_page_out_of_sight_waits(live):
    """The time stands still, and goes on when somebody says so."""
    page = live(trial("leak-large"), viewport={"width": 1280, "height": 720})
    begin(page)
    move(page, "Call for help").click()
    free(page)
    page.evaluate("""() => {
      Object.defineProperty(document, "visibilityState", { value: "hidden", configurable: true });
      document.dispatchEvent(new Event("visibilitychange"));
    }""")
    expect(page.get_by_text("Paused, because this page was out of sight.")).to_be_visible()
    was = page.locator(".tpiece-trial-clock").text_content()
    page.wait_for_timeout(1500)
    assert page.locator(".tpiece-trial-clock").text_content() == was
    move(page, "Go on").click()
    expect(page.locator(".tpiece-trial-clock")).not_to_have_text(was or "", timeout=5_000)
    assert kinds(saved(page)) == ["call"]


def test_a_kernel_that_is_late_stops_the_clock(live):
    """What a move shows is waited for; the time does not run meanwhile."""
    page = live(trial("no-gas"), viewport={"width": 1280, "height": 720})
    begin(page)
    page.evaluate("kernel.mode = 'busy'")
    place(page, "Supply").click()
    move(page, "Look at the gas supply").click()
    expect(page.get_by_text("The workbook's engine is busy")).to_be_visible(timeout=20_000)
    clock = page.locator(".tpiece-trial-clock")
    page.wait_for_timeout(2000)  # the move's own time runs to its end
    was = clock.text_content()
    page.wait_for_timeout(1500)
    assert clock.text_content() == was
    page.evaluate("kernel.mode = 'ok'")
    expect(told(page)).to_contain_text("The supply gauge stands at zero.", timeout=20_000)


# --- everybody can use it


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_all_a_hand_needs_is_in_one_window(live, width, height):
    """Gauge, chest, hole, places, moves and answers: whole in the window, whatever the place."""
    page = live(trial("leak-some"), viewport={"width": width, "height": height})
    begin(page)
    for tab in page.get_by_role("tab").all():
        tab.click()
        tab.focus()
        page.keyboard.press("Shift")
        outside = page.evaluate(OUTSIDE)
        assert outside == [], tab.text_content()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    least = 130 if height > 360 else 110
    assert page.locator(".tpiece-bench-gauge").bounding_box()["width"] >= least


OUTSIDE = """() => {
  document.querySelector(".tpiece-trial-stage").scrollIntoView({ block: "nearest" });
  const wanted = [".tpiece-bench-gauge", ".tpiece-bench-chest", ".tpiece-hold", ".tpiece-trial-log",
    ".tpiece-trial-head", ".tpiece-trial-tabs", "[data-move]", ".tpiece-trial-panel :is(button, input, select)"];
  return wanted.flatMap((find) => [...document.querySelectorAll(find)]).filter((node) => {
    const { left, top, right, bottom, width } = node.getBoundingClientRect();
    return width && (left < -1 || top < -1 || right > innerWidth + 1 || bottom > innerHeight + 1);
  }).map((node) => node.outerHTML.slice(0, 120));
}"""  # noqa: E501


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_stands_in_anybodys_way(live, axe_source, scheme):
    """Axe finds nothing, before, during and after."""
    page = live(trial("hose-off"), color_scheme=scheme)
    assert axe(page, axe_source) == []
    begin(page)
    for tab in page.get_by_role("tab").all():
        tab.click()
        assert axe(page, axe_source) == []
    page.locator(".tpiece-trial-pick").select_option("hose-off")
    move(page, "I am sure").click()
    free(page)
    assert axe(page, axe_source) == []


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_everything_to_press_is_large_enough(live, width, height):
    """Each key is at least 44 pixels high and wide enough for a finger."""
    page = live(trial("hose-off"), viewport={"width": width, "height": height})
    begin(page)
    for tab in page.get_by_role("tab").all():
        tab.click()
        boxes = [each.bounding_box() for each in page.locator(".tpiece-trial button:visible").all()]
        small = [box for box in boxes if box and (box["height"] < 43.5 or box["width"] < 24)]
        assert small == []
