"""The live bench in a browser: the needle follows the hands, by keyboard, touch and mouse."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import expect

from tests.browser.bench_page import bench, dial, hold, kinds, needle, record, stands, use
from tests.browser.control_page import axe
from tests.browser.test_controls import LOOKS
from workbook.bench import read_hands

HALF = 0.5  # of a cmH2O
NEEDLE_BELOW = """(least) =>
  parseFloat(document.querySelector(".tpiece-bench-needle").dataset.value) < least"""


def test_a_bench_is_set_by_keyboard_alone(live):
    """Space occludes, arrows turn while it is held; the needle shows PIP, and PEEP when let go."""
    page = live(bench())
    dial(page, "PIP control").focus()
    page.keyboard.down("Space")
    page.wait_for_timeout(400)
    assert needle(page) == pytest.approx(20, abs=HALF)
    for _ in range(8):
        page.keyboard.press("ArrowUp")
    page.wait_for_timeout(600)
    assert needle(page) == pytest.approx(22, abs=HALF)
    expect(dial(page, "PIP control")).to_be_focused()
    page.keyboard.up("Space")
    page.wait_for_timeout(400)
    assert needle(page) == pytest.approx(5, abs=HALF)
    use(page)
    assert kinds(record(page)) == ["occlude", *["pip"] * 8, "release"]


def test_a_held_key_that_repeats_is_one_occlusion(live):
    """The keyboard repeats a held key; a hand does not."""
    page = live(bench())
    hold(page).focus()
    for _ in range(5):  # the second and later are marked as repeats
        page.keyboard.down("Space")
    expect(hold(page)).to_have_attribute("aria-pressed", "true")
    page.keyboard.up("Space")
    expect(hold(page)).to_have_attribute("aria-pressed", "false")
    use(page)
    assert kinds(record(page)) == ["occlude", "release"]


def test_tab_moves_on_while_space_is_held(live):
    """The hold goes with the key, not with the focus; a button does not take the key's end."""
    page = live(bench())
    hold(page).focus()
    page.keyboard.down("Space")
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Keep occluded")).to_be_focused()
    page.keyboard.down("Space")  # the keyboard repeats it here
    expect(hold(page)).to_have_attribute("aria-pressed", "true")
    page.keyboard.up("Space")
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()


def test_one_hand_turns_while_the_aperture_is_kept_occluded(live):
    """A clip takes the thumb's place; Space beside it neither ends it nor begins another."""
    page = live(bench())
    page.get_by_role("button", name="Keep occluded").press("Enter")
    dial(page, "PIP control").press("PageUp")
    dial(page, "PIP control").press("Space")
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()
    expect(dial(page, "PIP control")).to_have_attribute("aria-valuetext", "3.00 of 12 turns")
    page.get_by_role("button", name="Keep occluded").press("Enter")
    use(page)
    assert kinds(record(page)) == ["occlude", "pip", "release"]


def test_space_on_a_button_is_the_buttons_own(live):
    """Plus and minus turn one click; they do not occlude."""
    page = live(bench())
    page.get_by_role("button", name="PEEP control: one click up").press("Space")
    page.get_by_role("button", name="PEEP control: one click down").press("Enter")
    use(page)
    assert [row[1:] for row in record(page)["actions"]] == [["peep", 119], ["peep", 118]]


def test_the_ends_of_a_control_are_said_in_words(live):
    """No control but the flow meter says what it makes; the gauge does."""
    page = live(bench())
    dial(page, "PIP control").press("End")
    expect(dial(page, "PIP control")).to_have_attribute(
        "aria-valuetext", "turned fully up: no limit"
    )
    dial(page, "PIP control").press("Home")
    expect(dial(page, "PIP control")).to_have_attribute("aria-valuetext", "turned right down")
    dial(page, "Flow").press("PageDown")
    expect(dial(page, "Flow")).to_have_attribute("aria-valuetext", "3 L/min")
    for words in page.locator(".tpiece-bench-dials").all_inner_texts():
        assert "cmH2O" not in words


def test_a_mouse_holds_and_a_button_kept_down_turns_on(live):
    """The pointer stays with the button; other buttons of the mouse do nothing."""
    page = live(bench())
    hold(page).hover()
    page.mouse.down(button="right")
    page.mouse.up(button="right")
    page.mouse.down()
    page.mouse.move(3, 3)
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()
    page.mouse.up()
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()
    page.get_by_role("button", name="Flow: one click up").hover()
    stood = int(dial(page, "Flow").input_value())
    page.mouse.down()
    page.wait_for_function(
        "([slider, least]) => slider.valueAsNumber >= least",
        arg=[dial(page, "Flow").element_handle(), stood + 3],
    )
    page.mouse.up()
    use(page)
    done = kinds(record(page))
    assert done[:2] == ["occlude", "release"]
    assert 3 <= done.count("flow") == len(done) - 2


def test_a_finger_holds_while_another_turns(live):
    """Two fingers at once: the thumb on the aperture, a finger on plus."""
    page = live(bench(), has_touch=True, viewport={"width": 820, "height": 1100})
    client = page.context.new_cdp_session(page)
    hold(page).scroll_into_view_if_needed()

    def point(name: str, id: int) -> dict[str, float]:
        box = page.get_by_role("button", name=name).bounding_box()
        return {"x": box["x"] + 20, "y": box["y"] + 20, "id": id}

    def touch(kind: str, *points: dict[str, float]) -> None:
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    thumb, finger = point("Cover the hole", 0), point("PIP control: one click up", 1)
    touch("touchStart", thumb)
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()
    touch("touchStart", thumb, finger)
    touch("touchEnd", finger)
    turned = re.compile(r"2\.[5-9]\d of 12 turns")  # a finger that stays turns on
    expect(dial(page, "PIP control")).to_have_attribute("aria-valuetext", turned)
    expect(page.get_by_text("Hole (aperture): occluded")).to_be_visible()
    touch("touchEnd")
    expect(page.get_by_text("Hole (aperture): released")).to_be_visible()


def test_the_outlet_is_chosen_and_the_leak_follows(live):
    """Off the cap and onto the baby; a leak lowers the needle while occluded."""
    page = live(bench(outlets=["capped", "lung"]))
    page.get_by_label("Mask on the baby").check()
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(1200)
    sealed = needle(page)
    dial(page, "Mask leak").press("End")
    page.wait_for_function(NEEDLE_BELOW, arg=sealed - 5)
    expect(page.get_by_label("Open to the air")).to_have_count(0)


def test_a_control_that_does_nothing_is_not_shown(live):
    """Without a face there is no leak to turn, and one outlet is no choice."""
    page = live(bench(outlets=["capped"]))
    expect(dial(page, "Mask leak")).to_have_count(0)
    expect(page.get_by_role("group", name="Patient outlet")).to_have_count(0)


def test_press_to_needle_takes_no_more_than_a_frame_and_one(live):
    """From the event's own time to the frame in which the needle has moved."""
    page = live(bench())
    hold(page).press("Space")
    page.wait_for_timeout(300)
    taken = page.evaluate(
        """() => new Promise((done) => {
          const needle = document.querySelector(".tpiece-bench-needle");
          const all = [];
          const once = () => {
            const frames = [];
            let stamp = null;
            const before = needle.dataset.value;
            const look = () => {
              frames.push(performance.now());
              if (needle.dataset.value !== before) {
                all.push(frames.filter((frame) => frame > stamp).length);
                document.dispatchEvent(new KeyboardEvent("keyup", { key: " ", bubbles: true }));
                return all.length < 10 ? setTimeout(once, 400) : done(all);
              }
              requestAnimationFrame(look);
            };
            const key = new KeyboardEvent("keydown", { key: " ", bubbles: true, cancelable: true });
            stamp = key.timeStamp;
            document.querySelector(".tpiece-hold").dispatchEvent(key);
            requestAnimationFrame(look);
          };
          once();
        })"""
    )
    assert max(taken) <= 2, taken


def test_the_gauge_is_read_aloud_when_asked(live):
    """G inside the bench, or its button; nothing is said by itself."""
    page = live(bench())
    said = page.locator(".tpiece-bench-reading")
    expect(said).to_be_empty()
    dial(page, "Flow").press("g")
    expect(said).to_have_text("Gauge 5.")
    page.get_by_role("button", name="Keep occluded").click()
    page.wait_for_timeout(400)
    page.get_by_role("button", name="Read the gauge").click()
    expect(said).to_have_text("Gauge 20.")


def test_the_log_tells_a_rhythm_together(live):
    """What follows closely is one line; a line ends with what the gauge shows."""
    page = live(bench())
    hold(page).focus()
    for _ in range(3):
        page.keyboard.down("Space")
        page.wait_for_timeout(150)
        page.keyboard.up("Space")
        page.wait_for_timeout(150)
    lines = page.get_by_role("log").locator("p")
    says = "^0.0 s: aperture occluded 3 times, the last to 20 on the gauge. The gauge stands at 5.$"
    expect(lines).to_have_text([re.compile(says)])
    page.get_by_label("Open to the air").check()
    expect(lines.nth(1)).to_contain_text("patient outlet: Open to the air")


def test_numbers_tell_the_last_inflation(live):
    """The needle at the inflation's end, and before it."""
    page = live(bench())
    page.get_by_text("Numbers").click()
    hold(page).focus()
    for _ in range(3):
        page.keyboard.down("Space")
        page.wait_for_timeout(300)
        page.keyboard.up("Space")
        page.wait_for_timeout(300)
    numbers = page.locator(".tpiece-bench-numbers")
    expect(numbers).to_contain_text("PIP of the last inflation20 cmH2O")
    expect(numbers).to_contain_text("PEEP before it5 cmH2O")
    expect(numbers).to_contain_text(re.compile(r"Rate\d+ per minute"))


def test_only_what_is_offered_is_shown(live):
    """A question may leave out the volume, the numbers, the log, slow motion and the replay."""
    page = live(bench(offers=[]))
    for words in ("Numbers", "What happened", "Show the volume too", "Replay the run", "Speed"):
        expect(page.get_by_text(words)).to_have_count(0)


def test_a_quarter_of_the_speed_makes_a_quarter_of_the_bench_time(live):
    """The record is in bench time."""
    page = live(bench())
    page.get_by_label("quarter").check()
    begun = time.monotonic()
    hold(page).press("Space")
    page.wait_for_timeout(1000)
    use(page)
    assert 0.2 < record(page)["duration"] <= 0.3 * (time.monotonic() - begun)


def test_a_chest_comes_down_as_it_empties(live):
    """Let go, it stands as high as the lung is full, also where the next inflation comes early."""
    page = live(bench(bench=stands("lung"), chest={"low": 4, "high": 8}))
    page.evaluate(
        """() => {
          const chest = document.querySelector(".tpiece-bench-chest");
          globalThis.tops = []; // of the chest, the lower the number the higher it is
          const look = () => (tops.push(Number(chest.getAttribute("d").match(/50,([\\d.]+)/)[1])),
            requestAnimationFrame(look));
          look();
        }"""
    )
    hold(page).focus()
    for pause in (150, 900):  # the second comes before the lung has emptied
        page.keyboard.down("Space")
        page.wait_for_timeout(600)
        page.keyboard.up("Space")
        page.wait_for_timeout(pause)
    tops = page.evaluate("tops")
    high, down = min(tops), max(tops)
    full = [n for n, top in enumerate(tops) if top < high + 3]
    after = tops[full[-1] :]
    assert down - high > 8, (high, down)
    assert sum(high + 3 < top < down - 0.5 for top in after[:12]) >= 3, after[:12]
    assert tops[-1] > down - 1.5, tops[-20:]
    between = tops[full[0] : full[-1]]
    assert high + 3 < max(between) < down - 1, between


def test_an_educators_lung_changes_the_needles_way(live):
    """The room answers first; a run with another lung is not an answer."""
    page = live(bench(bench=stands("lung"), educator=True))
    page.get_by_role("button", name="Keep occluded").click()
    page.get_by_label("The lung").select_option("Stiff")
    page.get_by_role("button", name="Show it").click()
    page.wait_for_timeout(500)
    page.get_by_role("button", name="Use this run as my answer").click()
    expect(page.get_by_text("The lung was changed, or something")).to_be_visible()
    expect(page.get_by_role("slider", name="Mask leak")).to_have_count(0)
    expect(page.get_by_role("combobox", name="Mask leak")).to_be_visible()


def test_an_educator_plants_what_is_wrong_and_the_room_finds_it(live):
    """By name: a hose kinked shut keeps the needle at PIP, hole open. Hidden: told when asked."""
    page = live(bench(educator=True))
    wrong = page.get_by_role("combobox", name="What is wrong")
    shows = page.get_by_role("button", name="Show it")
    tells = page.get_by_role("button", name="Tell what is wrong")
    before = needle(page)
    wrong.select_option("The hose is kinked shut")
    expect(tells).to_be_hidden()
    assert needle(page) == pytest.approx(before, abs=0.5)
    shows.press("Enter")
    page.wait_for_function(
        "(was) => Number(document.querySelector('.tpiece-bench-needle').dataset.value) > was + 5",
        arg=before,
    )
    wrong.select_option("Nothing")
    shows.press("Enter")
    wrong.select_option("One fault, hidden: find it")
    shows.press("Enter")
    names = wrong.locator("option").all_inner_texts()[2:]
    told = page.locator(".tpiece-bench-educator .tpiece-bench-keys [role=status]")
    expect(told).to_be_empty()
    tells.press("Enter")
    assert told.inner_text() in names
    page.get_by_role("button", name="Use this run as my answer").click()
    expect(page.get_by_text("or something was made wrong")).to_be_visible()
    wrong.select_option("Nothing")
    shows.press("Enter")
    expect(tells).to_be_hidden()


def test_a_supply_that_is_planted_empty_lowers_the_float(live):
    """A room that looks at the flow meter sees why; a hose that came off leaves the float up."""
    page = live(bench(educator=True))
    wrong = page.get_by_role("combobox", name="What is wrong")
    ball = page.locator(".tpiece-bench-ball").first

    def stands() -> float:
        return ball.evaluate(
            "(n) => n.getBoundingClientRect().y - n.ownerSVGElement.getBoundingClientRect().y"
        )

    def planted(name: str) -> float:
        wrong.select_option(name)
        page.get_by_role("button", name="Show it").press("Enter")
        page.wait_for_timeout(600)
        return stands()

    before = stands()
    assert planted("The patient hose is off the device") == pytest.approx(before, abs=1)
    assert planted("No gas: the supply is empty") > before + 20
    assert planted("Nothing") == pytest.approx(before, abs=1)


@pytest.mark.parametrize("width", [320, 400, 640, 820])
def test_a_narrow_page_does_not_scroll_sideways(live, width):
    """Every control has its 44 pixels, and room."""
    room = bench(bench=stands("lung"), educator=True)
    page = live(room, viewport={"width": width, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") == width
    for button in page.locator(".tpiece-bench button:visible").all():
        box = button.bounding_box()
        assert min(box["width"], box["height"]) >= 44


@pytest.mark.parametrize("look", LOOKS)
def test_no_serious_accessibility_violation(live, axe_source, look):
    """With every part in sight, axe-core finds nothing serious."""
    page = live(bench(bench=stands("lung"), chest={"low": 4, "high": 8}), **look)
    hold(page).press("Space")
    page.get_by_text("Numbers").click()
    page.get_by_label("Show the volume too").check()
    assert axe(page, axe_source) == []


@pytest.mark.parametrize(("width", "height"), [(1280, 900), (1280, 720), (820, 1180), (390, 844)])
def test_a_strip_of_the_volume_leaves_that_of_the_pressure_its_room(live, width, height):
    """Each curve has room: an inflation is drawn upwards, by more than a line is thick."""
    page = live(bench(bench=stands("lung")), viewport={"width": width, "height": height})
    page.get_by_label("Show the volume too").check()
    hold(page).focus()
    page.keyboard.down("Space")
    page.wait_for_timeout(700)
    for kind in ("pressure", "volume"):
        curve = page.locator(f".tpiece-bench-curve-{kind}")
        ups = [float(point.split(",")[1]) for point in curve.get_attribute("d")[1:].split("L")]
        assert ups[0] - ups[-1] > 10, (kind, ups[0], ups[-1])


def test_what_is_saved_is_what_the_workbook_reads(live):
    """Times to a tenth of a millisecond, positions whole."""
    page = live(bench())
    dial(page, "Maximum pressure relief").press("PageUp")
    hold(page).press("Space")
    use(page)
    run = read_hands(record(page))
    assert [touch.kind for touch in run.touches] == ["relief", "occlude", "release"]
    assert all(round(touch.time, 4) == touch.time for touch in run.touches)
