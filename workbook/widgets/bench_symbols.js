// The symbols of the bench's drawing, each around its own origin on the line gas flows along.
// They follow the open standard for fluid-power diagrams where it has one: supply, adjustable
// restrictor, adjustable relief valve, gauge, hose, plugged end, end to the air.

import { benchDraw, benchGroup, benchSized, benchSvg, benchWrap } from "./bench_drawing.js";
import { benchAt } from "./bench_gauge.js";

// A letter and a number tie a control to its place in the drawing.
export const BENCH_TAGS = { flow: "F1", pip: "V1", relief: "V2", peep: "A1", leak: "L1", gauge: "G1" };

/**
 * @param {string} tag
 * @param {string} text
 * @param {[number, number]} at
 * @param {{ wrap: number, lead: string | number, end?: string }} how letters and height of a line
 */
export function benchLabel(tag, text, [x, y], { wrap, lead, end = "middle" }) {
  const node = benchSvg("text", { x, y, "text-anchor": end, class: "tpiece-bench-text" });
  if (tag) node.append(benchSvg("tspan", { class: "tpiece-bench-tag" }, tag));
  benchWrap(text, wrap).forEach((line, n) => {
    const place = tag || n ? { x, dy: lead } : {};
    node.append(benchSvg("tspan", place, line));
  });
  return node;
}

/** @typedef {string | number[]} Place where a symbol stands, in the drawing's units */
/** @typedef {ReturnType<typeof benchKnob>} Knob */

/**
 * A control's own small knob: its line points where the control stands, between two end marks.
 *
 * @param {Place} at
 */
export function benchKnob(at, radius = 14) {
  const [x, y] = [0, 0];
  const ends = [-135, 135].map((turn) => {
    return `M${benchAt(turn, radius + 2, { x, y })}L${benchAt(turn, radius + 6, { x, y })}`;
  });
  const line = benchDraw(`M0,0V${3 - radius}`, "knobline");
  const round = benchSvg("circle", { r: radius, class: "tpiece-bench-knob" });
  return { node: benchGroup(at, benchDraw(ends.join("")), round, line), line };
}

/**
 * @param {Knob} knob
 * @param {number} share
 */
export function benchTurn(knob, share) {
  knob.line.setAttribute("transform", `rotate(${(270 * share - 135).toFixed(1)})`);
}

/** @param {Place} at */
export function benchSupply(at) {
  return benchGroup(at, benchDraw("M-12,-13L12,0L-12,13Z", "shape"));
}

/**
 * Two arcs that narrow the line, and the slanted arrow of what can be adjusted.
 *
 * @param {Place} at
 */
export function benchRestrictor(at, turn = 0) {
  const arcs = benchDraw("M-13,-10Q0,-2 13,-10M-13,10Q0,2 13,10");
  const arrow = benchDraw("M-13,17L13,-17M13,-17L5,-13.5M13,-17L12.4,-8.2");
  const node = benchGroup(at, benchDraw("M-14,0H14"), arcs, arrow);
  node.setAttribute("transform", `translate(${at}) rotate(${turn})`);
  return node;
}

/**
 * A tube that widens upwards; the float stands higher the more gas flows.
 *
 * @param {Place} at
 */
export function benchFlowTube(at) {
  const tube = benchDraw("M-8,0L-14,-90H14L8,0Z", "shape");
  const marks = [18, 36, 54, 72].map((up) => `M4,${-up}H9`).join("");
  const float = benchDraw("M-7,-5H7L3,5H-3Z", "float");
  const node = benchGroup(at, tube, benchDraw(marks, "thin"), float);
  const rise = (/** @type {number} */ share) => {
    float.setAttribute("transform", `translate(0 ${(-8 - 74 * share).toFixed(1)})`);
  };
  return { node, rise };
}

/** @param {Place} at */
function benchVent(at) {
  return benchGroup(at, benchDraw("M0,12V0M-6,0L0,-10L6,0Z"));
}

/**
 * A square with its arrow, a spring with the slanted arrow, and a dashed line that feels the inlet.
 *
 * @param {Place} at
 * @param {Knob} knob
 * @param {number} size
 */
export function benchValve(at, knob, size) {
  const square = benchDraw("M-22,-80H22V-36H-22Z", "shape");
  const arrow = benchDraw("M10,-36V-80M10,-80L5.5,-70M10,-80L14.5,-70");
  const felt = benchDraw("M0,-14H-32V-58H-22", "felt");
  const spring = benchDraw("M22,-58L26,-66L31,-50L36,-66L41,-50L45,-58H48");
  const slanted = benchDraw("M25,-40L46,-76M46,-76L38,-71M46,-76L45.6,-66.4");
  const line = benchDraw("M0,0V-36M0,-80V-92");
  const vent = benchVent("0,-96");
  return benchSized(at, size, line, square, arrow, felt, spring, slanted, knob.node, vent);
}

/**
 * @param {Place} at
 * @param {number} size
 */
export function benchGaugeSymbol(at, size) {
  const round = benchSvg("circle", { cy: -58, r: 22, class: "tpiece-bench-shape" });
  const arrow = benchDraw("M-12,-46L11,-69M11,-69L1.5,-66.5M11,-69L8.5,-59.5");
  return benchSized(at, size, benchDraw("M0,0V-36"), round, arrow);
}

/**
 * @param {Place} at
 * @param {number} half
 */
export function benchHose(at, half) {
  const dot = (/** @type {number} */ cx) => benchSvg("circle", { cx, r: 3.5, class: "tpiece-bench-dot" });
  const hose = benchDraw(`M${-half},0C${-half / 2},16 ${half / 2},16 ${half},0`, "hose");
  return benchGroup(at, hose, dot(-half), dot(half));
}

/**
 * The aperture above the T; the thumb lies on its end, or is lifted beside it.
 *
 * @param {Place} at
 * @param {Knob} knob
 */
export function benchAperture(at, knob) {
  const tip = "M-17,-112V-86Q-17,-74 0,-74Q17,-74 17,-86";
  const thumb = benchDraw(`${tip}V-112Q17,-118 11,-118H-11Q-17,-118 -17,-112Z`, "thumb");
  const nail = benchDraw("M-8,-84Q0,-77 8,-84", "thin");
  const hand = benchSvg("g", {}, thumb, nail);
  const line = benchDraw("M0,0V-26M0,-54V-66M-11,-66H-4M4,-66H11");
  const away = benchVent("0,-76");
  const node = benchGroup(at, line, benchRestrictor("0,-40", -90), away, knob.node, hand);
  const hold = (/** @type {boolean} */ held) => {
    const place = held ? "translate(0 9)" : "translate(-36 0) rotate(-18 0 -96)";
    hand.setAttribute("transform", place);
    thumb.classList.toggle("tpiece-bench-lifted", !held);
    away.toggleAttribute("hidden", held);
  };
  return { node, hold };
}

/** @param {Place} at */
export function benchCap(at) {
  return benchGroup(at, benchDraw("M0,-16V16", "heavy"), benchDraw("M-20,-7L-6,7M-20,7L-6,-7"));
}

/** @param {Place} at */
export function benchOpenEnd(at) {
  const ends = benchDraw("M0,-6H12M0,6H12");
  return benchGroup(at, ends, benchDraw("M8,0H28M28,0L20,-5M28,0L20,5"));
}

/**
 * A baby on its back, from the side: mask on the face, the lung behind the chest's outline.
 *
 * @param {Place} at
 * @param {number} size
 */
export function benchBaby(at, size) {
  const mask = benchDraw("M-12,42H12L20,60Q0,68 -20,60Z", "mask");
  const head = benchDraw("M-29,92A29,29 0 0 1 29,92Q29,121 2,121Q-29,121 -29,92Z", "skin");
  const face = benchDraw("M6,90Q13,84 15,92Q14,99 8,99M-13,76Q-10,79 -7,76", "thin");
  const leg = benchDraw("M96,104Q104,82 114,86Q124,92 118,121H104", "skin");
  const arm = benchDraw("M38,102Q44,114 60,113Q70,112 72,117", "thin");
  const [chest, lung] = [benchDraw("", "skin"), benchDraw("", "lung")];
  const body = [leg, chest, lung, arm, head, face, mask];
  const baby = benchSized("0,0", size, benchDraw("M-36,122H140", "thin"), ...body);
  const node = benchGroup(at, benchDraw(`M${-30 * size},0H0V${42 * size}`, "pipe"), baby);
  const rise = (/** @type {number} */ up) => {
    chest.setAttribute("d", benchChestOutline(up));
    lung.setAttribute("d", benchLungOutline(up));
  };
  return { node, rise };
}

/** @param {number} up */
function benchChestOutline(up) {
  const top = (76 - up).toFixed(1);
  const belly = "88,86Q104,90 107,106Q107,121 96,121";
  return `M22,104Q30,95 36,90Q46,${top} 62,${top}Q78,${top} ${belly}H24Z`;
}

/** @param {number} up */
function benchLungOutline(up) {
  const top = (83 - up).toFixed(1);
  return `M40,100Q44,${top} 60,${top}Q76,${top} 79,100Q79,107 60,107Q40,107 40,100Z`;
}

/**
 * @param {Place} at
 * @param {Knob} knob
 */
export function benchLeak(at, knob) {
  const line = benchDraw("M0,0V-26M0,-54V-66");
  return benchGroup(at, line, benchRestrictor("0,-40", -90), benchVent("0,-76"), knob.node);
}
