// The bench's circuit as a drawing, gas flowing from left to right. It holds no law: it shows where
// the controls stand, what is at the outlet, whether the aperture is occluded, and the chest.

import { BENCH_OUTLETS, benchDraw, benchSvg, benchText, benchWord } from "./bench_drawing.js";
import {
  BENCH_TAGS, benchAperture, benchBaby, benchCap, benchFlowTube, benchGaugeSymbol, benchHose,
  benchKnob, benchLabel, benchLeak, benchOpenEnd, benchRestrictor, benchSupply, benchTurn,
  benchValve,
} from "./bench_symbols.js";
import { element } from "./elements.js";

/** @import { BenchShown, Breath, Dials, Words } from "./types.js" */

// Where things stand, in a wide drawing and in a narrow one of two rows.
/** @type {Layout} */
/**
 * @typedef {[number, number]} At
 * @typedef {Record<"supply" | "feed" | "tube" | "turn" | "named" | "gauge" | "pip" | "relief" | "limb" | "peep" | "outlet" | "patient" | "given", At>} Places
 * @typedef {Places & { kind: string, box: string, wrap: number, lead: number, below: number, small: number, baby: number, pipes: string, half: number }} Layout
 * @typedef {Record<"flow" | "pip" | "relief" | "peep" | "leak", ReturnType<typeof benchKnob>>} Knobs
 * @typedef {ReturnType<typeof benchLayout>} LaidOut
 * @typedef {{ held: string, outlet: string, moved: string }} Says
 */
/** @type {Layout} */
const BENCH_WIDE = {
  kind: "wide", box: "892 352", wrap: 13, lead: 19, below: 34, small: 1, baby: 1.25,
  pipes: "M36,262H128M128,172V150H478M532,150H672",
  supply: [24, 262], feed: [78, 262], tube: [128, 262], turn: [78, 304], named: [108, 310],
  gauge: [196, 150], pip: [284, 150], relief: [404, 150], limb: [505, 150], half: 27,
  peep: [604, 150], outlet: [672, 150], patient: [710, 150], given: [8, 234],
};
/** @type {Layout} */
const BENCH_NARROW = {
  kind: "narrow", box: "340 586", wrap: 10, lead: 16, below: 26, small: 0.84, baby: 1,
  pipes: "M30,226H86M86,136V116H332V288H12V420H22M78,420H176",
  supply: [18, 226], feed: [52, 226], tube: [86, 226], turn: [52, 260], named: [74, 258],
  gauge: [124, 116], pip: [174, 116], relief: [268, 116], limb: [50, 420], half: 28,
  peep: [128, 420], outlet: [176, 420], patient: [206, 420], given: [0, 194],
};

/**
 * @param {At} at
 * @param {number} right
 * @param {number} down
 * @returns {At}
 */
function benchShift([x, y], right, down) {
  return [x + right, y + down];
}

// One drawing; returns what moves in it, so that `show` need not look for it.
/**
 * @param {Words} words
 * @param {Dials} dials
 * @param {Layout} at
 */
function benchLayout(words, dials, at) {
  /** @param {string} id */
  const names = (id) => dials[id]?.label ?? benchWord(words, `benchPart_${id}`);
  const knobs = {
    flow: benchKnob(at.turn, 13), pip: benchKnob("62,-58"), relief: benchKnob("62,-58"),
    peep: benchKnob("38,-40"), leak: benchKnob("38,-40"),
  };
  const parts = benchMoving(at, knobs);
  const { tube, valves, aperture, capped, open, baby, leak, port } = {
    ...parts,
    port: benchText(benchWord(words, "benchOutlet"), at.outlet[0] - 2, at.outlet[1] + at.below),
  };
  const place = benchShift(at.patient, 60, -66);
  leak.append(benchLabel(BENCH_TAGS.leak, names("leak"), place, { ...at, end: "start" }));
  const svg = benchSvg("svg", { viewBox: `0 0 ${at.box}`, "aria-hidden": "true" });
  svg.setAttribute("class", `tpiece-bench-drawing tpiece-bench-${at.kind}`);
  svg.append(benchDraw(at.pipes, "pipe"));
  svg.append(...benchFixed(words, at), ...benchNames(words, names, at));
  svg.append(tube.node, knobs.flow.node, ...valves, aperture.node, capped, open, baby.node, leak);
  svg.append(parts.state, port, parts.outlet, parts.worn, parts.chest);
  return { svg, knobs, port, ...parts };
}

/**
 * @param {Layout} at
 * @param {Knobs} knobs
 */
function benchMoving(at, knobs) {
  const y = at.patient[1];
  const right = "tpiece-bench-state tpiece-bench-end";
  const end = { right: Number(at.box.split(" ")[0]), low: y + 122 * at.baby + at.lead + 4 };
  return {
    tube: benchFlowTube(at.tube),
    valves: /** @type {const} */ (["pip", "relief"]).map((id) => benchValve(at[id], knobs[id], at.small)),
    aperture: benchAperture(at.peep, knobs.peep),
    capped: benchCap(at.outlet),
    open: benchOpenEnd(at.outlet),
    baby: benchBaby(at.patient, at.baby),
    leak: benchSvg("g", {}, benchLeak(at.patient, knobs.leak)),
    state: benchText("", at.peep[0] + 24, at.peep[1] - 96, "tpiece-bench-state"),
    outlet: benchText("", at.outlet[0] - 2, y + at.below + at.lead, "tpiece-bench-state"),
    worn: benchText("", end.right - 2, end.low, right),
    chest: benchText("", end.right - 2, end.low + at.lead, right),
  };
}

/**
 * @param {Words} words
 * @param {Layout} at
 */
function benchFixed(words, at) {
  return [
    benchSupply(at.supply),
    benchText(benchWord(words, "benchSupply"), ...at.given),
    benchRestrictor(at.feed),
    benchDraw(`M${at.feed}V${at.turn[1] - 13}`, "felt"),
    benchGaugeSymbol(at.gauge, at.small),
    benchHose(at.limb, at.half),
    .../** @type {const} */ (["gauge", "pip", "relief", "peep"]).map((id) => {
      return benchSvg("circle", { cx: at[id][0], cy: at[id][1], r: 4, class: "tpiece-bench-dot" });
    }),
  ];
}

/**
 * @param {Words} words
 * @param {(id: string) => string} names
 * @param {Layout} at
 */
function benchNames(words, names, at) {
  /**
   * @param {keyof typeof BENCH_TAGS | ""} id
   * @param {string} name
   * @param {At} place
   * @param {object} [more]
   */
  const label = (id, name, place, more) => {
    return benchLabel(id ? BENCH_TAGS[id] : "", name, place, { ...at, ...more });
  };
  /** @param {"pip" | "relief" | "peep"} id */
  const under = (id, right = 0) => label(id, names(id), benchShift(at[id], right, at.below));
  return [
    label("flow", names("flow"), at.named, { end: "start" }),
    label("gauge", benchWord(words, "benchGaugeName"), benchShift(at.gauge, 0, at.below)),
    under("pip", 8), under("relief", 8), under("peep"),
    label("", benchWord(words, "benchLimb"), benchShift(at.limb, 0, at.below), { wrap: 7 }),
    .../** @type {const} */ (["pip", "relief"]).map((id) => {
      return benchText(benchWord(words, "benchAir"), at[id][0] + 10, at[id][1] - 98 * at.small);
    }),
  ];
}

/**
 * @param {Words} words
 * @param {Dials} dials
 */
export function benchSchematic(words, dials) {
  const drawings = [BENCH_WIDE, BENCH_NARROW].map((at) => benchLayout(words, dials, at));
  const root = element("div", { class: "tpiece-bench-schematic", role: "img" });
  root.append(...drawings.map(({ svg }) => svg));
  /** @type {Record<string, unknown>} */
  const was = {};
  // Only what has changed is drawn again.
  /**
   * @param {string} name
   * @param {unknown} value
   */
  const changed = (name, value) => was[name] !== value && ((was[name] = value), true);
  /**
   * @param {BenchShown} view
   * @param {Breath} breath
   */
  function show(view, { word, up }) {
    const held = benchWord(words, view.held ? "benchOccluded" : "benchReleased");
    const outlet = benchWord(words, BENCH_OUTLETS[view.outlet] ?? "benchOpen");
    const moved = word ? benchWord(words, word) : "";
    const turned = JSON.stringify(view.positions);
    if (changed("up", Math.round(up * 5))) drawings.forEach(({ baby }) => baby.rise(up));
    if (changed("turned", turned)) drawings.forEach((one) => benchTurned(one, view, dials));
    if (!changed("said", [held, outlet, moved].filter(Boolean).join(", "))) return;
    drawings.forEach((one) => benchSay(one, view, { held, outlet, moved }));
    root.setAttribute("aria-label", benchWord(words, "benchSchematic", { state: was.said }));
  }
  return { root, show };
}

/**
 * @param {LaidOut} drawn
 * @param {Partial<BenchShown>} view
 * @param {Dials} dials
 */
function benchTurned({ knobs, tube }, { positions = {} }, dials) {
  for (const [id, knob] of Object.entries(knobs)) {
    const share = (positions[id] ?? 0) / (dials[id]?.clicks || 1);
    benchTurn(knob, share);
    if (id === "flow") tube.rise(share);
  }
}

/**
 * @param {LaidOut} one
 * @param {BenchShown} view
 * @param {Says} says
 */
function benchSay(one, { held, outlet }, says) {
  const baby = outlet === "lung";
  one.aperture.hold(held);
  one.state.textContent = says.held;
  one.capped.toggleAttribute("hidden", outlet !== "capped");
  one.open.toggleAttribute("hidden", outlet !== "open");
  for (const part of [one.baby.node, one.leak]) part.toggleAttribute("hidden", !baby);
  one.port.toggleAttribute("hidden", baby);
  one.outlet.textContent = baby ? "" : says.outlet;
  one.worn.textContent = baby ? says.outlet : "";
  one.chest.textContent = baby ? says.moved : "";
}
