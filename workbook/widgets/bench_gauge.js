// The bench's round gauge: a scale from nothing to its top over three quarters of a turn, a needle.

import { benchLines, benchSvg, benchWord } from "./bench_drawing.js";
import { element } from "./elements.js";

/** @import { Words } from "./types.js" */

const BENCH_TURN = { from: -135, over: 270 }; // degrees, clockwise from upright
// Lengths, on a dial 320 wide. A class of marks is shown whole or not at all.
const BENCH_MARKS = { ten: 20, five: 14, one: 8 };

/**
 * @param {number} value
 * @param {number} top
 */
function benchAngle(value, top) {
  const share = Math.max(0, Math.min(1, value / top));
  return BENCH_TURN.from + share * BENCH_TURN.over;
}

/**
 * @param {number} angle
 * @param {number} radius
 */
export function benchAt(angle, radius, { x, y } = { x: 160, y: 160 }) {
  const turned = (angle * Math.PI) / 180;
  return [x + radius * Math.sin(turned), y - radius * Math.cos(turned)].map((n) => n.toFixed(2));
}

/** @param {number} radius */
function benchArc(radius) {
  const [from, to] = [BENCH_TURN.from, BENCH_TURN.from + BENCH_TURN.over];
  return `M${benchAt(from, radius)}A${radius},${radius} 0 1 1 ${benchAt(to, radius)}`;
}

/** @param {number} n */
function benchMarkKind(n) {
  if (Number.isInteger(n / 10)) return "ten";
  return Number.isInteger(n / 5) ? "five" : "one";
}

/** @param {number} top */
function benchScale(top) {
  /** @type {Element[]} */
  const parts = [benchSvg("path", { d: benchArc(146), class: "tpiece-bench-arc" })];
  for (let n = 0; n <= top; n += 1) {
    const kind = benchMarkKind(n);
    const angle = benchAngle(n, top);
    const d = `M${benchAt(angle, 144)}L${benchAt(angle, 144 - BENCH_MARKS[kind])}`;
    parts.push(benchSvg("path", { d, class: `tpiece-bench-mark tpiece-bench-mark-${kind}` }));
    if (kind === "ten") parts.push(benchNumber(n, angle));
  }
  return benchSvg("g", {}, ...parts);
}

/**
 * @param {number} n
 * @param {number} angle
 */
function benchNumber(n, angle) {
  const [x, y] = benchAt(angle, 104);
  return benchSvg("text", { x, y, class: "tpiece-bench-number" }, String(n));
}

function benchNeedle() {
  const d = "M155.5,192L159,30L161,30L164.5,192Q160,198 155.5,192Z";
  return benchSvg("path", { d, class: "tpiece-bench-needle" });
}

/**
 * The gauge reads as a meter: its value is told when asked for, never by itself.
 *
 * @param {Words} words
 * @param {number} top
 */
function benchMeter(words, top) {
  const root = element("div", { class: "tpiece-bench-gauge", role: "meter", "aria-valuemin": "0" });
  root.setAttribute("aria-label", benchWord(words, "benchGauge"));
  root.setAttribute("aria-valuemax", String(top));
  return root;
}

/**
 * @param {Words} words
 * @param {number} top
 */
export function benchGauge(words, top) {
  const root = benchMeter(words, top);
  const needle = benchNeedle();
  const beyond = benchSvg("text", { x: 160, y: 260, class: "tpiece-bench-beyond" });
  const unit = benchSvg("text", { x: 160, y: 248, class: "tpiece-bench-unit" });
  unit.append("cmH", benchSvg("tspan", { dy: 4, "font-size": "70%" }, "2"));
  unit.append(benchSvg("tspan", { dy: -4 }, "O"));
  const name = benchSvg("text", { x: 160, y: 112, class: "tpiece-bench-name" });
  name.append(benchWord(words, "benchGaugeName"));
  const hub = benchSvg("circle", { cx: 160, cy: 160, r: 11, class: "tpiece-bench-hub" });
  const face = benchSvg("circle", { cx: 160, cy: 160, r: 157, class: "tpiece-bench-face" });
  const drawing = { viewBox: "0 0 320 320", "aria-hidden": "true" };
  root.append(benchSvg("svg", drawing, face, benchScale(top), name, unit, beyond, needle, hub));
  return { root, show: benchReading(words, top, root, needle, beyond) };
}

/**
 * Only what has changed is written: a screen at rest costs nothing.
 *
 * @param {Words} words
 * @param {number} top
 * @param {Element} root
 * @param {Element} needle
 * @param {Element} beyond
 */
function benchReading(words, top, root, needle, beyond) {
  let shown = Number.NaN;
  let [turned, told] = ["", ""];
  return (/** @type {number} */ value) => {
    if (value === shown) return;
    shown = value;
    const angle = benchAngle(value, top).toFixed(2); // finer than an eye can see
    if (angle !== turned) needle.setAttribute("transform", `rotate(${(turned = angle)} 160 160)`);
    needle.setAttribute("data-value", String(value));
    const read = `${Math.round(value)}${value > top ? "+" : ""}`;
    if (read === told) return;
    told = read;
    const over = value > top;
    const word = over ? benchWord(words, "benchBeyond") : "";
    beyond.replaceChildren(...benchLines(word, 10, 160, 20));
    const number = String(Math.max(0, Math.min(top, Math.round(value))));
    root.setAttribute("aria-valuenow", number);
    const says = over ? word : `${number} cmH2O`;
    root.setAttribute("aria-valuetext", says);
  };
}
