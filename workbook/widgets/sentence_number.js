// A number in a sentence: dragged sideways, moved by keys or by the button at either end, or typed.

import { button, element, focusable } from "./elements.js";
import { fill } from "./speech.js";

/** @import { Stop, Words } from "./types.js" */

const SENTENCE_DRAG = { least: 3, across: 260 }; // pixels: to begin; over all values at most
const SENTENCE_STEP = 16; // pixels from one value to the next at most
const SENTENCE_LEAP = 5; // values

export class SentenceNumber {
  // `stops` are its values in order: {value, text, says, unit}; `move(at)` hears of each change.
  /**
   * @param {Words} words
   * @param {string} label
   * @param {Stop[]} stops
   * @param {number} at
   * @param {(at: number) => void} move
   */
  constructor(words, label, stops, at, move) {
    this.words = words;
    this.label = label;
    this.stops = stops;
    this.at = at;
    this.move = move;
    this.typed = false;
    /** @type {((says: string) => void) | undefined} */
    this.wrong = undefined;
    const id = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.input = focusable("input", {
      type: "text", inputmode: "decimal", role: "spinbutton", autocomplete: "off",
      "aria-label": label, "aria-describedby": id, class: "tpiece-sentence-value",
      "aria-valuemin": String(stops[0].value), "aria-valuemax": String(stops[stops.length - 1].value),
    });
    this.input.style.width = `${Math.max(...stops.map(({ text }) => text.length)) + 1.5}ch`;
    this.unit = element("span", { class: "tpiece-sentence-unit", "aria-hidden": "true" });
    this.how = element("p", { id, class: "tpiece-unseen" }, words.sentenceHow);
    const keys = [this.key("−", -1, words.sentenceLess), this.key("+", 1, words.sentenceMore)];
    this.keys = keys;
    const grip = element("span", { class: "tpiece-sentence-grip tpiece-ltr" }, keys[0], this.input, keys[1]);
    this.root = element("span", { class: "tpiece-sentence-number" }, grip, " ", this.unit);
    this.listenKeys();
    this.listenDrag();
    this.show();
  }

  /**
   * @param {string} sign
   * @param {number} way
   * @param {string} says
   */
  key(sign, way, says) {
    const node = button(sign, () => this.put(this.at + way), fill(says, { label: this.label }));
    node.setAttribute("aria-label", node.title);
    return node;
  }

  /** @param {number} at */
  put(at) {
    const next = Math.min(Math.max(at, 0), this.stops.length - 1);
    const moved = next !== this.at;
    this.at = next;
    this.show();
    if (moved) this.move(next);
  }

  show() {
    const { text, value, says, unit } = this.stops[this.at];
    this.typed = false;
    this.input.value = text;
    this.unit.textContent = unit;
    this.input.removeAttribute("aria-invalid");
    this.input.setAttribute("aria-valuenow", String(value));
    this.input.setAttribute("aria-valuetext", says);
    this.keys[0].setAttribute("aria-disabled", String(this.at === 0));
    this.keys[1].setAttribute("aria-disabled", String(this.at === this.stops.length - 1));
  }

  // --- typing

  get ways() {
    const last = this.stops.length - 1;
    const [up, down] = [this.at + 1, this.at - 1];
    /** @type {Record<string, number>} */
    const ways = { ArrowUp: up, ArrowDown: down, Home: 0, End: last };
    Object.assign(ways, { PageUp: this.at + SENTENCE_LEAP, PageDown: this.at - SENTENCE_LEAP });
    if (!this.typed) Object.assign(ways, { ArrowRight: up, ArrowLeft: down, "+": up, "-": down });
    return ways;
  }

  listenKeys() {
    const { input } = this;
    input.addEventListener("keydown", (event) => {
      const { key, ctrlKey, altKey, metaKey } = event;
      if (ctrlKey || altKey || metaKey) return;
      const next = this.ways[key];
      if (next !== undefined) this.put(next);
      else if (key === "Enter") this.take();
      else if (key === "Escape" && this.typed) this.show();
      else return;
      event.preventDefault();
    });
    input.addEventListener("input", () => (this.typed = true));
    input.addEventListener("blur", () => this.typed && this.take());
    input.addEventListener("focus", () => input.select());
  }

  // What was typed moves the number to the nearest value; what is no number in its range is told.
  take() {
    const number = Number.parseFloat(this.input.value.replace(",", "."));
    const [low, high] = [this.stops[0], this.stops[this.stops.length - 1]];
    if (!(number >= low.value && number <= high.value)) {
      this.show();
      this.input.setAttribute("aria-invalid", "true");
      this.wrong?.(fill(this.words.sentenceWrong, { low: low.text, high: high.text }));
      return;
    }
    /** @param {Stop} stop */
    const off = ({ value }) => Math.abs(value - number);
    const nearest = this.stops.reduce((best, one, n) => (off(one) < off(this.stops[best]) ? n : best), 0);
    this.put(nearest);
    this.input.select();
  }

  // --- dragging

  listenDrag() {
    const { input } = this;
    /** @type {{ pointerId: number, from: number, at: number, drags: boolean } | null} */
    let grip = null;
    input.addEventListener("mousedown", (event) => {
      if (document.activeElement !== input) event.preventDefault(); // a drag selects no text
    });
    input.addEventListener("pointerdown", ({ button: which, pointerId, clientX }) => {
      if (!which) grip = { pointerId, from: clientX, at: this.at, drags: false };
    });
    input.addEventListener("pointermove", (event) => {
      if (grip?.pointerId !== event.pointerId) return;
      const far = event.clientX - grip.from;
      if (!grip.drags && Math.abs(far) < SENTENCE_DRAG.least) return;
      if (!grip.drags) input.setPointerCapture(event.pointerId);
      grip.drags = true;
      event.preventDefault();
      const step = Math.min(SENTENCE_STEP, SENTENCE_DRAG.across / this.stops.length);
      this.put(grip.at + Math.round(far / step));
    });
    // A finger that goes sideways moves the number; any other way it scrolls the page.
    input.addEventListener("touchmove", (event) => grip?.drags && event.preventDefault(), { passive: false });
    for (const kind of /** @type {const} */ (["pointerup", "pointercancel"])) {
      input.addEventListener(kind, (event) => {
        if (grip?.pointerId !== event.pointerId) return;
        if (kind === "pointerup" && !grip.drags) input.focus();
        grip = null;
      });
    }
  }
}
