"""A page with one control and a stand-in for its kernel, in a bare browser."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, Page

from workbook.widgets import Control

_PAGE = """<!doctype html><html lang="en"><head><title>A control</title>
<meta name="color-scheme" content="light dark"><style>body{margin:1rem;background:Canvas}</style>
<style>%s</style></head><body><main><h1>A control</h1></main></body></html>"""

# A kernel can be ok, busy (it hears nothing), dead (sending fails) or refuse. It serves every
# control on the page; `view` shows one more view of the first and returns how to close it.
_STUB = """
([esm, traits, n]) => (async () => {
  const url = URL.createObjectURL(new Blob([esm], { type: "text/javascript" }));
  const { default: control } = await import(url);
  const listeners = {};
  const say = (name, ...rest) => (listeners[name] ?? []).forEach((does) => does(...rest));
  const kernel = (globalThis.kernel ??= { mode: "ok", sent: [], kept: [], checks: 0, number: 1 });
  const reply = ({ client, seq, value }) => {
    if (kernel.mode === "refuse") {
      return say("msg:custom", { kind: "refused", client, seq, says: "Not saved: disk full." });
    }
    kernel.kept.push(value);
    const told = { client, seq, number: (kernel.number += 1), at: "2026-05-04T10:00:00Z" };
    model.set("saved", { value, ...told });
    say("msg:custom", { kind: "saved", ...told });
  };
  const model = {
    get: (name) => traits[name],
    set: (name, value) => { traits[name] = value; say(`change:${name}`); },
    on: (name, does) => (listeners[name] ??= []).push(does),
    off: (name, does) => { listeners[name] = (listeners[name] ?? []).filter((d) => d !== does); },
    send: (message) => {
      if (kernel.mode === "dead") throw new Error("no kernel");
      kernel.sent.push(message);
      if (kernel.mode === "busy") return;
      if (message.kind === "check") kernel.checks += 1;
      else if (["laws", "stop", "tell", "case"].includes(message.kind)) {
        globalThis.laws(message).then((told) => told && say("msg:custom", told));
      }
      else if (message.kind === "place") {
        globalThis.place?.(message).then((told) => told && say("msg:custom", told));
      }
      else setTimeout(() => reply(message), 5);
    },
  };
  const view = () => {
    const el = document.querySelector("main").appendChild(document.createElement("div"));
    return control.render({ model, el });
  };
  if (n === 0) Object.assign(globalThis, { model, view });
  const leave = view();
  if (n === 0) globalThis.leave = leave;
})()
"""


def open_control(
    chromium: Browser,
    *controls: Control,
    prepare: Callable[[Page], object] = bool,
    **context: Any,
) -> Page:
    """Return a page that shows controls with their present state, once it is prepared."""
    page = chromium.new_context(**context).new_page()
    prepare(page)
    styles = dict.fromkeys(str(control._css) for control in controls)  # each kind brings its own
    page.set_content(_PAGE % "\n".join(styles))
    for n, control in enumerate(controls):  # one after the other, so that they stand in order
        page.evaluate(_STUB, [str(control._esm), _traits(control), n])
    return page


@contextmanager
def faultless() -> Iterator[tuple[list[Page], list[str]]]:
    """Yield pages that are closed at the end, and their errors: there may be none."""
    pages: list[Page] = []
    errors: list[str] = []
    yield pages, errors
    for page in pages:
        page.context.close()
    assert errors == []


def open_live(
    browser: Browser, control: Control, errors: list[str], *asks: str, **context: Any
) -> Page:
    """Return a page whose control is answered by the workbook what it ``asks``, as a kernel does.

    What goes wrong on the page is added to ``errors``.
    """

    def prepare(page: Page) -> None:
        page.on("pageerror", lambda error: errors.append(str(error)))
        for each in asks:
            page.expose_function(each, answering(control))

    return open_control(browser, control, prepare=prepare, **context)


def answering(control: Control) -> Callable[[Any], Any]:
    """Return what answers a page's questions: for tables of a bench, for where a mask lies."""

    def answer(message: Any) -> Any:
        told: list[Any] = []
        control.send = lambda content, buffers=None: told.append(content)
        control._hear(None, message, [])
        return told[0] if told else None

    return answer


def _traits(control: Control) -> dict[str, Any]:
    names = [name for name in control.traits(sync=True) if not name.startswith("_")]
    return {n: getattr(control, n) for n in names if _plain(getattr(control, n))}


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


def axe(page: Page, source: str, within: str = "html") -> list[str]:
    """Return the serious accessibility violations in the parts of a page that match a selector."""
    page.evaluate(source)
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    run = """async ([within, tags]) => {
        const parts = [...document.querySelectorAll(within)];
        return axe.run({ include: parts }, { runOnly: tags });
    }"""
    found = page.evaluate(run, [within, tags])
    return [
        f"{v['id']}: {v['nodes'][0]['html']}"
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
    ]
