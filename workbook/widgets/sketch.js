// A strip to sketch: a few points at given times, moved up and down by hand, by keys or by typing.
// Once the truth is known it is drawn over them.

import { element, focusable } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { axes, drawn, fitted, framed, round, subscript, wrote } from "./picture.js";
import { Saver } from "./saving.js";
import { fill, numeral } from "./speech.js";

/** @import { Model, Render, SketchTraits } from "./types.js" */

const SKETCH = { high: 320, leap: 5, pause: 800, reach: 26 }; // pixels; cmH2O; milliseconds; pixels

class SketchControl {
  /** @type {SVGSVGElement} */
  svg;
  /** @type {SVGGElement[]} */
  handles;
  /** @type {HTMLElement} */
  legend;
  /** @type {HTMLElement[]} */
  fields;
  /** @type {{ x: (value: number) => number, y: (value: number) => number, value: (pixel: number) => number } | undefined} */
  at;
  /** @type {number} */
  width;
  /** @type {SVGPathElement} */
  own;
  /** @type {{ id: number, n: number, off: number } | null} */
  held;
  /** @type {import("./types.js").Needle | null} */
  true;

  /**
   * @param {Model<SketchTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.model = model;
    this.frame = new Frame(model, el, { group: true, showFigure });
    this.words = this.frame.words;
    this.locked = model.get("read_only");
    this.given = model.get("sketch");
    this.points = [...this.given.first];
    /** @type {HTMLInputElement[]} */
    this.inputs = [];
    this.build();
    this.model.on("change:feedback", (this.onTold = () => this.reveal()));
    this.saver = new Saver(model, this.frame, (value) => this.take(value), "untouched");
    this.take(/** @type {{ pressures?: number[] } | undefined} */ (model.get("saved")?.value));
    this.reveal();
  }

  // --- building

  build() {
    const { words, given, frame } = this;
    const { times, covered: [from, to], top, step } = given;
    const says = fill(words.sketchGroup, { seconds: times[times.length - 1], top, from, to });
    this.svg = fitted(says, SKETCH.high, (width) => this.draw(width));
    this.svg.setAttribute("role", "group");
    this.svg.classList.add("tpiece-sketch");
    this.handles = times.map((time, n) => this.handle(time, n));
    this.legend = element("p", { class: "tpiece-sketch-legend" });
    const how = element("p", { class: "tpiece-help" }, fill(words.sketchHow, { step }));
    frame.body.append(how, framed("", this.svg, this.legend, this.typing()));
    for (const kind of /** @type {const} */ (["pointermove", "pointerup", "pointercancel"])) {
      this.svg.addEventListener(kind, (event) => this.drag(event));
    }
  }

  /**
   * @param {number} time
   * @param {number} n
   */
  handle(time, n) {
    const { words, given } = this;
    const [from, to] = given.covered;
    const hole = time > from && time <= to ? words.sketchCovered : words.sketchOpen;
    const node = drawn("g", {
      role: "slider", tabindex: "0", class: "tpiece-sketch-point", "aria-orientation": "vertical",
      "aria-label": fill(words.sketchPoint, { time, hole }), "aria-valuemin": "0",
      "aria-valuemax": String(given.top), "aria-disabled": String(Boolean(this.locked)),
      "data-lm-suppress-shortcuts": "true",
    }, ...[SKETCH.reach, 15, 9].map((r, at) => drawn("circle", { r, class: `tpiece-sketch-${["felt", "focus", "dot"][at]}` })));
    node.addEventListener("pointerdown", (event) => this.grab(event, n));
    node.addEventListener("touchstart", (event) => this.locked || event.preventDefault(), { passive: false });
    node.addEventListener("keydown", (event) => this.keyed(event, n));
    node.addEventListener("blur", () => this.saver.flush());
    return node;
  }

  typing() {
    const { words, given } = this;
    this.fields = given.times.map((time, n) => {
      const input = focusable("input", { type: "text", inputmode: "decimal", autocomplete: "off", class: "tpiece-field" });
      input.disabled = this.locked;
      this.inputs.push(input);
      input.addEventListener("input", () => this.typed(input, n));
      input.addEventListener("change", () => this.saver.flush());
      return element("label", {}, element("span", {}, fill(words.sketchTime, { time })), input);
    });
    const fold = element("details", {}, focusable("summary", {}, `${words.sketchTyped} (cmH₂O)`));
    fold.append(element("div", { class: "tpiece-sketch-fields" }, ...this.fields));
    return fold;
  }

  // --- what moves a point

  /**
   * @param {number} n
   * @param {number} value
   */
  put(n, value) {
    if (this.locked) return;
    const { step, top } = this.given;
    this.points[n] = Math.round(Math.min(top, Math.max(0, value)) / step) * step;
    this.keep();
  }

  // Points that were left where they stand are an answer too, once one was touched.
  keep() {
    this.place();
    this.saver.offer({ format: "tpiece-sketch", version: 1, pressures: [...this.points] }, SKETCH.pause);
  }

  /**
   * @param {KeyboardEvent} event
   * @param {number} n
   */
  keyed(event, n) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const { step, top } = this.given;
    const { leap } = SKETCH;
    /** @type {Record<string, number>} */
    const ways = { ArrowUp: step, ArrowRight: step, ArrowDown: -step, ArrowLeft: -step, PageUp: leap, PageDown: -leap, Enter: 0, " ": 0 };
    /** @type {Record<string, number>} */
    const ends = { Home: 0, End: top };
    const to = ends[event.key] ?? this.points[n] + ways[event.key];
    if (Number.isNaN(to)) return;
    event.preventDefault();
    this.put(n, to);
  }

  // Where points lie close together, the nearest to the finger is taken.
  /**
   * @param {PointerEvent} event
   * @param {number} n
   */
  grab(event, n) {
    const scale = this.at;
    if (event.button || this.locked || !scale) return;
    event.preventDefault();
    const [x, y] = this.pixels(event);
    /** @param {number} at */
    const far = (at) => Math.hypot(scale.x(this.given.times[at]) - x, scale.y(this.points[at]) - y);
    const near = this.points.map((_, at) => at).reduce((one, two) => (far(two) < far(one) ? two : one), n);
    this.handles[near].focus({ preventScroll: true });
    this.svg.setPointerCapture(event.pointerId);
    this.held = { id: event.pointerId, n: near, off: scale.y(this.points[near]) - y };
    this.keep();
  }

  /** @param {PointerEvent} event */
  drag(event) {
    if (!this.at || this.held?.id !== event.pointerId) return;
    if (event.type !== "pointermove") {
      this.held = null;
      return this.saver.flush();
    }
    const { n, off } = this.held;
    this.put(n, this.at.value(this.pixels(event)[1] + off));
  }

  /** @param {PointerEvent} event */
  pixels({ clientX, clientY }) {
    const box = this.svg.getBoundingClientRect();
    return [clientX - box.left, clientY - box.top];
  }

  // What is typed stays in its field; only a pressure of the scale moves its point.
  /**
   * @param {HTMLInputElement} input
   * @param {number} n
   */
  typed(input, n) {
    const text = input.value.trim().replace(",", ".");
    const fine = /^(\d+\.?\d*|\.\d+)$/.test(text) && Number(text) <= this.given.top;
    input.setAttribute("aria-invalid", String(!fine));
    if (!fine) return;
    this.points[n] = Number(text);
    this.keep();
  }

  // --- what is shown

  /** @param {{ pressures?: number[] } | undefined} value */
  take(value) {
    if (value?.pressures?.length === this.points.length) this.points = [...value.pressures];
    this.place();
  }

  reveal() {
    this.true = this.model.get("feedback")?.strip ?? null;
    if (this.at) this.draw(this.width);
    this.tell();
  }

  tell() {
    const { words, given } = this;
    const says = [fill(words.sketchStart, { start: given.start_says }), words.sketchOwn];
    if (this.true) says.push(fill(words.sketchTrue, { true: given.true_says }));
    this.legend.textContent = `${says.join(". ")}.`;
  }

  /** @param {number} width */
  draw(width) {
    const { words, given } = this;
    const title = { y: fill(words.stripPressure, { unit: subscript("cmH2O") }), x: words.stripTime };
    const y = { from: 0, to: given.top, title: title.y };
    const made = axes(width, SKETCH.high, { from: 0, to: given.times[given.times.length - 1], title: title.x }, y);
    const { box, at } = made;
    /** @param {number} pixel */
    const value = (pixel) => ((box.foot - pixel) / (box.foot - box.top)) * given.top;
    Object.assign(this, { width, at: { ...at, value } });
    const [from, to] = given.covered.map(at.x);
    /**
     * @param {import("./types.js").Needle} needle
     * @param {string} kind
     */
    const line = ({ time, pressure }, kind) => drawn("path", {
      d: `M${time.map((t, n) => `${at.x(t).toFixed(1)},${at.y(pressure[n]).toFixed(1)}`).join("L")}`, class: `tpiece-${kind}`,
    });
    const band = drawn("rect", { x: from, y: box.top, width: to - from, height: box.foot - box.top, class: "tpiece-easy" });
    this.own = drawn("path", { class: "tpiece-sketch-own" });
    const name = wrote((from + to) / 2, box.top + 16, words.sketchCovered, { class: "tpiece-middle" });
    const still = drawn("g", { "aria-hidden": "true" }, band, ...made.parts, name, line(given.start, "sketch-start"));
    if (this.true) still.append(line(this.true, "curve"));
    still.append(this.own);
    /** @type {Element[]} */
    const parts = [still, ...this.handles];
    this.place();
    this.svg.replaceChildren(...parts);
    return parts;
  }

  place() {
    this.points.forEach((value, n) => {
      this.handles[n].setAttribute("aria-valuenow", String(value));
      this.handles[n].setAttribute("aria-valuetext", fill(this.words.sketchSays, { value: String(round(value, 1)) }));
      const input = this.inputs[n];
      if (input !== document.activeElement) input.value = numeral(round(value, 1));
    });
    if (!this.at) return;
    const { x, y } = this.at;
    const spots = this.points.map((value, n) => [x(this.given.times[n]).toFixed(1), y(value).toFixed(1)]);
    this.handles.forEach((node, n) => node.setAttribute("transform", `translate(${spots[n]})`));
    this.own.setAttribute("d", `M${spots.map((each) => each.join(",")).join("L")}`);
  }

  dispose() {
    this.model.off("change:feedback", this.onTold);
    this.saver.dispose();
    this.frame.dispose();
  }
}

/** @type {Render<SketchTraits>} */
function render({ model, el }) {
  const sketch = new SketchControl(model, el);
  return () => sketch.dispose();
}

export default { render };
