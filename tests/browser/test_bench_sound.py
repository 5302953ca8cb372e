"""What a bench sounds like: off until wanted, then each hiss follows the gas that leaves."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.bench_page import bench, dial, hold, open_bench, stands
from tests.browser.control_page import axe, faultless

# Listens in on all that goes to the loudspeaker, and counts what was made for it.
LISTEN = """() => {
  globalThis.made = 0;
  const { connect } = AudioNode.prototype;
  AudioNode.prototype.connect = function (to, ...rest) {
    if (to === this.context.destination) {
      globalThis.ear ??= this.context.createAnalyser();
      connect.call(this, globalThis.ear);
    }
    return connect.call(this, to, ...rest);
  };
  globalThis.AudioContext = class extends AudioContext {
    constructor(...given) {
      super(...given);
      globalThis.made += 1;
      globalThis.context = this;
    }
  };
  globalThis.loud = () => {
    if (!globalThis.ear) return 0;
    const samples = new Float32Array(globalThis.ear.fftSize);
    globalThis.ear.getFloatTimeDomainData(samples);
    return Math.sqrt(samples.reduce((sum, n) => sum + n * n, 0) / samples.length);
  };
}"""
HISS = 1e-3  # of the loudest a loudspeaker is given; below it nothing is heard


@pytest.fixture
def heard(chromium):
    """Yield what opens a bench whose sound is listened to; none may have an error."""
    with faultless() as (pages, errors):

        def _open(*, leak: int = 0, **more: Any) -> Page:
            made = {"bench": stands("lung", leak=leak), "outlets": ["capped", "open", "lung"]}
            pages.append(open_bench(chromium, bench(**{**made, **more}), errors))
            pages[-1].evaluate(LISTEN)
            return pages[-1]

        yield _open


def key(page: Page) -> Locator:
    return page.get_by_role("button", name="Sound", exact=True)


def told(page: Page) -> Locator:
    return page.locator(".tpiece-bench-heard")


def begin(page: Page) -> None:
    """Let the gas flow by a touch that changes nothing of it."""
    hold(page).focus()
    page.keyboard.down(" ")
    page.keyboard.up(" ")


def loud(page: Page, wanted: str) -> None:
    page.wait_for_function(f"loud() {wanted}")


def test_nothing_sounds_until_it_is_wanted(heard):
    """No sound is even made ready; the words are there for everybody."""
    page = heard()
    begin(page)
    expect(told(page)).to_have_text("To hear now: gas at the hole (aperture).")
    expect(key(page)).to_have_attribute("aria-pressed", "false")
    assert page.evaluate("[made, loud()]") == [0, 0]


def test_the_hiss_is_there_while_gas_leaves_and_ends_with_it(heard):
    """On by one button, by keyboard; off with the gas, with a pause, and by the same button."""
    page = heard()
    key(page).focus()
    page.keyboard.press("Enter")
    begin(page)
    loud(page, f"> {HISS}")
    page.get_by_role("button", name="Pause").click()
    loud(page, f"< {HISS}")
    expect(told(page)).to_have_text("To hear now: nothing.")
    page.get_by_role("button", name="Go on").click()
    loud(page, f"> {HISS}")
    key(page).click()
    loud(page, f"< {HISS}")
    expect(told(page)).to_have_text("To hear now: gas at the hole (aperture).")


def test_covering_the_hole_moves_the_hiss_to_the_valve_in_words_too(heard):
    """The hole falls silent; once the pressure is reached the PIP valve puffs and hisses."""
    page = heard()
    key(page).click()
    hold(page).focus()
    page.keyboard.down(" ")
    expect(told(page)).to_have_text("To hear now: gas at the PIP valve (first a puff).")
    page.keyboard.up(" ")
    expect(told(page)).to_contain_text("gas at the hole (aperture)")


def test_a_leak_is_heard_beside_the_rest(heard):
    """The trade's cue for a poor seal: gas at the edge of the mask while the hole is covered."""
    page = heard(leak=2)
    hold(page).focus()
    page.keyboard.down(" ")
    expect(told(page)).to_contain_text("gas at the edge of the mask")
    page.keyboard.up(" ")


def test_with_the_flow_off_nothing_is_heard(heard):
    """No gas, no sound: silence is a cue as well."""
    page = heard()
    key(page).click()
    begin(page)
    loud(page, f"> {HISS}")
    dial(page, "Flow").focus()
    page.keyboard.press("Home")
    expect(told(page)).to_have_text("To hear now: nothing.")
    loud(page, f"< {HISS}")


# What each way is told to be, and what leaves there by the model: the picture's own numbers.
LEVELS = """() => {
  const flow = (way) => {
    const node = document.querySelector(`[data-way=${way}]`);
    return node.getAttribute("visibility") === "hidden" ? 0 : Number(node.dataset.flow);
  };
  return Object.fromEntries(["aperture", "leak", "pip", "relief"].map((way) => [way, flow(way)]));
}"""
ASKED = """() => {
  globalThis.asked = {};
  const was = AudioParam.prototype.setTargetAtTime;
  AudioParam.prototype.setTargetAtTime = function (value, ...rest) {
    const at = (globalThis.params ??= []).indexOf(this);
    if (at < 0) globalThis.params.push(this);
    globalThis.asked[at < 0 ? globalThis.params.length - 1 : at] = value;
    return was.call(this, value, ...rest);
  };
}"""


def test_each_hiss_is_as_loud_as_what_leaves_by_the_model(heard):
    """At rest on the hole, and at the leak: the square root of the flow, to a hundredth."""
    page = heard(leak=1)
    page.evaluate(ASKED)
    key(page).click()
    begin(page)
    expect(told(page)).to_contain_text("gas at the hole")
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="Go on").click()
    page.wait_for_function("Object.values(asked).filter((n) => n > 0).length >= 2")
    flows, asked = page.evaluate(f"[({LEVELS})(), Object.values(asked)]")
    wanted = sorted(0.12 * (flows[way] / 250) ** 0.5 for way in ("aperture", "leak"))
    got = sorted(value for value in asked if value > 0)
    assert got == pytest.approx(wanted, rel=0.05)


def test_one_switch_is_for_every_bench_of_the_page(heard):
    """A second view of the bench shows the state of the first, and turns it off again."""
    page = heard()
    key(page).click()
    page.evaluate("view()")
    both = page.get_by_role("button", name="Sound", exact=True)
    expect(both).to_have_count(2)
    for n in range(2):
        expect(both.nth(n)).to_have_attribute("aria-pressed", "true")
    both.nth(1).click()
    expect(both.nth(0)).to_have_attribute("aria-pressed", "false")
    assert page.evaluate("made") == 1


def test_nothing_stands_in_anybodys_way(heard, axe_source):
    """Sound on, its words shown: no violation, and the button is large enough for a finger."""
    page = heard()
    key(page).click()
    begin(page)
    assert axe(page, axe_source) == []
    assert key(page).bounding_box()["height"] >= 44
