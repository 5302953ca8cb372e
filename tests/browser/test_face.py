"""Laying a mask on a face in a browser: by mouse, touch and keyboard, to scale, saved."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import kept
from tests.browser.face_page import (
    LAID,
    choose,
    drag,
    face,
    marks,
    mask,
    middle,
    placed,
    scale,
    where,
    wide,
)
from tests.browser.steps import status
from workbook.face.fit import answer, drawing
from workbook.face.mask import Face as Drawn
from workbook.face.mask import Mask, offered

# --- to scale


@pytest.mark.parametrize("width", [1280, 820, 400])
@pytest.mark.parametrize("size", [36, 52, 68])
def test_a_mask_is_as_wide_as_its_size_on_the_ruler(lay, width, size):
    """Read back from the page: the mask's width and the ruler's marks agree to half a percent."""
    page = lay(viewport={"width": width, "height": 900})
    choose(page, size)
    for axis in "xy":
        at = marks(page, axis)
        first, last = min(at), max(at)
        per_mm = (at[last] - at[first]) / (last - first)
        assert wide(page) / per_mm == pytest.approx(size, rel=0.005)


def test_a_placed_mask_lies_where_its_numbers_say(lay):
    """The middle of the mask stands at its x and y on both rulers, read from the marks."""
    page = lay(face(saved={**LAID, "value": answer(Mask(44, -10, 20))}))
    x, y = middle(page)
    assert (x - marks(page, "x")[0]) / scale(page) == pytest.approx(-10, abs=0.1)
    assert (y - marks(page, "y")[0]) / scale(page) == pytest.approx(20, abs=0.1)


# --- three ways to move it


def test_a_mask_is_chosen_laid_and_turned_by_keyboard_alone(lay):
    """Space chooses, Tab reaches the mask, arrows and page keys move it, the slider turns it."""
    page = lay()
    expect(status(page)).to_have_text("Not answered yet: choose a mask and lay it on the face.")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Tab")
    expect(mask(page)).to_be_focused()
    x, y = placed(page)
    for key in (*["Shift+ArrowLeft"] * 8, *["PageUp"] * 6, "ArrowUp"):
        page.keyboard.press(key)
    page.get_by_role("slider", name="Turn the notch").focus()
    page.keyboard.press("ArrowRight")
    expect(mask(page)).to_have_attribute("aria-label", re.compile("notch 5 degrees to the right"))
    page.wait_for_function("kernel.kept.at(-1)?.turn === 5")
    expect(status(page)).to_contain_text("Saved at")
    assert kept(page)[-1] == answer(Mask(44, x - 40, y - 31, 5))


def test_each_key_moves_the_mask_as_far_as_it_says(lay):
    """Arrow keys 1 mm, with Shift 5 mm; page keys 5 mm up and down."""
    page = lay(face(saved=LAID))
    mask(page).focus()
    moves = {
        "ArrowUp": (0, -1), "ArrowDown": (0, 1), "ArrowLeft": (-1, 0), "ArrowRight": (1, 0),
        "Shift+ArrowUp": (0, -5), "Shift+ArrowRight": (5, 0), "PageUp": (0, -5),
        "PageDown": (0, 5),
    }  # fmt: skip
    x, y = 0, 27
    for key, (right, down) in moves.items():
        page.keyboard.press(key)
        x, y = x + right, y + down
        expect(page.get_by_label("Right of the midline, mm")).to_have_value(str(x))
        expect(page.get_by_label("Below the groove, mm")).to_have_value(str(y))
    expect(status(page)).to_contain_text("Saved")
    assert (kept(page)[-1]["x"], kept(page)[-1]["y"]) == (x, y)
    assert len(kept(page)) == 1  # one answer once the mask rests, not one for each key


def test_the_mouse_drags_the_mask_as_far_as_it_moves(lay):
    """Half a millimetre is the finest step; letting go saves at once."""
    page = lay()
    choose(page)
    x, y = placed(page)
    drag(page, -35, -30)
    expect(status(page)).to_have_attribute("data-number", "2")
    assert kept(page) == [answer(Mask(52, x - 35, y - 30))]


def test_the_other_buttons_of_the_mouse_move_nothing(lay):
    """A menu may open; the mask stays."""
    page = lay(face(saved=LAID))
    drag(page, 10, 10, button="right")
    expect(page.get_by_label("Right of the midline, mm")).to_have_value("0")
    assert kept(page) == []


def test_a_finger_drags_the_mask(lay):
    """A touch moves the mask and not the page; a second finger changes nothing."""
    page = lay(face(saved=LAID), has_touch=True, viewport={"width": 400, "height": 800})
    client = page.context.new_cdp_session(page)
    mask(page).scroll_into_view_if_needed()
    (x, y), per_mm = middle(page), scale(page)

    def touch(kind, *points):
        points = [{"x": px, "y": py, "id": n} for n, (px, py) in enumerate(points)]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    scrolled = page.evaluate("scrollY")
    touch("touchStart", (x, y))
    touch("touchMove", (x, y + 5 * per_mm))
    touch("touchMove", (x, y + 10 * per_mm))
    touch("touchEnd")
    expect(status(page)).to_have_attribute("data-number", "2")
    assert kept(page)[-1]["y"] == 37
    assert page.evaluate("scrollY") == scrolled


def test_buttons_and_fields_move_the_mask_too(lay):
    """Nobody has to drag: four buttons, and numbers with a point, a comma or a minus sign."""
    page = lay(face(saved=LAID))
    page.get_by_role("button", name="Up 1 mm").click()
    page.get_by_role("button", name="Right 1 mm").click()
    expect(mask(page)).to_have_attribute(
        "aria-label",
        "Mask 52 mm, its middle 26 mm below the groove above the nose, "
        "1 mm right of the midline; notch towards the crown.",
    )
    page.get_by_label("Right of the midline, mm").fill("\u22122,5")
    page.get_by_label("Below the groove, mm").fill("24.5")
    expect(status(page)).to_contain_text("Saved")
    assert (kept(page)[-1]["x"], kept(page)[-1]["y"]) == (-2.5, 24.5)


def test_what_is_no_number_stays_in_its_field_and_moves_nothing(lay):
    """One sentence says so once the field is left; the mask keeps its place."""
    page = lay(face(saved=LAID))
    field = page.get_by_label("Right of the midline, mm")
    field.fill("left")
    field.press("Tab")
    expect(page.get_by_text("This is no number of mm; the mask stays where it is.")).to_be_visible()
    expect(field).to_have_value("left")
    expect(field).to_have_attribute("aria-invalid", "true")
    assert "on the midline" in mask(page).get_attribute("aria-label")
    assert kept(page) == []


# --- what is an answer


def test_a_mask_only_chosen_is_no_answer_yet(lay):
    """It lies beside the face until it is moved, and the page says what to do."""
    page = lay()
    expect(mask(page)).to_have_count(0)
    expect(page.get_by_role("button", name="Up 1 mm")).to_have_attribute("aria-disabled", "true")
    choose(page, 44)
    expect(page.locator(".tpiece-face-now")).to_have_text(
        "The mask of 44 mm lies beside the face. Now lay it on the face."
    )
    page.wait_for_timeout(1000)
    assert page.evaluate("kernel.sent") == []
    expect(status(page)).to_have_text("Not answered yet: choose a mask and lay it on the face.")


# Whether the whole mask lies in the picture and none of it on the face.
BESIDE = """() => {
  const box = (find) => document.querySelector(find).getBoundingClientRect();
  const [mask, frame] = [box(".tpiece-mask-edge"), box(".tpiece-ruler-frame")];
  const inside = mask.left >= frame.left && mask.right <= frame.right
    && mask.top >= frame.top && mask.bottom <= frame.bottom;
  const face = document.querySelector("ellipse.tpiece-baby-skin").getBoundingClientRect();
  const middle = (one) => [one.left + one.width / 2, one.top + one.height / 2];
  const [[x, y], [cx, cy]] = [middle(mask), middle(face)];
  const free = Array.from({ length: 90 }, (_, n) => (Math.PI * n) / 45).every((turn) => {
    const [across, down] = [Math.cos(turn), Math.sin(turn)].map((n) => (n * mask.width) / 2);
    return Math.hypot((x + across - cx) / face.width, (y + down - cy) / face.height) >= 0.49;
  });
  return [inside, free];
}"""


@pytest.mark.parametrize("width", [1280, 820, 400, 320])
@pytest.mark.parametrize("length", [30.0, 46.0, 57.0])
def test_a_chosen_mask_lies_whole_beside_the_face(lay, width, length):
    """To scale, in the picture, not on the face, and in sight at once; so at every size."""
    made = face(face=drawing(Drawn(length)))
    page = lay(made, viewport={"width": width, "height": 800})
    for size in offered():
        choose(page, int(size))
        assert page.evaluate(BESIDE) == [True, True], size
    expect(page.locator(".tpiece-mask")).to_be_in_viewport(ratio=0.99)


def test_a_mask_beside_the_face_stays_there_when_the_window_changes(lay):
    """On a page that becomes narrow it waits above the face; nothing was laid, nothing is saved."""
    page = lay(viewport={"width": 1280, "height": 900})
    choose(page, 52)
    page.set_viewport_size({"width": 390, "height": 900})
    page.wait_for_function("document.querySelector('.tpiece-baby').clientWidth < 420")
    page.wait_for_function(f"({BESIDE})().every(Boolean)")
    assert page.evaluate("kernel.sent") == []


def test_the_focus_is_a_ring_around_the_mask_with_the_ways_it_goes(lay):
    """Seen only with the keyboard's focus; it turns with no notch."""
    page = lay(face(saved={**LAID, "value": answer(Mask(52, 0, 27, 35))}))
    ring, ways = page.locator(".tpiece-mask-focus-over"), page.locator(".tpiece-mask-way")
    expect(ring).to_be_hidden()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(mask(page)).to_be_focused()
    expect(ring).to_be_visible()
    radii = [float(one.get_attribute("r")) for one in (page.locator(".tpiece-mask-edge"), ring)]
    assert radii == sorted(radii)
    tops = ways.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().top)")
    assert len(tops) == 4
    assert sorted(tops)[1] == pytest.approx(sorted(tops)[2], abs=1)  # left and right lie level


def test_another_size_keeps_its_place_and_is_a_new_answer(lay):
    """Trying the next size means no second placing."""
    page = lay(face(saved=LAID))
    choose(page, 60)
    expect(status(page)).to_have_attribute("data-number", "2")
    assert kept(page) == [answer(Mask(60, 0, 27))]


def test_a_saved_mask_is_shown_again(lay):
    """After a reload it lies where it was, and where its edges lie is told at once."""
    page = lay(face(saved=LAID), viewport={"width": 1280, "height": 900})
    expect(page.get_by_role("radio", name="52 mm")).to_be_checked()
    expect(page.get_by_label("Below the groove, mm")).to_have_value("27")
    expect(status(page)).to_have_attribute("data-number", "3")
    expect(where(page)).to_contain_text(["Upper edge 1.0 mm below the groove above the nose."])
    assert page.evaluate("kernel.sent") == []


def test_a_mask_off_the_face_stays_there_and_one_sentence_says_so(lay):
    """The kernel refuses it as an answer; the page's own words say where it lies."""
    made = face(saved=LAID)
    page = lay(made)
    page.evaluate("globalThis.kernel.mode = 'refuse'")
    drag(page, 70, 50)
    stays = page.get_by_label("Right of the midline, mm").input_value()
    expect(where(page)).to_have_count(0)
    expect(page.locator(".tpiece-face-now")).to_have_text(re.compile("^Mask 52 mm, its middle"))
    expect(status(page)).to_contain_text("Not saved")
    assert page.get_by_label("Right of the midline, mm").input_value() == stays == "70"


def test_the_control_refuses_a_mask_off_the_face_in_the_readers_words():
    """Its sentence is that of the answer's own reader; what was saved before still counts."""
    off = answer(Mask(36, -100, 0))
    assert face(saved=None).problem(off) == (
        "Not saved: the mask lies off the face; bring it back over nose and mouth."
    )
    assert face(saved=LAID).problem(off).endswith("The last saved answer still counts.")
    assert face().problem(answer(Mask(36, 0, 20))) == ""
    assert face().problem("mask").startswith("Not saved: this is no mask")


def test_a_locked_face_can_be_looked_at_and_not_changed(lay):
    """Nothing moves, and the mask can still be read."""
    page = lay(face(saved=LAID, read_only=True))
    mask(page).focus()
    page.keyboard.press("ArrowUp")
    drag(page, 5, 5)
    expect(page.get_by_role("radio", name="60 mm")).to_be_disabled()
    expect(page.get_by_label("Below the groove, mm")).to_have_value("27")
    assert kept(page) == []
