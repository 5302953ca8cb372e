"""A learner's hands on a page: keys to reach and work every control, and fingers."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Any

import nbformat
from playwright.sync_api import CDPSession, Locator, Page, expect

from graders.course.coursefolder import exercise_source
from tests.journey.pages import SHOWN
from workbook.bench import DIALS
from workbook.cases import Kind, Question

Answer = Any  # what a control saves: a word, words, a number with its unit, a mask, a run
PAGE, FAR = 10, 5  # clicks of a page key; mm of an arrow key with Shift
THUMB = 16  # pixels a slider's thumb is wide
MOVES = 6  # of a finger on its way
SPARE = 0.2  # s before the next inflation in which the dial is left alone

_TOWARDS = """(one) => {
  const at = document.activeElement;
  const same = one.type === "radio" && at.type === "radio" && at.name === one.name;
  if (one === at || same) return "";
  return at.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING ? "Shift+Tab" : "Tab";
}"""


def asked(page: Page, unit: str, question: Question) -> Locator:
    """Return the control that asks a question: labels may recur, so it goes by its place."""
    source = nbformat.read(exercise_source(unit) / f"{unit}.ipynb", as_version=4)
    ids = [cell.metadata.get("nbgrader", {}).get("grade_id", "") for cell in source.cells]
    order = [id.removeprefix("ask-") for id in ids if id.startswith("ask-")]
    part = page.locator(f"{SHOWN} .tpiece").nth(order.index(question.id))
    expect(part.locator(".tpiece-label").first).to_have_text(question.label)
    return part


def saved(part: Locator) -> None:
    """Wait until a control calls its answer saved."""
    expect(part.locator(".tpiece-saving")).to_contain_text("Saved", timeout=30_000)


# --- keys


def reach(page: Page, part: Locator, most: int = 400) -> None:
    """Press Tab, or Shift and Tab, until a part has the focus; a radio's group is as good."""
    for _ in range(most):
        key = part.evaluate(_TOWARDS)
        if not key:
            return
        page.keyboard.press(key)
    raise AssertionError(f"no Tab reaches {part}")


def choose(page: Page, group: Locator, wanted: str) -> None:
    """Choose one of a group of radios, from wherever it stands."""
    radios, option = group.get_by_role("radio"), group.locator(f"input[value={wanted!r}]")
    reach(page, radios.first)
    values = radios.evaluate_all("(all) => all.map((one) => one.value)")
    way = values.index(wanted) - values.index(page.evaluate("document.activeElement.value"))
    if not way and not option.is_checked():
        page.keyboard.press("Space")
    for _ in range(abs(way)):
        page.keyboard.press("ArrowDown" if way > 0 else "ArrowUp")
    expect(option).to_be_checked()


def write(page: Page, part: Locator, number: Mapping[str, str]) -> None:
    """Type a number, and choose its unit where there are several."""
    reach(page, part.get_by_role("textbox"))
    page.keyboard.press("Control+a")
    page.keyboard.type(number["text"])
    unit = part.get_by_role("combobox")
    if unit.count():
        reach(page, unit)
        page.keyboard.type(number["unit"])
        expect(unit).to_have_value(number["unit"])
    else:
        page.keyboard.press("Enter")


def answer(page: Page, part: Locator, question: Question, value: Answer) -> None:
    """Answer a question that is chosen or typed."""
    if question.kind is Kind.NUMBER:
        write(page, part, value)
    elif question.kind is Kind.CHOICE:
        choose(page, part, value)
    elif question.kind is Kind.SEQUENCE:
        arrange(page, part, value, [option.id for option in question.options])
    else:
        raise AssertionError(f"a {question.kind} is answered in another way")
    saved(part)


def arrange(page: Page, part: Locator, wanted: list[str], now: list[str]) -> None:
    """Move each step to its place by arrow keys, the first one first."""
    for place, step in enumerate(wanted):
        reach(page, part.locator("li button").first)
        handle = part.locator("li").nth(now.index(step)).get_by_role("button").first
        reach(page, handle)
        for _ in range(now.index(step) - place):
            page.keyboard.press("ArrowUp")
        now = [*now[:place], step, *(each for each in now[place:] if each != step)]
        expect(part.locator("li").nth(place).get_by_role("button").first).to_be_focused()


def lay(page: Page, part: Locator, laid: Mapping[str, float]) -> None:
    """Choose a mask, move it by arrow keys to the millimetre, and type what is left."""
    choose(
        page, part.get_by_role("group", name="Mask, by its outside diameter"), f"{laid['mask']:g}"
    )
    reach(page, part.get_by_role("application"))
    for axis, less, more in (("x", "ArrowLeft", "ArrowRight"), ("y", "ArrowUp", "ArrowDown")):
        way = int(laid[axis]) - round(float(_place(part, axis).input_value()))
        far, near = divmod(abs(way), FAR)
        for key in ["Shift+"] * far + [""] * near:
            page.keyboard.press(key + (more if way > 0 else less))
    for axis in "xy":
        reach(page, _place(part, axis))
        page.keyboard.press("Control+a")
        page.keyboard.type(f"{laid[axis]:g}")
    saved(part)


def _place(part: Locator, axis: str) -> Locator:
    label = {"x": "Right of the midline, mm", "y": "Below the groove, mm"}[axis]
    return part.get_by_label(label)


def dial(part: Locator, name: str) -> Locator:
    """Return a control of the bench as its slider."""
    return part.get_by_role("slider", name=name)


def turn(page: Page, slider: Locator, clicks: int) -> None:
    """Turn a control to a position: from the nearer end, by pages, by clicks."""
    reach(page, slider)
    last = int(slider.get_attribute("max") or 0)
    down = clicks > last / 2
    end, way = ("End", "Down") if down else ("Home", "Up")
    pages, singles = divmod(last - clicks if down else clicks, PAGE)
    for key in [end, *[f"Page{way}"] * pages, *[f"Arrow{way}"] * singles]:
        page.keyboard.press(key)
    expect(slider).to_have_value(str(clicks))


def inflate(page: Page, slider: Locator, run: Mapping[str, Any], a_minute: float) -> None:
    """Give a run's inflations by Space in a count; between them turn the slider by arrow keys.

    The browser is given the time of each press and release, as it is by a keyboard: a busy machine
    may hand them over late, but they do not happen late.
    """
    reach(page, slider)
    client = page.context.new_cdp_session(page)
    period, due = 60 / a_minute, int(slider.input_value())
    start = time.time() + 1
    for _, kind, *position in run["actions"]:
        due = position[0] if kind == "pip" else due
        if kind != "occlude":
            continue
        while not _turned(page, slider, due, start - SPARE):  # the count does not wait
            start = _inflated(client, start, period)
        start = _inflated(client, start, period)
    expect(slider).to_have_value(str(due))


def _turned(page: Page, slider: Locator, due: int, until: float) -> bool:
    """Turn a control towards a position while there is time; say whether it is there."""
    way = due - int(slider.input_value())
    for _ in range(abs(way)):
        if time.time() >= until:
            return False
        page.keyboard.press("ArrowUp" if way > 0 else "ArrowDown")
    return True


def _inflated(client: CDPSession, start: float, period: float) -> float:
    """Hold Space from a moment on for a third of the count; return when the next is due."""
    start = max(start, time.time())
    for kind, moment in (("keyDown", start), ("keyUp", start + period / 3)):
        time.sleep(max(0.0, moment - time.time()))
        key = {"key": " ", "code": "Space", "windowsVirtualKeyCode": 32}
        client.send("Input.dispatchKeyEvent", {"type": kind, **key, "timestamp": moment})
    return start + period


def hand_in(page: Page, count: int) -> None:
    """Hand in by its key, and close what says that every answer went."""
    page.keyboard.press("Alt+Shift+H")
    dialog = _handed_in(page, count)
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)


def _handed_in(page: Page, count: int) -> Locator:
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Handed in at", timeout=30_000)
    expect(dialog).to_contain_text(f"{count} of {count} questions answered")
    return dialog


# --- fingers

_MIDDLE = """(one) => {
  const m = one.getScreenCTM();
  return [m.e, m.f, Math.hypot(m.a, m.b)];
}"""


class Fingers:
    """Fingers on a page that was opened with touch."""

    def __init__(self, page: Page) -> None:
        self.page, self.client = page, page.context.new_cdp_session(page)

    def send(self, kind: str, *points: tuple[float, float]) -> None:
        """Send one touch event."""
        places = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        self.client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": places})

    def hold(self, part: Locator, seconds: float) -> None:
        """Keep a finger on a part of the page for a time."""
        part.scroll_into_view_if_needed()
        box = part.bounding_box()
        assert box is not None
        self.send("touchStart", (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2))
        self.page.wait_for_timeout(1000 * seconds)
        self.send("touchEnd")

    def drag(self, part: Locator, x: float, y: float) -> None:
        """Drag the mask of a face until its fields tell this place (mm)."""
        mask = part.get_by_role("application")
        mask.scroll_into_view_if_needed()
        left, top, per_mm = part.locator(".tpiece-mask-edge").evaluate(_MIDDLE)
        now = [float(_place(part, axis).input_value()) for axis in "xy"]
        right, down = (x - now[0]) * per_mm, (y - now[1]) * per_mm
        self.send("touchStart", (left, top))
        for part_of in range(1, MOVES + 1):  # a browser that would scroll takes over after a few
            share = part_of / MOVES
            self.send("touchMove", (left + right * share, top + down * share))
            self.page.wait_for_timeout(30)
        self.send("touchEnd")
        for axis, wanted in (("x", x), ("y", y)):
            expect(_place(part, axis)).to_have_value(f"{wanted:g}")

    def answer(self, part: Locator, question: Question, value: Answer) -> None:
        """Answer a question that is chosen or typed: the field's own keyboard and list follow."""
        if question.kind is Kind.CHOICE:
            text = next(option.text for option in question.options if option.id == value)
            part.get_by_role("radio", name=text, exact=True).tap()
            return
        field = part.get_by_role("textbox")
        field.tap()
        self.page.keyboard.type(value["text"])
        if part.get_by_role("combobox").count():
            part.get_by_role("combobox").select_option(value["unit"])
        else:
            field.blur()

    def hand_in(self, count: int) -> None:
        """Hand in by its button, and close what says that every answer went."""
        self.page.locator(f"{SHOWN} .tpiece-bar").get_by_role("button", name="hand in").tap()
        dialog = _handed_in(self.page, count)
        dialog.get_by_role("button").last.tap()
        expect(dialog).to_have_count(0)

    def turn(self, part: Locator, name: str, clicks: int) -> None:
        """Turn a control: a tap on its slider comes near, its two buttons do the rest."""
        slider = dial(part, name)
        box, last = slider.bounding_box(), int(slider.get_attribute("max") or 0)
        assert box is not None
        along = THUMB / 2 + (box["width"] - THUMB) * clicks / last
        slider.tap(position={"x": along, "y": box["height"] / 2})
        left = clicks - int(slider.input_value())
        button = f"{name}: one click {'up' if left > 0 else 'down'}"
        for _ in range(abs(left)):
            part.get_by_role("button", name=button).tap()
        expect(slider).to_have_value(str(clicks))


def set_up(page: Page, part: Locator, wanted: Mapping[str, int], readable: float) -> None:
    """Set a bench up by keys alone, from everything off to the mask on the baby.

    ``wanted`` has the positions, ``readable`` the seconds a needle must stay to be read.
    """
    outlet, look = part.get_by_role("group", name="Patient outlet"), 1000 * (readable + 0.5)

    def keep() -> None:
        reach(page, part.get_by_role("button", name="Keep occluded"))
        page.keyboard.press("Enter")

    choose(page, outlet, "capped")
    turn(page, dial(part, "Flow"), wanted["flow"])
    turn(page, dial(part, "PIP control"), DIALS["pip"].clicks)
    keep()
    turn(page, dial(part, "Maximum pressure relief"), wanted["relief"])
    page.wait_for_timeout(look)
    turn(page, dial(part, "PIP control"), wanted["pip"])
    page.wait_for_timeout(look)
    keep()
    turn(page, dial(part, "PEEP control"), wanted["peep"])
    page.wait_for_timeout(look)
    page.keyboard.down("Space")
    page.wait_for_timeout(look)
    page.keyboard.up("Space")
    choose(page, outlet, "lung")


def use(page: Page, part: Locator) -> None:
    """Choose the run as the answer, by keys, and wait until it is saved."""
    reach(page, part.get_by_role("button", name="Use this run as my answer"))
    page.keyboard.press("Enter")
    saved(part)
