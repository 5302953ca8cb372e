// Pictures a question shows: a round gauge and a pressure-time strip, each with its text twin.

import { element, focusable } from "./elements.js";
import { fill, numeral } from "./speech.js";

/** @import { Axis, ChestFigure, GaugeFigure, Plot, StripFigure, Words } from "./types.js" */

// The browser's own name for drawings, so that no control names an address.
const SVG = new DOMParser().parseFromString("<svg>", "text/html").body.firstElementChild?.namespaceURI;
export const TURN = { from: -135, over: 270 }; // degrees of the scale, clockwise from upright
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500]; // between two numbers of an axis
const PLOT = { left: 48, right: 16, top: 30, foot: 46 }; // pixels around a plot

/**
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, unknown>} attributes
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[Name]}
 */
export function drawn(name, attributes = {}, ...children) {
  const node = document.createElementNS(/** @type {"http://www.w3.org/2000/svg"} */ (SVG), name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/**
 * @param {number | string} x
 * @param {number | string} y
 * @param {string} text
 * @param {Record<string, unknown>} more
 */
export function wrote(x, y, text, more = {}) {
  return drawn("text", { x, y, ...more }, numeral(text));
}

/** @param {string} unit */
export function subscript(unit) {
  return unit.replace("H2O", "H₂O");
}

/**
 * A drawing as wide as its place, drawn anew when that changes, so that its words keep their size.
 *
 * @param {string} says
 * @param {number} height
 * @param {(width: number) => Element[]} draw
 */
export function fitted(says, height, draw) {
  const svg = drawn("svg", { role: "img", "aria-label": says, class: "tpiece-drawing", height });
  new ResizeObserver(([{ contentRect: { width } }]) => {
    if (width > 0) svg.replaceChildren(...draw(width));
  }).observe(svg);
  return svg;
}

/**
 * The text twin of a drawing: a sentence and its numbers.
 *
 * @param {Words} words
 * @param {string} says
 * @param {string[]} head
 * @param {(string | number)[][]} rows
 */
export function twin(words, says, head, rows) {
  const cells = (/** @type {"td"} */ tag, /** @type {unknown[]} */ texts) => texts.map((text) => element(tag, {}, numeral(text)));
  const first = element("tr", {}, ...head.map((text) => element("th", { scope: "col" }, text)));
  const rest = rows.map((row) => element("tr", {}, ...cells("td", row)));
  const table = element("table", {}, element("thead", {}, first), element("tbody", {}, ...rest));
  const summary = focusable("summary", {}, words.twin);
  return element("details", {}, summary, element("p", {}, says), table);
}

/**
 * @param {string | undefined} title
 * @param {...Element} parts
 */
export function framed(title, ...parts) {
  const root = element("figure", { class: "tpiece-figure" });
  if (title) root.append(element("figcaption", {}, title));
  root.append(...parts);
  return root;
}

// --- the gauge

/**
 * @param {number} value
 * @param {number} top
 */
export function gaugeAngle(value, top) {
  return TURN.from + Math.max(0, Math.min(1, value / top)) * TURN.over;
}

/**
 * @param {number} angle
 * @param {number} radius
 */
function around(angle, radius) {
  const turned = (angle * Math.PI) / 180;
  const at = [160 + radius * Math.sin(turned), 160 - radius * Math.cos(turned)];
  return at.map((n) => n.toFixed(2));
}

/**
 * @param {number} n
 * @param {number} top
 * @param {number} minor
 */
function gaugeMark(n, top, minor) {
  const [ten, five] = [n % 10 === 0, n % 5 === 0 && minor === 1];
  const angle = gaugeAngle(n, top);
  const kind = ten ? "ten" : five ? "five" : "one";
  const long = { ten: 22, five: 16, one: 10 }[kind];
  const line = `M${around(angle, 144)}L${around(angle, 144 - long)}`;
  const mark = drawn("path", { d: line, class: `tpiece-mark tpiece-mark-${kind}` });
  if (!ten) return [mark];
  const [x, y] = around(angle, 103);
  return [mark, wrote(x, y, String(n), { class: "tpiece-gauge-number" })];
}

/**
 * @param {number} top
 * @param {number} minor
 */
export function gaugeScale(top, minor) {
  const [from, to] = [around(TURN.from, 144), around(TURN.from + TURN.over, 144)];
  const arc = drawn("path", { d: `M${from}A144,144 0 1 1 ${to}`, class: "tpiece-arc" });
  const count = Math.floor(top / minor);
  const marks = Array.from({ length: count + 1 }, (_, n) => gaugeMark(n * minor, top, minor));
  return drawn("g", {}, arc, ...marks.flat());
}

/**
 * A round gauge. What it is called does not tell the value as a number, unless that is shown too:
 * it says where the needle points by the marks, as the eye sees it.
 *
 * @param {GaugeFigure} figure
 * @param {Words} words
 */
function drawGauge({ value, top, label, unit = "cmH2O", minor, hide_value = true }, words) {
  const marks = minor ?? (top > 40 ? 2 : 1);
  const scale = fill(words.gaugeScale, { top, unit, minor: marks });
  const place = hide_value
    ? needlePlace(value, top, marks, words)
    : fill(words.gaugeValue, { value, unit });
  const says = [...(label ? [`${label}.`] : []), scale, place].join(" ");
  const angle = gaugeAngle(value, top);
  const svg = drawn("svg", { role: "img", "aria-label": says, viewBox: "0 0 320 320" });
  svg.setAttribute("class", "tpiece-gauge");
  const d = "M155,188L159,36L161,36L165,188Q160,194 155,188Z";
  const needle = drawn("path", { d, class: "tpiece-needle" });
  needle.setAttribute("transform", `rotate(${angle} 160 160)`);
  svg.append(drawn("circle", { cx: 160, cy: 160, r: 157, class: "tpiece-face" }));
  svg.append(gaugeScale(top, marks), wrote(160, 262, subscript(unit), { class: "tpiece-unit" }));
  if (!hide_value) svg.append(wrote(160, 290, String(value), { class: "tpiece-gauge-number" }));
  svg.append(needle, drawn("circle", { cx: 160, cy: 160, r: 11, class: "tpiece-hub" }));
  return svg;
}

/**
 * @param {number} value
 * @param {number} top
 * @param {number} minor
 * @param {Words} words
 */
function needlePlace(value, top, minor, words) {
  if (value >= top) return words.needleBeyond;
  const low = Math.max(0, value);
  const ten = Math.floor(low / 10) * 10;
  const halves = Math.round(((low - ten) / minor) * 2);
  const [marks, half] = [Math.floor(halves / 2), halves % 2 === 1];
  if (!half && marks * minor >= 10) return fill(words.needleAt, { ten: ten + 10 });
  const says = half
    ? [words.needleHalf, words.needleMoreHalf][Math.min(marks, 1)]
    : [words.needleAt, words.needleOne, words.needleMore][Math.min(marks, 2)];
  return fill(says, { ten, marks });
}

// --- plots

/**
 * The smallest step whose numbers stand apart by so many pixels.
 *
 * @param {number} range
 * @param {number} pixels
 * @param {number} apart
 */
function stepOf(range, pixels, apart) {
  return STEPS.find((step) => (step / range) * pixels >= apart) ?? STEPS[STEPS.length - 1];
}

/**
 * Where lines of an axis stand: the numbered ones, and finer ones where there is room.
 *
 * @param {number} from
 * @param {number} to
 * @param {number} pixels
 * @param {number} apart
 */
function linesOf(from, to, pixels, apart) {
  const step = stepOf(to - from, pixels, apart);
  const finer = step === 10 ? [1, 2, 5] : [step / 5, step / 2];
  const fine = finer.find((size) => (size / (to - from)) * pixels >= 7) ?? step;
  const every = (/** @type {number} */ size) => {
    const first = Math.ceil(from / size - 1e-9);
    const count = Math.floor(to / size + 1e-9) - first;
    return Array.from({ length: count + 1 }, (_, n) => Number(((first + n) * size).toFixed(6)));
  };
  return { numbered: every(step), fine: every(fine) };
}

/**
 * Axes, gridlines and numbers of a plot: x to the right, y upwards, each { from, to, title }.
 * With a `count` the plot shows so many things side by side: it has no uprights and no fine lines.
 *
 * @param {number} width
 * @param {number} height
 * @param {Axis} x
 * @param {Axis} y
 */
export function axes(width, height, x, y) {
  const { left, top } = PLOT;
  const box = { left, right: width - PLOT.right, top, foot: height - PLOT.foot };
  const [wide, high] = [box.right - box.left, box.foot - box.top];
  const at = {
    x: (/** @type {number} */ value) => box.left + ((value - x.from) / (x.to - x.from)) * wide,
    y: (/** @type {number} */ value) => box.foot - ((value - y.from) / (y.to - y.from)) * high,
  };
  const [across, up] = [linesOf(x.from, x.to, wide, 44), linesOf(y.from, y.to, high, 28)];
  const counts = (/** @type {number} */ n) => Number.isInteger(n) && n > 0 && n <= (x.count ?? 0);
  const numbers = x.count ? across.numbered.filter(counts) : across.numbered;
  const upright = (/** @type {number} */ n) => `M${at.x(n).toFixed(1)},${box.top}V${box.foot}`;
  const level = (/** @type {number} */ n) => `M${box.left},${at.y(n).toFixed(1)}H${box.right}`;
  const fine = x.count ? "" : [...across.fine.map(upright), ...up.fine.map(level)].join("");
  const uprights = x.count ? [] : across.numbered.map(upright);
  const main = [...uprights, ...up.numbered.map(level)].join("");
  const middle = (/** @type {number} */ n) => wrote(at.x(n), box.foot + 18, String(n), { class: "tpiece-middle" });
  const before = (/** @type {number} */ n) => wrote(box.left - 8, at.y(n) + 5, String(n), { class: "tpiece-end" });
  const parts = [
    drawn("path", { d: fine, class: "tpiece-grid-fine" }),
    drawn("path", { d: main, class: "tpiece-grid" }),
    drawn("path", { d: `M${box.left},${box.top}V${box.foot}H${box.right}`, class: "tpiece-axis" }),
    ...numbers.map(middle),
    ...up.numbered.map(before),
    wrote(4, 16, y.title, { class: "tpiece-axis-title" }),
    wrote(box.right, height - 6, x.title, { class: "tpiece-axis-title tpiece-end" }),
  ];
  return { parts, at, box };
}

/**
 * The edges of a band, dashed, each with its number at the right end.
 *
 * @param {Plot} plot
 * @param {number} [low]
 * @param {number} [high]
 */
export function bandLines({ at, box }, low, high) {
  const known = [low, high].filter((value) => value !== undefined).filter(Number.isFinite);
  const line = (/** @type {number} */ n) => drawn("path", { d: `M${box.left},${at.y(n)}H${box.right}` });
  const lines = known.map(line);
  for (const one of lines) one.setAttribute("class", "tpiece-limit");
  const side = (/** @type {number} */ n) => (n === low && known.length > 1 ? 15 : -5);
  const label = (/** @type {number} */ n) => wrote(box.right - 4, at.y(n) + side(n), String(n), { class: "tpiece-end" });
  const texts = known.map(label);
  for (const text of texts) text.classList.add("tpiece-limit-text");
  return [...lines, ...texts];
}

/**
 * Pressure over time, with axes to read it by: `low` and `high` are the ends of the pressure axis,
 * whole tens around the curve by themselves; `band` the edges of what is aimed at, if any.
 *
 * @param {StripFigure} figure
 * @param {Words} words
 */
function drawStrip({ title, time, pressure, low, high, band = [], unit = "cmH2O" }, words) {
  const all = [...pressure, ...band];
  const y = {
    from: low ?? Math.min(0, Math.floor(Math.min(...all) / 10) * 10),
    to: high ?? Math.max(10, Math.ceil((Math.max(...all) + 1) / 10) * 10),
    title: fill(words.stripPressure, { unit: subscript(unit) }),
  };
  const x = { from: time[0], to: time[time.length - 1], title: words.stripTime };
  const told = { seconds: round(x.to - x.from, 1), bottom: y.from, top: y.to, unit };
  const says = [title, fill(words.strip, told)].filter(Boolean).join(": ");
  return fitted(says, 300, (width) => {
    const made = axes(width, 300, x, y);
    const inside = (/** @type {number} */ value) => Math.max(y.from, Math.min(y.to, value));
    const place = (/** @type {number} */ t, /** @type {number} */ value) => [made.at.x(t).toFixed(1), made.at.y(inside(value)).toFixed(1)];
    const point = (/** @type {number} */ t, /** @type {number} */ n) => place(t, pressure[n]).join(",");
    const curve = drawn("path", { d: `M${time.map(point).join("L")}`, class: "tpiece-curve" });
    return [...made.parts, ...bandLines(made, ...band), curve];
  });
}

/**
 * @param {number} value
 * @param {number} digits
 */
export function round(value, digits) {
  return Number(value.toFixed(digits));
}

/**
 * The corners of a curve: the fewest points whose straight lines stay this close to it.
 *
 * @param {number[]} time
 * @param {number[]} pressure
 * @param {number} close
 */
function corners(time, pressure, close) {
  const kept = new Set([0, time.length - 1]);
  const parts = [[0, time.length - 1]];
  for (let part = parts.pop(); part; part = parts.pop()) {
    const [from, to] = part;
    const slope = (pressure[to] - pressure[from]) / (time[to] - time[from] || 1);
    let [worst, far] = [0, close];
    for (let n = from + 1; n < to; n += 1) {
      const off = Math.abs(pressure[n] - pressure[from] - slope * (time[n] - time[from]));
      if (off > far) [worst, far] = [n, off];
    }
    if (!worst) continue;
    kept.add(worst);
    parts.push([from, worst], [worst, to]);
  }
  return [...kept].sort((a, b) => a - b);
}

/**
 * How a chest moves over the same time as the strip above it, beside a band as high as an easy
 * breath. It has no numbers: an eye at the bedside reads none. What the band means is said below,
 * where no curve crosses it.
 *
 * @param {ChestFigure} chest
 * @param {number[]} time
 */
function drawChest({ title, easy, says, band, volume, top }, time) {
  const height = 172;
  return fitted([title, says].join(": "), height, (width) => {
    const box = { left: PLOT.left, right: width - PLOT.right, top: PLOT.top, foot: height - 38 };
    const x = (/** @type {number} */ t) => box.left + ((t - time[0]) / (time[time.length - 1] - time[0])) * (box.right - box.left);
    const y = (/** @type {number} */ v) => box.foot - (Math.max(0, v) / top) * (box.foot - box.top);
    const point = (/** @type {number} */ t, /** @type {number} */ n) => `${x(t).toFixed(1)},${y(volume[n]).toFixed(1)}`;
    const around = { x: box.left, y: y(band[1]), width: box.right - box.left };
    const area = { ...around, height: y(band[0]) - y(band[1]), class: "tpiece-easy" };
    const key = { x: box.left, y: box.foot + 12, width: 20, height: 14, class: "tpiece-easy" };
    return [
      drawn("rect", area),
      drawn("path", { d: `M${box.left},${box.foot}H${box.right}`, class: "tpiece-grid" }),
      drawn("path", { d: `M${time.map(point).join("L")}`, class: "tpiece-curve" }),
      drawn("rect", key),
      wrote(box.left + 28, box.foot + 24, easy, { class: "tpiece-easy-text" }),
      wrote(4, 16, title, { class: "tpiece-axis-title" }),
    ];
  });
}

/**
 * @param {StripFigure} figure
 * @param {Words} words
 */
export function stripFigure(figure, words) {
  const { title, time, pressure, chest, unit = "cmH2O" } = figure;
  const svg = drawStrip(figure, words);
  const rows = corners(time, pressure, 1);
  const table = rows.map((n) => [round(time[n], 2), Math.round(pressure[n])]);
  const head = [words.stripTime, fill(words.stripPressure, { unit })];
  const drawings = chest ? [svg, drawChest(chest, time)] : [svg];
  const said = [figure.says ?? svg.getAttribute("aria-label"), chest?.says];
  const says = said.filter(Boolean).join(" ");
  return { root: framed(title, ...drawings, twin(words, says, head, table)) };
}

/**
 * @param {GaugeFigure} figure
 * @param {Words} words
 */
export function gaugeFigure(figure, words) {
  return { root: framed(figure.label, drawGauge(figure, words)) };
}
