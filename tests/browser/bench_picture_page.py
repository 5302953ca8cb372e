"""A page with the picture of a bench, to be shown invented views, in a bare browser."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import Browser, Page

from workbook.widgets.bench.words import WORDS as BENCH_WORDS
from workbook.widgets.control import WORDS
from workbook.widgets.modules import script, styles

TOP = 80
MODULES = ("bench_picture.js", "bench_educator.js")
DIALS = {
    "flow": {"clicks": 30, "label": "Flow"},
    "pip": {"clicks": 240, "label": "PIP control"},
    "relief": {"clicks": 228, "label": "Maximum pressure relief"},
    "peep": {"clicks": 240, "label": "PEEP control"},
    "leak": {"clicks": 3, "label": "Mask leak"},
}
LEAKS = [{"value": 0, "text": "sealed"}, {"value": 1, "text": "small leak"}]
STIFF = {"id": "stiff", "label": "Compliance", "min": 1, "max": 9, "step": 1, "value": 4}
EDUCATOR = {
    "ask": "What will the gauge do?",
    "lung": [STIFF],
    "leak": {"id": "leak", "label": "Leak at the mask", "value": 0, "options": LEAKS},
}
# The boxes around the bench clip it, as a notebook's do.
_PAGE = """<!doctype html><html lang="en"><head><title>A bench</title>
<meta name="color-scheme" content="light dark"><style>body{margin:1rem;background:Canvas}%s</style>
</head><body><main><h1>A bench</h1><div class="jp-OutputArea" style="overflow-y:auto">
<div class="jp-OutputArea-child" style="overflow:hidden">
<div class="tpiece"><div id="place"></div></div></div></div></main>
<script>%s
  const [words, dials, educator, chest, gaugeTop] = %s;
  const bench = drawBench(words, { dials, gaugeTop, educator, chest });
  document.getElementById("place").append(bench.root);
  const put = (name, node) => bench.root.querySelector(`.tpiece-bench-slot-${name}`).append(node);
  put("hold", focusable("button", { type: "button", style: "min-height:64px" }, "Hold"));
  for (const [id, { label }] of Object.entries(dials)) {
    const input = focusable("input", { type: "range", style: "height:44px" });
    put(id, element("label", {}, `${BENCH_TAGS[id]} ${label}`, input));
  }
  const told = [];
  if (educator.ask) put("more", drawEducator(words, educator, {
    onLung: (lung) => told.push(lung), onLeak: (leak) => told.push(leak),
  }));
  const at = { time: 0, manometer: 0, volume: 10, restVolume: 10, weight: 2, held: false,
    outlet: "open", positions: {}, running: true, flows: { supply: 0, pip: 0, relief: 0, limb: 0,
      aperture: 0, outlet: 0, lung: 0 } };
  const show = (more) => bench.show(Object.assign(at, more));
  show({});
</script></body></html>"""

# A flat 20 with one step up to 30 from 12 s to 13 s, the aperture occluded meanwhile.
STEP = """() => {
  const history = [];
  for (let n = 0; n <= 1500; n += 1) {
    const held = n >= 1200 && n < 1300;
    history.push({ time: n / 100, manometer: held ? 30 : 20, volume: held ? 30 : 10, held });
  }
  return history;
}"""


def open_picture(
    chromium: Browser, *, educator: Any = None, chest: Any = None, **context: Any
) -> tuple[Page, list[str]]:
    """Return a page with a bench's picture, and the list its errors go to."""
    css = styles("shared.css", "bench.css", "bench_controls.css", "bench_educator.css")
    code = script(*MODULES)
    given = json.dumps([{**WORDS, **BENCH_WORDS}, DIALS, educator or {}, chest or {}, TOP])
    page, errors = chromium.new_context(**context).new_page(), []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.set_content(_PAGE % (css, code, given))
    # The strip takes its size after the first layout.
    page.evaluate("() => new Promise((done) => setTimeout(done, 100))")
    return page, errors
