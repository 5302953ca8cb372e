"""The README's pictures, taken from the workbook as it is.

``python -m tests.readme_pictures`` takes each anew; ``tests/browser/test_readme_pictures.py`` takes
them too, and holds what is in the folder to it.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import get_data_path
from matplotlib.image import imread
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.browser.bench_page import bench, open_bench, stands
from tests.browser.control_page import open_control
from tests.browser.face_page import open_face
from tests.browser.steps import given
from tests.conftest import CHROMIUM_FLAGS
from workbook.cases import case
from workbook.face.fit import answer, best_masks, best_place, drawing
from workbook.face.mask import Face as Drawn
from workbook.lesson.unit import control
from workbook.rules import rulebook
from workbook.widgets import Control, Face
from workbook.widgets.bench import ComparedBench

FOLDER = Path(__file__).parents[1] / "workbook" / "pictures"
SIZE = {"width": 1180, "height": 760}
PLACE: dict[str, Any] = {
    "viewport": SIZE,
    "color_scheme": "light",
    "locale": "en-US",
    "timezone_id": "UTC",
}
LENGTH = 46.0  # mm, of the face in the picture
BEAT, HELD, UNTIL = 1.2, 0.4, 6.85  # seconds: a breath, its inflation, and the moment shown
FONTS = Path(get_data_path(), "fonts", "ttf")  # the same letters on every machine
WEIGHTS = {"DejaVuSans.ttf": 400, "DejaVuSans-Bold.ttf": 700}
CELLS = 24  # a side of the squares, in pixels, in which two pictures are compared


def run() -> dict[str, object]:
    """Return hands that inflate in a count, the hole covered at the end."""
    actions: list[list[object]] = []
    for n in range(6):
        begin = round(0.6 + n * BEAT, 2)
        actions += [[begin, "occlude"], [round(begin + HELD, 2), "release"]]
    return {"format": "tpiece-hands", "version": 1, "duration": 8.0, "actions": actions}


def the_bench(browser: Browser) -> bytes:
    """Return the bench with a baby on it, in the middle of an inflation."""
    still = {"time": [0.0, 8.0], "pressure": [0.0, 0.0]}
    made = bench(
        ComparedBench, bench=stands("lung"), outlets=["lung"], chest={"low": 4, "high": 8},
        saved={"value": run(), "number": 1, "at": "2026-05-04T10:00:00Z"},
    )  # fmt: skip
    moment = {"at": UNTIL, "says": "now"}
    made.feedback = {"compare": {"own": still, "expert": still, "moments": [moment]}}
    errors: list[str] = []
    page = open_bench(browser, made, errors, **PLACE)
    page.get_by_role("button", name="Show it in the picture").click()
    page.wait_for_function("document.querySelector('.tpiece-bench-needle')?.dataset.value > 15")
    page.mouse.move(0, 0)
    page.evaluate("document.activeElement.blur()")
    letter(page)
    taken = page.locator(".tpiece-bench-stage").screenshot()
    page.context.close()
    assert errors == []
    return taken


def the_face(browser: Browser) -> bytes:
    """Return a face with a mask laid on it as well as can be."""
    face = Drawn(LENGTH)
    laid = best_place(face, best_masks(face)[0])
    saved = {"value": answer(laid), "number": 1, "at": "2026-05-04T10:00:00Z"}
    made = Face(
        "mask", "Choose a mask and lay it on the face.", face=drawing(face), live="where",
        save=given, saved=saved,
    )  # fmt: skip
    errors: list[str] = []
    page = open_face(browser, made, errors, **PLACE)
    taken = whole(page)
    assert errors == []
    return taken


def the_exercise(browser: Browser) -> bytes:
    """Return the first question of an exercise: steps to arrange."""
    drawn = case("demo", "1_setup_order", "ada", rulebook())
    made: Control = control(drawn.questions[0], save=given)
    return whole(open_control(browser, made, **PLACE))


def whole(page: Page) -> bytes:
    """Return the one control of a page, and close the page."""
    shown = page.locator(".tpiece")
    expect(shown).to_be_visible()
    letter(page)
    taken = shown.screenshot(animations="disabled")
    page.context.close()
    return taken


def letter(page: Page) -> None:
    """Write a page in one font, whatever fonts a machine has."""
    faces = [
        f'@font-face {{ font-family: "Kept"; font-weight: {weight}; src: url("data:font/ttf;base64,'
        f'{base64.b64encode((FONTS / name).read_bytes()).decode()}"); }}'
        for name, weight in WEIGHTS.items()
    ]
    page.add_style_tag(content="".join(faces) + '* { font-family: "Kept" !important; }')
    page.evaluate("Promise.all([400, 700].map((n) => document.fonts.load(`${n} 16px Kept`)))")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


PICTURES: Mapping[str, Callable[[Browser], bytes]] = {
    "bench.png": the_bench,
    "face.png": the_face,
    "exercise.png": the_exercise,
}


def apart(one: bytes, two: bytes) -> float:
    """Return how far two pictures differ, 0 to 1: in the square where they do so most.

    Letters and lines that lie a pixel off hardly count, and gas that has moved on does not.
    """
    first, second = (_squares(each) for each in (one, two))
    if any(abs(a - b) > 1 for a, b in zip(first.shape, second.shape, strict=True)):
        return 1.0
    rows, columns = (min(a, b) for a, b in zip(first.shape, second.shape, strict=True))
    return float(np.abs(first[:rows, :columns] - second[:rows, :columns]).max())


def _squares(picture: bytes) -> np.ndarray:
    grey = imread(io.BytesIO(picture))[..., :3].mean(axis=2)
    rows, columns = (size // CELLS for size in grey.shape)
    cut = grey[: rows * CELLS, : columns * CELLS]
    squares: np.ndarray = cut.reshape(rows, CELLS, columns, CELLS).mean(axis=(1, 3))
    return squares


def main() -> None:
    """Take each picture anew."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=CHROMIUM_FLAGS
        )
        for name, take in PICTURES.items():
            (FOLDER / name).write_bytes(take(browser))
            print(FOLDER / name)
        browser.close()


if __name__ == "__main__":
    main()
