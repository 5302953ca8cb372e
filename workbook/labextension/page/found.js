// One question of a result: what was answered, what was found and by which rule, the run at the
// bench with its moments. The same on the result's own page and below the question in the exercise.
import { drawing, element } from "./build.js";

/** @import { Course, Found, Place, Point, Question, Run, Words } from "./lab.js" */

/**
 * @typedef {((at: number) => void) | null} Go shows a second of the run
 * @typedef {(read: Place[]) => (string | Node)[]} Places
 * @typedef {{ go: Go, run?: Run | null, places: Places, plain?: boolean }} How
 * @typedef {{ width: number, height: number, left: number, right: number, head: number, foot: number, step: number }} Size
 */
const LONG = 160; // characters of an answer, above which it folds
const RUN = {
  width: 640, least: 260, around: 90, height: 150, left: 34, right: 12, head: 26, foot: 20, step: 10,
}; // px; cmH2O
const MOMENT = { width: 300, height: 110, left: 34, right: 6, head: 8, foot: 22, step: 10 };

// `go(at)` shows a second of the run; without it there is no button for that. `places` returns
// links to what a belief's lesson says.
/**
 * @param {Question} told
 * @param {Words} words
 * @param {How} how
 */
export function questionOf(told, words, { go = null, run = null, places, plain = false }) {
  const missed = told.found.filter(({ met }) => !met);
  const met = told.found.filter((each) => each.met);
  const moments = missed.filter(({ at }) => at !== null);
  const number = new Map(moments.map((each, n) => [each, n + 1]));
  const items = missed.map((each) =>
    foundOf(each, words, { go, places, plain, number: run ? number.get(each) : undefined }));
  return [
    answerOf(told.said, words),
    run && (moments.length || run.expert) ? runOf(run, moments, words, go) : null,
    items.length ? element("ul", "tpiece-found", ...items) : null,
    met.length ? rightOf(met, words, missed.length > 0) : null,
  ].filter(Boolean);
}

/**
 * @param {string} said
 * @param {Words} words
 */
function answerOf(said, words) {
  if (said.length <= LONG) return element("p", "tpiece-soft", words.result.answer(said));
  const fold = element("details", "tpiece-soft", element("summary", "", words.result.answerFold));
  fold.append(...said.split("\n").map((line) => element("p", "", line)));
  return fold;
}

/**
 * @param {Found[]} met
 * @param {Words} words
 * @param {boolean} some
 */
function rightOf(met, words, some) {
  const says = met.map(({ says }) => says).join(" ");
  return element("p", "tpiece-soft", some ? `${words.result.rightHere} ${says}` : says);
}

/**
 * @param {Found} found
 * @param {Words} words
 * @param {Omit<How, "run"> & { number: number | undefined }} how
 */
function foundOf(found, words, { go, places, plain, number }) {
  const { grave, says, belief, rule, source, at, trace } = found;
  const item = element("li", grave && grave !== "others" ? "is-grave" : "");
  if (grave) item.append(element(plain ? "p" : "h4", "tpiece-grave", words.result.grave[grave]));
  const lead = number ? element("span", "tpiece-moment", String(number)) : null;
  lead?.setAttribute("aria-hidden", "true");
  item.append(element("p", "tpiece-says", lead, says));
  if (at !== null && go) item.append(jump(at, says, words, go));
  if (trace.length > 1) item.append(needleOf(trace, words));
  if (belief) item.append(beliefOf(belief, words, places));
  const from = [rule && words.result.rule(rule), source && words.result.source(source)];
  if (rule || source) item.append(element("p", "tpiece-soft", from.filter(Boolean).join(" ")));
  return item;
}

/**
 * @param {number} at
 * @param {string} says
 * @param {Words} words
 * @param {(at: number) => void} go
 */
function jump(at, says, words, go) {
  const label = words.result.showAt(at.toFixed(1));
  const node = element("button", "tpiece-button", label);
  node.type = "button";
  node.setAttribute("aria-label", `${label}: ${says}`);
  node.setAttribute("data-lm-suppress-shortcuts", "true");
  node.addEventListener("click", () => go(at));
  return node;
}

/**
 * @param {NonNullable<Found["belief"]>} belief
 * @param {Words} words
 * @param {Places} places
 */
function beliefOf({ believes, true: truth, read }, words, places) {
  const { belief, isTrue, read: readAndTry } = words.result;
  const rows = [[belief, believes], [isTrue, truth]];
  const list = element("dl", "tpiece-belief");
  for (const [name, text] of rows) list.append(row(name, text));
  if (read.length) list.append(row(readAndTry, ...places(read)));
  return list;
}

/**
 * @param {string} name
 * @param {...(string | Node)} texts
 */
function row(name, ...texts) {
  return element("div", "", element("dt", "", name), element("dd", "", ...texts));
}

// --- the needle

/**
 * @param {Found["trace"]} trace
 * @param {Words} words
 */
function needleOf(trace, words) {
  const points = trace.map(([time, pressure]) => ({ time, pressure }));
  const says = words.result.needle(points);
  const svg = drawn(points, MOMENT, says, [points[0].time, points[points.length - 1].time]);
  return element("figure", "tpiece-trace", svg, element("figcaption", "tpiece-soft", says));
}

// The learner's own run; behind it, broken and named, an expert's of the same case.
/**
 * @param {Run} run
 * @param {Found[]} moments
 * @param {Words} words
 * @param {Go} go
 */
function runOf({ time, pressure, expert }, moments, words, go) {
  const points = pointsOf({ time, pressure });
  const behind = expert ? pointsOf(expert) : [];
  const says = [words.result.run(points), expert && words.result.expertRun(behind)].filter(Boolean).join(" ");
  const size = { ...RUN, width: Math.max(RUN.least, Math.min(RUN.width, innerWidth - RUN.around)) };
  /** @type {[number, number]} */
  const ends = [0, Math.max(points[points.length - 1].time, behind.at(-1)?.time ?? 0)];
  const svg = drawn(points, size, says, ends, behind);
  const x = scale(size, ...ends);
  moments.forEach(({ at }, n) => at !== null && svg.append(markOf(x(at), n + 1, at, go)));
  const caption = element("figcaption", "tpiece-soft", says);
  return element("figure", "tpiece-run", svg, expert ? legendOf(words) : null, caption);
}

/**
 * @param {Course} course
 * @returns {Point[]}
 */
function pointsOf({ time, pressure }) {
  return time.map((at, n) => ({ time: at, pressure: pressure[n] }));
}

// Which line is whose: each as it is drawn, and its name. The caption says the same to the ear.
/** @param {Words} words */
function legendOf({ result }) {
  const rows = [[result.ownRun, ""], [result.expertsRun, " is-expert"]].map(([name, kind]) => {
    const line = drawing("path", { d: "M0,5H34", class: `tpiece-line-of-needle${kind}` });
    const sample = drawing("svg", { viewBox: "0 0 34 10", "aria-hidden": "true" }, line);
    return element("span", "tpiece-whose", sample, name);
  });
  return element("p", "tpiece-soft tpiece-legend", ...rows);
}

/**
 * @param {Size} size
 * @param {number} first
 * @param {number} last
 * @returns {(time: number) => number}
 */
function scale({ width, left, right }, first, last) {
  return (time) => left + ((width - left - right) * (time - first)) / Math.max(last - first, 0.1);
}

/**
 * @param {Point[]} points
 * @param {Size} size
 * @param {string} says
 * @param {[number, number]} ends
 * @param {Point[]} behind
 */
function drawn(points, size, says, [first, last], behind = []) {
  const { width, height, left, right, head, foot, step } = size;
  const highest = Math.max(step, ...[...points, ...behind].map(({ pressure }) => pressure));
  const top = step * Math.ceil(highest / step);
  const x = scale(size, first, last);
  const y = (/** @type {number} */ value) => head + (height - head - foot) * (1 - value / top);
  const svg = drawing("svg", { role: "img", "aria-label": says, viewBox: `0 0 ${width} ${height}` });
  for (const level of [0, top / 2, top]) {
    const at = y(level);
    svg.append(drawing("path", { d: `M${left},${at}H${width - right}`, class: "tpiece-level" }));
    svg.append(drawing("text", { x: left - 6, y: at + 4, "text-anchor": "end" }, String(level)));
  }
  for (const { run, kind } of [{ run: behind, kind: " is-expert" }, { run: points, kind: "" }]) {
    const line = run.map(({ time, pressure }) => `${x(time).toFixed(1)},${y(pressure).toFixed(1)}`);
    if (line.length) svg.append(drawing("polyline", { points: line.join(" "), class: `tpiece-line-of-needle${kind}` }));
  }
  svg.append(drawing("text", { x: left, y: height - 4 }, `${Math.round(first)} s`));
  const end = { x: width - right, y: height - 4, "text-anchor": "end" };
  svg.append(drawing("text", end, `${Math.round(last)} s`));
  return svg;
}

// By keyboard the finding's own button does the same.
/**
 * @param {number} x
 * @param {number} number
 * @param {number} at
 * @param {Go} go
 */
function markOf(x, number, at, go) {
  const line = drawing("path", { d: `M${x},24V${RUN.height - RUN.foot}`, class: "tpiece-at-second" });
  const dot = drawing("circle", { cx: x, cy: 13, r: 11, class: "tpiece-dot" });
  const name = drawing("text", { x, y: 17.5, "text-anchor": "middle", class: "tpiece-dot-name" }, String(number));
  const node = drawing("g", go ? { class: "tpiece-goes" } : {}, line, dot, name);
  if (go) node.addEventListener("click", () => go(at));
  return node;
}
