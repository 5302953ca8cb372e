"""The picture of the bench in front of a room, in narrow pages, for everybody."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.bench_picture_page import EDUCATOR, STEP
from tests.browser.control_page import axe

BREATHS = [(10.5, "does not move"), (14, "moves a little"), (20, "rises"), (40, "rises too far")]


@pytest.mark.parametrize(("volume", "says"), BREATHS)
def test_the_chest_is_told_in_a_word_by_its_bands(picture, volume, says):
    """The word holds over the breath's end, and goes when the chest has been down for a while."""
    page = picture(chest={"low": 4, "high": 8}, viewport={"width": 1280, "height": 800})
    word = page.locator(".tpiece-bench-drawing:visible").get_by_text("the chest")
    page.evaluate("show({ outlet: 'lung', time: 1, held: true })")
    expect(word).to_have_text("the chest does not move")
    page.evaluate("(volume) => show({ time: 1.5, volume })", volume)
    expect(word).to_have_text(f"the chest {says}")
    page.evaluate("show({ time: 2, volume: 10, held: false })")
    expect(word).to_have_text(f"the chest {says}")
    page.evaluate("show({ time: 5 })")
    expect(word).to_have_text("the chest does not move")


def test_without_bands_the_chest_moves_but_has_no_word(picture):
    """A page that was given no band judges no breath."""
    page = picture(viewport={"width": 1280, "height": 800})
    outline = page.locator(".tpiece-bench-chest")
    page.evaluate("show({ outlet: 'lung', time: 1, held: true })")
    flat = outline.bounding_box()["y"]
    page.evaluate("show({ time: 1.5, volume: 26 })")
    assert outline.bounding_box()["y"] < flat - 3
    expect(page.locator(".tpiece-bench-picture")).not_to_contain_text("the chest")


def test_an_educators_choice_waits_for_the_room(picture):
    """Nothing changes before "Show it"; the room's guess is kept beside what was shown."""
    page = picture(educator=EDUCATOR)
    leak = page.get_by_role("combobox", name="Leak at the mask")
    leak.select_option("small leak")
    prompt = page.get_by_role("group", name="Leak at the mask: small leak. What will the gauge do?")
    expect(prompt).to_be_visible()
    assert page.evaluate("told") == []
    page.get_by_label("The room says").fill("It falls.")
    page.get_by_role("button", name="Show it").press("Enter")
    assert page.evaluate("told") == [1]
    expect(prompt).to_be_hidden()
    expect(page.get_by_text("small leak. The room said: It falls.")).to_be_visible()
    expect(leak).to_be_focused()


def test_an_educators_choice_can_be_left_as_it_was(picture):
    """By the button, by choosing the old value again, or by choosing something else."""
    page = picture(educator=EDUCATOR)
    stiff = page.get_by_role("slider", name="Compliance")
    leak = page.get_by_role("combobox", name="Leak at the mask")
    stiff.press("ArrowRight")
    page.get_by_role("button", name="Leave it as it was").click()
    expect(stiff).to_have_value("4")
    stiff.press("ArrowRight")
    stiff.press("ArrowLeft")
    expect(page.get_by_role("button", name="Show it")).to_be_hidden()
    stiff.press("ArrowRight")
    leak.select_option("small leak")
    expect(stiff).to_have_value("4")
    page.get_by_role("button", name="Show it").click()
    stiff.press("ArrowLeft")
    page.get_by_role("button", name="Show it").click()
    assert page.evaluate("told") == [1, {"stiff": 3}]


LOOKS = [{"color_scheme": "light"}, {"color_scheme": "dark"}, {"forced_colors": "active"}]


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "forced"])
def test_no_serious_accessibility_violation(picture, axe_source, look):
    """With every part in sight, axe-core finds nothing serious."""
    page = picture(educator=EDUCATOR, chest={"low": 4, "high": 8}, **look)
    page.evaluate(f"show({{ outlet: 'lung' }}); bench.strip(({STEP})(), {{ volume: true }})")
    page.get_by_label("Leak at the mask").select_option("small leak")
    assert axe(page, axe_source) == []


def test_words_in_the_drawings_are_large_enough(picture):
    """At 400 pixels and in every wider layout no word is smaller than 12 pixels."""
    for width in (400, 700, 820, 1100, 1280, 1920):
        page = picture(viewport={"width": width, "height": 800})
        page.evaluate(f"show({{ outlet: 'lung', manometer: 99 }}); bench.strip(({STEP})())")
        sizes = []
        for view in ("picture", "schematic"):
            page.evaluate("(view) => { bench.look(view); show({}) }", view)
            sizes += page.locator(".tpiece-bench svg:visible text").evaluate_all("""(all) => all
              .filter((text) => text.textContent && text.getClientRects().length)
            .map((text) => text.getScreenCTM().a * parseFloat(getComputedStyle(text).fontSize))""")
        assert min(sizes) >= 11.95, width
