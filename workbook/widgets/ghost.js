// A gauge with a needle of the learner's own: dragged, or moved by keys, to where it will stand. The
// number typed below is the same answer; once the truth is known it is drawn over it.

import { element, focusable } from "./elements.js";
import { drawn, gaugeAngle, gaugeScale, round, subscript, TURN, wrote } from "./picture.js";
import { numeral } from "./speech.js";

/** @import { Words } from "./types.js" */

export const GHOST = { parked: 180, step: 0.5, leap: 10, digits: 2 }; // degrees; cmH2O; of another unit

export class GhostNeedle {
  // `moved(value)` hears where a hand puts the needle (cmH2O).
  /**
   * @param {Words} words
   * @param {number} top
   * @param {boolean} locked
   * @param {(value: number) => void} moved
   */
  constructor(words, top, locked, moved) {
    this.words = words;
    this.top = top;
    this.locked = locked;
    this.moved = moved;
    this.known = false;
    /** @type {number | null} */
    this.value = null;
    this.needle = drawn("g", { class: "tpiece-ghost" },
      drawn("path", { d: "M160,176V44", class: "tpiece-ghost-felt" }),
      drawn("path", { d: "M155,184L159,36L161,36L165,184Q160,190 155,184Z", class: "tpiece-ghost-line" }),
      drawn("circle", { cx: 160, cy: 100, r: 13, class: "tpiece-ghost-grip" }));
    this.truth = drawn("path", { d: "M155,188L159,36L161,36L165,188Q160,194 155,188Z", class: "tpiece-needle" });
    this.truth.setAttribute("visibility", "hidden");
    const svg = this.svg = drawn("svg", { viewBox: "0 0 320 320", class: "tpiece-gauge", "aria-hidden": "true" });
    svg.append(drawn("circle", { cx: 160, cy: 160, r: 157, class: "tpiece-face" }), gaugeScale(top, 1));
    svg.append(wrote(160, 112, subscript("cmH2O"), { class: "tpiece-unit" }));
    svg.append(this.truth, this.needle, drawn("circle", { cx: 160, cy: 160, r: 11, class: "tpiece-hub" }));
    this.dial = focusable("div", {
      role: "slider", tabindex: locked ? "-1" : "0", class: "tpiece-ghost-dial tpiece-ltr",
      "aria-label": words.ghost, "aria-valuemin": "0", "aria-valuemax": String(top),
      "aria-disabled": String(Boolean(locked)),
    }, svg);
    this.legend = element("p", { class: "tpiece-ghost-says" });
    this.root = element("div", { class: "tpiece-ghost-place" }, this.dial, this.legend);
    this.show(null);
    if (!locked) this.listen();
  }

  listen() {
    const { dial } = this;
    /** @type {Record<string, number | undefined>} */
    const ways = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: GHOST.leap, PageDown: -GHOST.leap };
    dial.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const way = ways[event.key];
      const half = event.shiftKey && Math.abs(way ?? 0) === 1 ? GHOST.step : 1;
      /** @type {Record<string, number | undefined>} */
      const ends = { Home: 0, End: this.top };
      const to = ends[event.key] ?? (way && (this.value ?? 0) + way * half);
      if (to === undefined) return;
      event.preventDefault();
      this.put(to);
    });
    /** @type {number | null} */
    let held = null;
    dial.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      const grips = event.target instanceof Element && event.target.closest(".tpiece-ghost");
      if (grips) event.preventDefault();
      dial.focus({ preventScroll: true });
      held = grips ? event.pointerId : null;
      if (grips) dial.setPointerCapture(event.pointerId);
    });
    dial.addEventListener("pointermove", (event) => held === event.pointerId && this.point(event));
    for (const kind of ["pointerup", "pointercancel"]) dial.addEventListener(kind, () => (held = null));
    dial.addEventListener("click", (event) => this.point(event));
  }

  // To where a finger points; in the gap of the scale to its nearer end.
  /** @param {MouseEvent} event */
  point({ clientX, clientY, target }) {
    const { left, top, width, height } = this.svg.getBoundingClientRect();
    const [x, y] = [clientX - left - width / 2, top + height / 2 - clientY];
    if (Math.hypot(x, y) < width / 12 || !target) return;
    const share = ((Math.atan2(x, y) * 180) / Math.PI - TURN.from) / TURN.over;
    this.put(this.top * Math.min(1, Math.max(0, share)));
  }

  /** @param {number} value */
  put(value) {
    const at = Math.round(Math.min(this.top, Math.max(0, value)) / GHOST.step) * GHOST.step;
    if (at === this.value) return;
    this.show(at);
    this.moved(at);
  }

  // Where the needle stands (cmH2O); null while nobody placed it: then it hangs off the scale.
  /** @param {number | null} value */
  show(value) {
    this.value = value;
    const angle = value === null ? GHOST.parked : gaugeAngle(value, this.top);
    this.needle.setAttribute("transform", `rotate(${angle.toFixed(2)} 160 160)`);
    const says = value === null ? this.words.ghostParked : `${numeral(round(value, 1))} cmH2O`;
    this.dial.setAttribute("aria-valuenow", String(value === null ? 0 : Math.min(this.top, Math.max(0, value))));
    this.dial.setAttribute("aria-valuetext", says);
    this.tell();
  }

  // What the gauge really shows (cmH2O), drawn over it; nothing while it is not known.
  /** @param {number | undefined} value */
  reveal(value) {
    this.known = value !== undefined && Number.isFinite(value);
    this.truth.setAttribute("visibility", this.known ? "visible" : "hidden");
    if (value !== undefined && this.known) this.truth.setAttribute("transform", `rotate(${gaugeAngle(value, this.top).toFixed(2)} 160 160)`);
    this.tell();
  }

  tell() {
    const { ghostHow, ghostTold } = this.words;
    this.legend.textContent = this.known ? ghostTold : this.value === null && !this.locked ? ghostHow : "";
  }
}
