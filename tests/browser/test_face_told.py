"""A face to lay a mask on: what is told of it, and whether everybody can use it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.control_page import axe
from tests.browser.face_page import LAID, LENGTH, face, mask, where
from tests.browser.test_controls import LOOKS
from workbook.cases import Kind, Question
from workbook.face.fit import answer, drawing
from workbook.face.mask import Face as Drawn
from workbook.face.mask import Mask
from workbook.lesson.unit import control

# --- what is told


def test_a_graded_question_tells_where_the_edges_lie_and_no_more(lay):
    """No word on the seal, the gauge or what is right."""
    page = lay(face(saved=LAID))
    mask(page).press("ArrowUp")
    expect(where(page)).to_contain_text(["Upper edge level with the groove"])
    said = page.locator(".tpiece").inner_text()
    assert not re.search(r"seal|gauge|needle|PEEP|reaches|right:", said)


def test_practice_tells_the_seal_and_what_the_gauge_does(lay):
    """A mask well laid, then one pushed to the side."""
    page = lay(face(saved={**LAID, "value": answer(Mask(52, 0, 26))}, live="fit"))
    expect(where(page)).to_contain_text(["The eyes are free.", "the needle reaches the PEEP"])
    page.get_by_label("Right of the midline, mm").fill("20")
    expect(where(page)).to_contain_text(["The mask lies over an eye.", "stays below the PEEP"])


def test_without_words_from_the_workbook_the_page_says_where_the_mask_lies(lay):
    """A question may tell nothing more than the mask's own place."""
    page = lay(face(saved=LAID, live=""))
    mask(page).press("ArrowUp")
    expect(page.locator(".tpiece-face-now")).to_contain_text("26 mm below the groove")
    page.wait_for_function("kernel.kept.length === 1")
    assert {message["kind"] for message in page.evaluate("kernel.sent")} == {"answer"}


def test_a_busy_engine_is_told_and_not_passed_over(lay):
    """Sentences of the place before are not left standing as if they were true."""
    page = lay(face(saved=LAID))
    page.evaluate("kernel.mode = 'busy'")
    mask(page).press("Shift+ArrowRight")
    expect(where(page)).to_have_text(
        ["The workbook's engine is busy; where the edges lie is told when it answers."]
    )


def test_moves_are_read_aloud_once_the_mask_rests(lay):
    """Ten quick steps are one announcement."""
    page = lay(face(saved=LAID))
    page.evaluate(
        """() => {
            globalThis.heard = 0;
            const one = document.querySelector(".tpiece-face-aloud");
            new MutationObserver(() => (globalThis.heard += 1)).observe(one, { childList: true });
        }"""
    )
    mask(page).focus()
    for _ in range(10):
        page.keyboard.press("ArrowUp")
    expect(page.locator(".tpiece-face-aloud")).to_contain_text("Upper edge")
    assert page.evaluate("heard") == 1
    assert "Upper edge 9.0 mm above" in page.locator(".tpiece-face-aloud").inner_text()


def test_the_picture_has_a_text_twin(lay):
    """Each part of the face with its edges in mm."""
    page = lay()
    page.get_by_text("The picture in words and numbers").press("Enter")
    shapes = drawing(Drawn(LENGTH))["shapes"]
    expect(page.get_by_role("row")).to_have_count(1 + len(shapes))
    _, y, wide, high = shapes["mouth"]
    row = f"Mouth \u2212{wide:g} to {wide:g} {round(y - high, 1):g} to {round(y + high, 1):g}"
    expect(page.get_by_role("row", name=row, exact=True)).to_be_visible()


# --- for everybody


@pytest.mark.parametrize("look", LOOKS)
def test_nothing_serious_stands_in_anybodys_way(lay, axe_source, look):
    """Axe finds nothing in any look, with a mask and without one."""
    for saved in ({}, LAID):
        page = lay(face(saved=saved, live="fit"), **look)
        page.wait_for_timeout(300)
        assert axe(page, axe_source) == []


def test_a_narrow_page_needs_no_sideways_scrolling(lay):
    """At 320 px, and so at 200 percent on 640, all is there and large enough."""
    page = lay(face(saved=LAID, live="fit"), viewport={"width": 320, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    targets = "button, label.tpiece-option, .tpiece-face-field input, summary, [type=range]"
    small = page.locator(f".tpiece :is({targets}):visible").evaluate_all(
        "(all) => all.filter((one) => one.getBoundingClientRect().height < 44).length"
    )
    assert small == 0
    sizes = page.locator(".tpiece-baby text").evaluate_all(
        "(all) => all.map((one) => parseFloat(getComputedStyle(one).fontSize))"
    )
    assert min(sizes) >= 12


def test_every_element_that_takes_the_focus_keeps_its_keys(lay):
    """JupyterLab takes the keys of any element without the mark."""
    page = lay(face(saved=LAID))
    free = page.locator(
        ".tpiece :is(button, input, summary, [tabindex]):not([data-lm-suppress-shortcuts])"
    )
    expect(free).to_have_count(0)


def test_a_question_of_this_kind_gets_this_control():
    """What the question shows says what is told while the mask moves."""
    shows = {"face": drawing(Drawn(LENGTH)), "live": "where"}
    made = control(Question("q", Kind.FACE, "Lay it.", shows=shows))
    assert (made.live, made.face["length"]) == ("where", LENGTH)
    assert control(Question("q", Kind.FACE, "Lay it.", shows={**shows, "live": True})).live == "fit"
    assert control(Question("q", Kind.FACE, "Lay it.", shows={"face": shows["face"]})).live == ""


def test_the_face_fetches_nothing_at_run_time():
    """No address stands in its source or its styles."""
    made = face()
    assert "http" not in str(made._esm) + str(made._css)
