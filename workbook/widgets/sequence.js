// Steps to arrange: by buttons, by arrow keys, by typing a step's place, by dragging its handle.

import { button, element, focusable } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { same, Saver } from "./saving.js";
import { fill } from "./speech.js";

/** @import { Model, Render, SequenceTraits } from "./types.js" */

const PAUSE = 250; // milliseconds; a held arrow key sends once

/** @typedef {ReturnType<Steps["row"]>} Row */
class Steps {
  /**
   * @param {Model<SequenceTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.frame = new Frame(model, el, { group: true, showFigure });
    this.words = this.frame.words;
    this.locked = model.get("read_only");
    this.texts = new Map(model.get("items").map(({ id, text }) => [id, text]));
    this.order = [...model.get("start")];
    /** @type {string[][]} */
    this.past = [];
    /** @type {Map<string, Row>} */
    this.rows = new Map(this.order.map((id) => [id, this.row(id)]));
    this.list = element("ol", { class: "tpiece-steps" });
    this.list.append(...this.order.map((id) => this.rowOf(id).item));
    this.told = element("p", { class: "tpiece-told", "aria-live": "polite" });
    this.undo = button(this.words.undo, () => this.back());
    this.frame.body.append(
      this.list,
      element("div", { class: "tpiece-line" }, this.undo, this.told),
    );
    this.saver = new Saver(model, this.frame, (value) => this.show(value), "untouched");
    this.show(model.get("saved")?.value);
  }

  /** @param {string} id */
  row(id) {
    const handle = focusable("button", { type: "button", class: "tpiece-handle" });
    const up = button("↑", () => this.step(id, -1), this.words.up);
    const down = button("↓", () => this.step(id, 1), this.words.down);
    const place = focusable("input", { type: "text", inputmode: "numeric", class: "tpiece-place" });
    place.autocomplete = "off";
    handle.disabled = place.disabled = this.locked;
    const moves = element("span", { class: "tpiece-moves" }, up, down, place);
    const text = element("span", { class: "tpiece-text" }, this.texts.get(id) ?? "");
    const item = element("li", { class: "tpiece-step" }, handle, text, moves);
    item.addEventListener("keydown", (event) => this.keyed(event, id));
    handle.addEventListener("pointerdown", (event) => this.drag(event, id));
    place.addEventListener("change", () => this.placed(id, place));
    return { item, handle, up, down, place };
  }

  /** @param {string} id */
  rowOf(id) {
    return /** @type {Row} */ (this.rows.get(id));
  }

  // Show a saved order; the steps of another version of the question are left as they are.
  /** @param {unknown} value */
  show(value) {
    const known = Array.isArray(value) && same([...value].sort(), [...this.order].sort());
    if (known) this.order = [...value];
    this.past.length = 0;
    this.draw();
  }

  draw() {
    this.arrange();
    this.order.forEach((id, at) => this.name(id, at));
    this.undo.setAttribute("aria-disabled", String(this.locked || !this.past.length));
  }

  // The row in hand stays in the document: taken out, it would lose the focus or the pointer.
  arrange() {
    /** @param {string} id */
    const item = (id) => this.rowOf(id).item;
    /** @param {string} id */
    const held = (id) => item(id).matches("[data-dragged], :focus-within");
    const at = Math.max(0, this.order.findIndex(held));
    for (let n = at - 1; n >= 0; n -= 1) {
      const next = item(this.order[n + 1]);
      if (next.previousElementSibling !== item(this.order[n])) next.before(item(this.order[n]));
    }
    for (let n = at + 1; n < this.order.length; n += 1) {
      const last = item(this.order[n - 1]);
      if (last.nextElementSibling !== item(this.order[n])) last.after(item(this.order[n]));
    }
  }

  /**
   * @param {string} id
   * @param {number} at
   */
  name(id, at) {
    const { handle, up, down, place } = this.rowOf(id);
    const where = { step: this.texts.get(id), place: at + 1, count: this.order.length };
    handle.textContent = place.value = String(at + 1);
    handle.setAttribute("aria-label", fill(this.words.handle, where));
    up.setAttribute("aria-label", fill(this.words.upFull, where));
    down.setAttribute("aria-label", fill(this.words.downFull, where));
    place.setAttribute("aria-label", fill(this.words.placeFull, where));
    up.setAttribute("aria-disabled", String(this.locked || at === 0));
    down.setAttribute("aria-disabled", String(this.locked || at === this.order.length - 1));
  }

  /**
   * @param {KeyboardEvent} event
   * @param {string} id
   */
  keyed(event, id) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const { place } = this.rowOf(id);
    const at = this.order.indexOf(id);
    /** @type {Record<string, number>} */
    const ends = event.target === place ? {} : { Home: 0, End: this.order.length - 1 };
    /** @type {Record<string, number>} */
    const ways = { ArrowUp: at - 1, ArrowDown: at + 1, ...ends };
    const to = ways[event.key];
    if (event.key === "Enter" && event.target === place) this.placed(id, place);
    if (to === undefined) return;
    event.preventDefault();
    this.move(id, to);
  }

  /**
   * @param {string} id
   * @param {number} by
   */
  step(id, by) {
    this.move(id, this.order.indexOf(id) + by);
  }

  /**
   * @param {string} id
   * @param {HTMLInputElement} field
   */
  placed(id, field) {
    const to = Number.parseInt(field.value, 10) - 1;
    if (!Number.isNaN(to)) this.move(id, Math.max(0, Math.min(this.order.length - 1, to)));
    this.draw();
  }

  /**
   * @param {string} id
   * @param {number} to
   */
  move(id, to) {
    const at = this.order.indexOf(id);
    if (to < 0 || to >= this.order.length || to === at || this.locked) return;
    this.past.push([...this.order]);
    this.order.splice(to, 0, ...this.order.splice(at, 1));
    this.moved(id);
  }

  /** @param {string} id */
  moved(id) {
    const where = { step: this.texts.get(id), place: this.order.indexOf(id) + 1 };
    this.changed(fill(this.words.moved, { ...where, count: this.order.length }));
    this.rowOf(id).item.scrollIntoView({ block: "nearest" });
  }

  back() {
    this.order = this.past.pop() ?? this.order;
    this.changed(this.words.undone);
  }

  /** @param {string} says */
  changed(says) {
    this.draw();
    this.told.textContent = says;
    this.saver.offer([...this.order], PAUSE);
  }

  // The step goes where the pointer is: mouse, pen or finger.
  /**
   * @param {PointerEvent} event
   * @param {string} id
   */
  drag(event, id) {
    if (event.button || this.locked) return;
    const { handle, item } = this.rowOf(id);
    const before = [...this.order];
    /** @param {PointerEvent} event */
    const follow = ({ clientY }) => this.dragged(id, clientY);
    handle.setPointerCapture(event.pointerId);
    handle.addEventListener("pointermove", follow);
    item.dataset.dragged = "true";
    const drop = () => {
      delete item.dataset.dragged;
      handle.removeEventListener("pointermove", follow);
      if (same(before, this.order)) return;
      this.past.push(before);
      this.moved(id);
    };
    handle.addEventListener("lostpointercapture", drop, { once: true });
  }

  /**
   * @param {string} id
   * @param {number} y
   */
  dragged(id, y) {
    const others = this.order.filter((other) => other !== id);
    /** @param {string} other */
    const above = (other) => {
      const box = this.rowOf(other).item.getBoundingClientRect();
      return box.top + box.height / 2 < y;
    };
    const to = others.filter(above).length;
    if (to === this.order.indexOf(id)) return;
    this.order = [...others.slice(0, to), id, ...others.slice(to)];
    this.draw();
    this.rowOf(id).item.scrollIntoView({ block: "nearest" });
  }

  dispose() {
    this.saver.dispose();
    this.frame.dispose();
  }
}

/** @type {Render<SequenceTraits>} */
function render({ model, el }) {
  const steps = new Steps(model, el);
  return () => steps.dispose();
}

export default { render };
