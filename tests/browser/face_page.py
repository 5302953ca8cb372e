"""A face to lay a mask on, in a bare browser; the workbook itself tells where the mask lies."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Browser, Locator, Page

from tests.browser.control_page import open_live
from tests.browser.steps import given
from workbook.face.fit import answer, drawing
from workbook.face.mask import Face as Drawn
from workbook.face.mask import Mask
from workbook.widgets import Face

LENGTH = 52.0
LAID = {"value": answer(Mask(52, 0, 27)), "number": 3, "at": "2026-05-04T10:00:00Z"}


def face(**more: Any) -> Face:
    """Return a face to lay a mask on that tells where its edges lie."""
    more = {"face": drawing(Drawn(LENGTH)), "live": "where", "save": given, **more}
    return Face("mask", "Choose a mask and lay it on the face.", **more)


def open_face(browser: Browser, control: Face, errors: list[str], **context: Any) -> Page:
    """Return a page with a face; what goes wrong on it is added to ``errors``."""
    return open_live(browser, control, errors, "place", **context)


def mask(page: Page) -> Locator:
    return page.get_by_role("application")


def choose(page: Page, size: int = 52) -> None:
    page.get_by_role("radio", name=f"{size} mm").check()


def middle(page: Page) -> tuple[float, float]:
    """Return where the middle of the mask is on the screen."""
    found = page.locator(".tpiece-mask-edge").evaluate(
        "(one) => { const m = one.getScreenCTM(); return [m.e, m.f]; }"
    )
    return found[0], found[1]


def scale(page: Page) -> float:
    """Return how many pixels of the screen a millimetre of the mask is."""
    found: float = page.locator(".tpiece-mask-edge").evaluate(
        "(one) => { const m = one.getScreenCTM(); return Math.hypot(m.a, m.b); }"
    )
    return found


def where(page: Page) -> Locator:
    """Return the sentences on where the mask lies."""
    return page.locator(".tpiece-face-where li")


def drag(page: Page, right: float, down: float, button: Any = "left") -> None:
    """Drag the mask by millimetres with the mouse."""
    mask(page).scroll_into_view_if_needed()
    (x, y), per_mm = middle(page), scale(page)
    page.mouse.move(x, y)
    page.mouse.down(button=button)
    page.mouse.move(x + right * per_mm / 2, y + down * per_mm / 2)
    page.mouse.move(x + right * per_mm, y + down * per_mm)
    page.mouse.up(button=button)


def placed(page: Page) -> tuple[float, float]:
    """Return the mask's place as its fields have it."""
    names = ("Right of the midline, mm", "Below the groove, mm")
    x, y = (float(page.get_by_label(name).input_value()) for name in names)
    return x, y


def marks(page: Page, axis: str) -> dict[int, float]:
    """Return where the numbered marks of a ruler stand on the screen, by their number."""
    found = page.locator(f".tpiece-ruler-{axis} text").evaluate_all(
        """(all) => all.map((one) => {
            const value = Number(one.textContent.replace("\u2212", "-"));
            const [x, y] = ["x", "y"].map((name) => Number(one.getAttribute(name)));
            const m = one.getScreenCTM();
            return [value, m.a * x + m.e, m.d * (y - 4.5) + m.f];
        })"""  # a number beside the ruler stands 4.5 pixels below its mark
    )
    return {int(value): (x, y)["xy".index(axis)] for value, x, y in found}


def wide(page: Page) -> float:
    """Return how wide the mask is on the screen, without the line around it."""
    found: float = page.locator(".tpiece-mask-edge").evaluate(
        "(one) => one.getBBox().width * one.getScreenCTM().a"
    )
    return found
