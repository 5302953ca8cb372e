"""A page with one control and a stand-in for its kernel, in a bare browser."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import Browser, Page

from workbook.widgets import Control

_PAGE = """<!doctype html><html lang="en"><head><title>A control</title>
<meta name="color-scheme" content="light dark"><style>body{margin:1rem;background:Canvas}</style>
<style>%s</style></head><body><main><h1>A control</h1><div id="here"></div></main></body></html>"""

# A kernel can be ok, busy (it hears nothing), dead (sending fails) or refuse.
_STUB = """
([esm, traits]) => new Promise(async (ready) => {
  const url = URL.createObjectURL(new Blob([esm], { type: "text/javascript" }));
  const control = (await import(url)).default;
  const listeners = {};
  const say = (name, ...rest) => (listeners[name] ?? []).forEach((does) => does(...rest));
  const kernel = (globalThis.kernel = { mode: "ok", sent: [], kept: [], number: 1 });
  const model = (globalThis.model = {
    get: (name) => traits[name],
    set: (name, value) => { traits[name] = value; say(`change:${name}`); },
    on: (name, does) => (listeners[name] ??= []).push(does),
    off: (name, does) => { listeners[name] = (listeners[name] ?? []).filter((d) => d !== does); },
    send: (message) => {
      if (kernel.mode === "dead") throw new Error("no kernel");
      kernel.sent.push(message);
      if (kernel.mode === "busy" || message.kind !== "answer") return;
      const { client, seq, value } = message;
      setTimeout(() => {
        if (kernel.mode === "refuse") {
          return say("msg:custom", { kind: "refused", client, seq, says: "Not saved: disk full." });
        }
        kernel.kept.push(value);
        const told = { client, seq, number: (kernel.number += 1), at: "2026-05-04T10:00:00Z" };
        model.set("saved", { value, ...told });
        say("msg:custom", { kind: "saved", ...told });
      }, 5);
    },
  });
  globalThis.leave = control.render({ model, el: document.getElementById("here") });
  ready();
})
"""


def open_control(chromium: Browser, control: Control, **context: Any) -> Page:
    """Return a page that shows a control with its present state."""
    page = chromium.new_context(**context).new_page()
    page.set_content(_PAGE % control._css)
    names = [n for n in control.traits(sync=True) if not n.startswith("_")]
    traits = {n: getattr(control, n) for n in names if _plain(getattr(control, n))}
    page.evaluate(_STUB, [str(control._esm), traits])
    return page


def _plain(value: Any) -> bool:
    try:
        json.dumps(value)
    except TypeError:
        return False
    return True


def kept(page: Page) -> list[Any]:
    """Return the answers the stand-in kernel has written down."""
    found: list[Any] = page.evaluate("kernel.kept")
    return found


def axe(page: Page, source: str) -> list[str]:
    """Return the serious accessibility violations on a page."""
    page.evaluate(source)
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = page.evaluate("(tags) => axe.run(document, { runOnly: tags })", tags)
    return [
        f"{v['id']}: {v['nodes'][0]['html']}"
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
    ]
