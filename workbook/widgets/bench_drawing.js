// What every drawing of the bench is made of, and how far a chest is up in it.

import { fill } from "./speech.js";

/** @import { BenchShown, Chest, Words } from "./types.js" */

const BENCH_SVG = "http://www.w3.org/2000/svg";

/**
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, unknown>} attributes
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[Name]}
 */
export function benchSvg(name, attributes = {}, ...children) {
  const node = document.createElementNS(BENCH_SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/**
 * Only what has changed is written: an attribute that is set anew is laid out anew.
 *
 * @param {Element} node
 * @param {string} name
 * @param {string} value
 */
export function benchPut(node, name, value) {
  if (node.getAttribute(name) !== value) node.setAttribute(name, value);
}

/**
 * A text that is set anew is laid out anew, too: in the frame that a hand waits for.
 *
 * @param {Element} node
 * @param {string} text
 */
export function benchWrite(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * Words of a page that has none for a name show the name, so that a gap is seen.
 *
 * @param {Words} words
 * @param {string} name
 * @param {Record<string, unknown>} values
 */
export function benchWord(words, name, values = {}) {
  return fill(words[name] ?? name, values);
}

/** @param {string} d */
export function benchDraw(d, kind = "line") {
  return benchSvg("path", { d, class: `tpiece-bench-${kind}` });
}

/**
 * @param {string | number[]} at
 * @param {...(Node | string)} children
 */
export function benchGroup(at, ...children) {
  return benchSvg("g", { transform: `translate(${at})` }, ...children);
}

/**
 * @param {string | number[]} at
 * @param {string | number} size
 * @param {...(Node | string)} children
 */
export function benchSized(at, size, ...children) {
  return benchSvg("g", { transform: `translate(${at}) scale(${size})` }, ...children);
}

/**
 * @param {string} text
 * @param {string | number} x
 * @param {string | number} y
 */
export function benchText(text, x, y, kind = "") {
  return benchSvg("text", { x, y, class: `tpiece-bench-text ${kind}`.trim() }, text);
}

/**
 * Words that do not fit one line go on below; a word alone is never cut.
 *
 * @param {string} text
 * @param {number} most letters of a line
 */
export function benchWrap(text, most) {
  /** @type {string[]} */
  const lines = [];
  for (const word of text.split(" ").filter(Boolean)) {
    const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
    if (lines.length && longer.length <= most) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/**
 * @param {string} text
 * @param {number} most
 * @param {string | number} x
 * @param {string | number} lead
 */
export function benchLines(text, most, x, lead) {
  return benchWrap(text, most).map((line) => benchSvg("tspan", { x, dy: lead }, line));
}

export const BENCH_OUTLETS = { capped: "benchCapOn", open: "benchOpen", lung: "benchMaskOn" };

// How far the chest is up, and a word for the last breath: it holds until the next one, or until
// the chest has been down for a while (`over`). A chest that is up already moves by what is added to
// `before`, the volume the inflation met. Without bands there is no word.
// Share of the low band; seconds; the drawing's units: at most, at the high band, without bands.
export const BENCH_CHEST = { still: 0.25, lasts: 2, most: 16, high: 10, each: 1.2 };

/** @param {Chest} bands */
export function benchChest({ low, high } = {}) {
  const still = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
  const each = high ? BENCH_CHEST.high / high : BENCH_CHEST.each;
  const drawn = (/** @type {number} */ rise) => Math.min(BENCH_CHEST.most, rise * each);
  const [first, last] = [low ?? Number.NaN, high ?? Number.NaN];
  let [peak, moved, until] = [0, 0, -1];
  let held = false;
  const band = () => {
    if (moved < first * BENCH_CHEST.still) return peak - moved < first * BENCH_CHEST.still ? "benchChestStill" : "benchChestUp";
    if (moved < first) return "benchChestLittle";
    return peak > last ? "benchChestTooFar" : "benchChestRises";
  };
  // Nobody inflates, and the chest has not come down.
  const stays = (/** @type {number} */ rise, /** @type {boolean} */ now, /** @type {number} */ time) => !now && time > until && rise >= first * BENCH_CHEST.still;
  return (/** @type {BenchShown} */ { time, volume, restVolume, before = restVolume, weight, held: now, outlet }) => {
    const above = (/** @type {number} */ from) => (outlet === "lung" ? Math.max(0, (volume - from) / weight) : 0);
    const [rise, moves] = [above(restVolume), above(before)];
    if ((now && !held) || time > until || time < until - 3 * BENCH_CHEST.lasts) [peak, moved] = [rise, moves];
    const [up, over] = [stays(rise, now, time), time > until];
    if (now || rise > peak) until = time + BENCH_CHEST.lasts;
    [peak, moved] = [Math.max(peak, rise), Math.max(moved, moves)];
    held = now;
    // With reduced motion the chest takes the pose of the breath at once, and does not swing.
    const word = up ? "benchChestUp" : band();
    const told = low !== undefined && outlet === "lung"; // without a baby there is no chest to speak of
    return { word: told ? word : "", over, up: drawn(still.matches ? peak : rise) };
  };
}
