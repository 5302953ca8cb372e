// The parts of the bench's picture, each around its own origin on the line the gas flows along:
// what a hand sees of them, in our own drawing. They hold no law; they show what they are given.

import { benchDraw, benchGroup, benchSvg, benchText } from "./bench_drawing.js";
import { BENCH_GAS } from "./bench_gas.js";
import { benchAt } from "./bench_gauge.js";

const BENCH_LIFT = { most: 15, least: 5 }; // drawing units a valve's disc rises by the gas it lets go

/** @typedef {[number, number]} At where a part stands, in the drawing's units */

/**
 * A ridged knob that a hand turns around: `spin(turns, share)` turns its ridges as the hand does, and
 * its mark to where the ring around it ends: how far it is of its whole way.
 *
 * @param {string} id
 * @param {At} at
 */
export function benchGrip(id, [x, y], radius = 19) {
  const ring = benchSvg("circle", { r: radius + 5, pathLength: 100, class: "tpiece-bench-ring" });
  ring.setAttribute("transform", "rotate(-90)");
  const ridges = Array.from({ length: 18 }, (_, n) => {
    const [from, to] = [radius - 4, radius].map((r) => benchAt(n * 20, r, { x: 0, y: 0 }));
    return `M${from}L${to}`;
  });
  const turned = benchSvg("g", {}, benchDraw(ridges.join(""), "thin"));
  const mark = benchDraw(`M0,-3V${2 - radius}`, "knobline");
  const body = benchSvg("circle", { r: radius, class: "tpiece-bench-grip-body" });
  const felt = benchSvg("circle", { r: radius + 9, class: "tpiece-bench-felt-area" });
  const node = benchGroup([x, y], felt, ring, body, turned, mark);
  node.classList.add("tpiece-bench-grip");
  node.dataset.dial = id;
  const spin = (/** @type {number} */ turns, /** @type {number} */ share) => {
    turned.setAttribute("transform", `rotate(${((turns % 1) * 360).toFixed(1)})`);
    mark.setAttribute("transform", `rotate(${(share * 360).toFixed(1)})`);
    ring.setAttribute("stroke-dasharray", `${(share * 100).toFixed(2)} 200`);
  };
  return { node, spin };
}

/**
 * The clear tube of the flow meter; its ball floats the higher the more gas flows.
 *
 * @param {At} at
 * @param {number} height
 */
export function benchFlowMeter([x, y], height) {
  const tube = benchDraw(`M-9,0L-14,${-height}H14L9,0Z`, "glass");
  const marks = [0, 1, 2, 3].map((n) => `M14,${-12 - (n * (height - 30)) / 3}H19`).join("");
  const numbers = [0, 5, 10, 15].map((n) => {
    return benchText(String(n), 22, -7 - (n * (height - 30)) / 15, "tpiece-bench-small");
  });
  const ball = benchSvg("circle", { r: 9, cy: -12, class: "tpiece-bench-ball" });
  const node = benchGroup([x, y], tube, benchDraw(marks, "thin"), ...numbers, ball);
  const rise = (/** @type {number} */ share) => {
    ball.setAttribute("cy", (-12 - share * (height - 30)).toFixed(1));
  };
  return { node, rise };
}

/**
 * A valve cut open: a disc on its seat, the spring above it, the knob that presses the spring.
 *
 * @param {string} id
 * @param {At} at
 */
export function benchLiftValve(id, [x, y]) {
  const box = benchDraw("M-21,-10V-72H21V-10M21,-40H34M21,-56H34", "glass");
  const seat = benchDraw("M-21,-16H-10M10,-16H21", "heavy");
  const disc = benchDraw("M-15,-22H15V-15H-15Z", "disc");
  const spring = benchDraw("", "spring");
  const works = benchSvg("g", { class: "tpiece-bench-works" }, seat, disc, spring);
  const grip = benchGrip(id, [0, -97]);
  const stem = benchDraw("M0,-70V-82", "heavy");
  const node = benchGroup([x, y], box, works, stem, grip.node);
  /** @type {string | null} */
  let was = null;
  const lift = (/** @type {number} */ share) => {
    const { most, least } = BENCH_LIFT;
    const up = share > BENCH_GAS.least ? Math.min(most, least + (most - least) * share) : 0;
    if (up.toFixed(1) === was) return;
    was = up.toFixed(1);
    const [low, high] = [-22 - up, -69];
    const turns = [1, 2, 3, 4, 5, 6].map((n) => {
      return `L${n % 2 ? 9 : -9},${(low + ((high - low) * n) / 7).toFixed(1)}`;
    });
    disc.setAttribute("transform", `translate(0 ${(-up).toFixed(1)})`);
    spring.setAttribute("d", `M0,${low.toFixed(1)}${turns.join("")}L0,${high}`);
    node.toggleAttribute("data-open", up > 0);
  };
  lift(0);
  return { node, lift, grip };
}

/**
 * The T: the hole on its top with the fingertip above it, the outlet below it, its knob beside it.
 *
 * @param {At} at
 */
export function benchTee([x, y]) {
  const body = benchDraw("M-16,13V52H16V-46H-16V-13", "glass");
  const lid = benchDraw("M-26,-58H26V-46H-26Z", "lid");
  const hole = benchDraw("", "hole");
  const tip = "M-17,-66C-18,-100 -16,-122 -13,-150L16,-150C17,-124 19,-100 17,-66Q16,-58 0,-58Q-16,-58 -17,-66Z";
  const nail = benchDraw("M-9,-68Q-10,-88 0,-90Q10,-88 9,-68Q0,-62 -9,-68Z", "nail");
  const finger = benchSvg("g", {}, benchDraw(tip, "skin"), nail);
  const grip = benchGrip("peep", [58, -44], 17);
  const arm = benchDraw("M24,-50H42", "heavy");
  const node = benchGroup([x, y], body, lid, hole, arm, grip.node);
  const over = benchGroup([x, y], finger);
  const hold = (/** @type {boolean} */ held) => {
    const away = "translate(-16 -30) rotate(-14 0 -150)";
    finger.setAttribute("transform", held ? "translate(0 0)" : away);
    node.toggleAttribute("data-held", held);
  };
  const open = (/** @type {number} */ share) => {
    const half = (2 + 9 * share).toFixed(1);
    hole.setAttribute("d", `M-${half},-59H${half}V-45H-${half}Z`);
  };
  return { node, finger: over, hold, open, grip };
}

/**
 * A baby on its back, seen from the side; the mouth at the origin, the body to the right.
 *
 * @param {At} at
 * @param {number} side below zero the body lies to the left
 * @param {boolean} tube
 */
export function benchLying([x, y], side, tube) {
  const back = "M-26,94C-70,100 -92,76 -90,44C-88,10 -62,-10 -36,-8C-28,-7 -24,-2 -21,1"
    + "C-17,-8 -10,-15 -6,-11C-3,-8 -2,-4 -2,0C4,-1 8,2 6,6C11,8 12,12 9,15C16,16 20,22 16,29"
    + "C20,36 28,40 38,42";
  const head = benchSvg("g", {}, benchDraw(`${back}L44,94Z`, "flesh"), benchDraw(back, "outline"));
  const face = benchDraw("M-40,14Q-33,19 -26,13M-44,5Q-36,1 -28,4", "feature");
  const ear = benchDraw("M-52,44C-64,38 -66,56 -56,64C-50,68 -46,62 -50,58C-44,54 -46,46 -52,44Z", "skin");
  const leg = benchDraw("M164,92C160,66 172,46 196,26C206,18 220,24 216,38L204,72C222,72 236,78 238,94Z", "skin");
  const cloth = benchDraw("M148,94C146,66 150,46 158,40C178,38 192,52 194,70C196,84 190,94 184,94Z", "cloth");
  const arm = benchDraw("M56,70C52,58 66,54 76,62L104,76L122,58C130,50 140,58 134,68L116,92C110,98 102,97 96,93L66,80Q58,76 56,70Z", "skin");
  const [chest, lung] = [benchDraw("", "skin tpiece-bench-chest"), benchDraw("", "lung")];
  const throat = benchDraw("M2,12C14,26 18,36 34,46C48,54 60,56 72,58", "airway");
  const mask = tube
    ? benchDraw("M-7,-26H7V-12H4V14C10,26 18,36 32,44L30,48C14,42 2,28 -3,14V-12H-7Z", "glass")
    : benchDraw("M-9,-30H9V-20C18,-14 24,8 23,24Q10,34 -8,26Q-26,18 -28,0C-26,-12 -18,-18 -9,-20Z", "mask");
  const body = benchSvg("g", {}, leg, chest, cloth, lung, head, ear, throat, face, arm);
  const flip = side < 0 ? "scale(-1 1)" : "scale(1 1)";
  const seal = benchSvg("g", { class: "tpiece-bench-grip" }, mask);
  seal.dataset.dial = "leak";
  const worn = benchSvg("g", { transform: flip }, body, seal);
  const node = benchGroup([x, y], worn);
  const rise = (/** @type {number} */ up) => {
    chest.setAttribute("d", benchTrunk(up));
    lung.setAttribute("d", benchLungs(up));
  };
  rise(0);
  return { node, rise, leak: (/** @type {number} */ share) => mask.setAttribute("transform", `rotate(${-5 * share} 22 24)`) };
}

/** @param {number} up */
function benchTrunk(up) {
  const [top, belly] = [22 - up, 30 - up * 0.45].map((n) => n.toFixed(1));
  return `M28,44C40,36 50,${top} 82,${top}C112,${top} 124,${belly} 150,${belly}C168,32 178,46 180,60`
    + "V94H30Z";
}

/** @param {number} up */
function benchLungs(up) {
  const top = (36 - up).toFixed(1);
  return `M66,60C66,44 78,${top} 96,${top}C114,${top} 126,46 128,62C128,72 112,74 98,72`
    + "C82,74 66,70 66,60Z";
}
