// The bench's picture as an eye meets it in a trial: nothing is clear, so neither gas nor what a valve
// does is seen; what somebody looks at is seen as it stood then. A part is touched where it lies.

import { BENCH_OUTLETS, benchDraw, benchSvg, benchText, benchWord } from "./bench_drawing.js";
import { benchAt } from "./bench_gauge.js";
import { BENCH_MOUTH, BENCH_SCENES, BenchScene, benchSceneTurned } from "./bench_scene.js";

/** @import { BenchShown, Breath, Dial, Dials, Words } from "./types.js" */

/**
 * @typedef {import("./bench_scene.js").Scene} Scene
 * @typedef {import("./bench_scene.js").SceneName} SceneName
 * @typedef {{ id: string, text: string }} Part a part that a hand can go to
 * @typedef {{ float?: number, supply?: number }} Looked what was looked at last
 * @typedef {BenchShown & { bag?: boolean, bagWorks?: boolean }} TrialShown
 */
const TRIAL_AWAY = 46; // drawing units: the baby to the side while the mask is off
const TRIAL_LOOSE = "M-9,-30H9V-20C22,-18 29,-13 28,-10Q0,-3 -28,-10C-29,-13 -22,-18 -9,-20Z"; // a mask on the T, on no face
const TRIAL_NARROW = 480; // pixels
const TRIAL_DIAL = { radius: 22, from: -120, over: 240 }; // the supply's gauge; degrees

// Where a hand reaches each part, in the drawing's units: [x, y, radius of the place].
/**
 * @param {Scene} scene
 * @returns {Record<string, [number, number, number]>}
 */
function trialPlaces({ flow, pip, relief, tee, pipe, tall, hose }) {
  const middle = hose ? (hose[0] + hose[1]) / 2 : (relief + tee) / 2;
  return {
    supply: [flow, pipe + 112, 30],
    meter: [flow, pipe - tall / 2, 30],
    box: [(pip + relief) / 2, pipe - 48, Math.max(34, (relief - pip) / 2 + 26)],
    hose: [middle - (hose ? 0 : 6), pipe + (hose ? 33 : 0), hose ? 26 : 18],
    tee: [tee, pipe - 26, 26],
    mask: [tee, pipe + BENCH_MOUTH + 6, 32],
  };
}

export class TrialScene extends BenchScene {
  /** @type {string | null | undefined} */
  at;
  /** @type {string | undefined} */
  chestDid;
  /** @type {Looked} */
  looked;
  /** @type {ReturnType<TrialScene["drawMore"]> | undefined} */
  more;

  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {HTMLElement} gauge
   * @param {{ baby: boolean, parts: Part[], touch: (id: string) => void }} given
   */
  constructor(words, dials, gauge, { baby, parts, touch }) {
    super(words, dials, gauge);
    this.baby = baby;
    this.parts = parts;
    this.touch = touch;
    this.looked = {};
    this.draw(this.drawn.kind);
  }

  // In a narrow page words, which never shrink, have room below the baby only.
  /** @param {SceneName} kind */
  draw(kind) {
    const narrow = this.root.clientWidth < TRIAL_NARROW && BENCH_SCENES[kind].side > 0;
    this.more = undefined; // of another drawing
    super.draw(narrow ? "square" : kind);
    if (!this.parts) return; // the first drawing is made before this one knows its parts
    const { drawn } = this;
    drawn.gas.node.setAttribute("visibility", "hidden");
    this.more = this.drawMore();
    drawn.svg.insertBefore(this.more.supply.node, drawn.svg.firstChild);
    drawn.svg.append(...Object.values(this.more.places));
    this.mark(this.at);
    this.see(this.looked);
    if (this.view) this.show(this.view, this.breath);
  }

  // What the bench's own picture has not: the supply's gauge, a bag, a mask on no face, the places.
  drawMore() {
    const { drawn } = this;
    const body = drawn.baby.node.children[0].children[0];
    const more = {
      supply: trialSupply(drawn.at, this.parts), bag: trialBag(), body, loose: benchDraw(TRIAL_LOOSE, "mask"),
      mask: /** @type {Element} */ (drawn.baby.node.querySelector(".tpiece-bench-grip")),
      places: trialPlaceMarks(drawn.at, this.parts, this.touch),
    };
    body.append(more.bag);
    body.after(more.loose);
    return more;
  }

  // Where the hand is.
  /** @param {string | null | undefined} at */
  mark(at) {
    this.at = at;
    for (const [id, place] of Object.entries(this.more?.places ?? {})) place.toggleAttribute("data-here", id === at);
  }

  // What was looked at last: `float` in L/min, `supply` a share of full; nothing before a look.
  /** @param {Looked} looked */
  see(looked) {
    this.looked = looked;
    const { drawn, dials } = this;
    const ball = drawn.meter.node.querySelector(".tpiece-bench-ball");
    ball?.toggleAttribute("hidden", looked.float === undefined);
    if (looked.float !== undefined) drawn.meter.rise(looked.float / trialTop(dials.flow));
    this.more?.supply.show(looked.supply);
  }

  /**
   * @param {TrialShown} view
   * @param {Breath} breath
   */
  show(view, breath) {
    Object.assign(this, { view, breath });
    const { drawn, dials } = this;
    if (!this.more) return;
    if (this.changed("up", Math.round(breath.up * 5))) drawn.baby.rise(1.6 * breath.up);
    if (this.changed("turned", view.positions)) {
      benchSceneTurned({ ...drawn, meter: { rise() {} }, baby: { leak() {} } }, view, dials);
    }
    this.say(view, breath);
  }

  /**
   * @param {TrialShown} view
   * @param {Breath} breath
   */
  say(view, breath) {
    const { held, outlet, bag } = view;
    const word = trialBreath(view, breath);
    if (word) this.chestDid = TRIAL_DID[breath.word];
    if (!this.changed("said", [held, outlet, bag, word].join())) return;
    const { drawn, words, baby, more } = this;
    if (!more) return;
    const on = outlet === "lung";
    drawn.tee.hold(held);
    drawn.cap.toggleAttribute("hidden", outlet !== "capped");
    drawn.baby.node.toggleAttribute("hidden", !baby);
    more.bag.toggleAttribute("hidden", !bag);
    more.body.setAttribute("transform", `translate(${on ? 0 : TRIAL_AWAY} 0)`);
    more.mask.toggleAttribute("hidden", !on);
    more.loose.toggleAttribute("hidden", outlet !== "open");
    drawn.bed.setAttribute("transform", `translate(${on ? 0 : drawn.at.side * TRIAL_AWAY} 0)`);
    drawn.names.state.textContent = drawn.at.side < 0 ? "" : benchWord(words, held ? "benchSeen_held" : "benchSeen_released");
    drawn.names.chest.textContent = baby && word && !bag ? benchWord(words, word) : ""; // a bag lies there
    drawn.svg.setAttribute("aria-label", benchWord(words, "benchSchematic", { state: trialState(words, view, word) }));
  }
}

// Once the hole is let go an inflation is over: what it did is told as past.
/** @type {Record<string, string>} */
const TRIAL_BREATHS = {
  benchChestStill: "trialChestStill", benchChestLittle: "trialChestLittle",
  benchChestRises: "trialChestRose", benchChestTooFar: "trialChestTooFar",
};
// The same as a sentence of the log.
/** @type {Record<string, string>} */
const TRIAL_DID = {
  benchChestStill: "trialDidStill", benchChestLittle: "trialDidLittle", benchChestRises: "trialDidRise",
  benchChestTooFar: "trialDidTooFar", benchChestUp: "trialDidStay",
};

// A chest that nobody inflates is told of only where it stays up.
/**
 * @param {TrialShown} view
 * @param {Breath} breath
 */
function trialBreath({ held, bag, outlet }, { word, over }) {
  if (held || bag) return word;
  const idle = over || outlet !== "lung";
  return idle && word !== "benchChestUp" ? "" : (TRIAL_BREATHS[word] ?? word);
}

/** @param {Dial} dial */
function trialTop({ clicks, first, step }) {
  return first + clicks * step;
}

/**
 * @param {Words} words
 * @param {TrialShown} view
 * @param {string} word
 */
function trialState(words, { held, outlet, bag }, word) {
  const says = [held ? "benchOccluded" : "benchReleased", BENCH_OUTLETS[outlet] ?? "benchOpen"];
  return [...says, ...(bag ? ["trialOnBag"] : []), ...(word ? [word] : [])].map((each) => benchWord(words, each)).join(", ");
}

// The gauge of the supply, below the flow meter: its needle is seen once somebody has looked.
/**
 * @param {Scene} scene
 * @param {Part[]} parts
 */
function trialSupply({ flow: x, pipe }, parts) {
  const { radius, from, over } = TRIAL_DIAL;
  const center = { x, y: pipe + 112 };
  const stem = benchDraw(`M${x},${pipe + 8}V${center.y - radius}`, "heavy");
  const face = benchSvg("circle", { cx: center.x, cy: center.y, r: radius, class: "tpiece-bench-face tpiece-trial-face" });
  const marks = [0, 0.25, 0.5, 0.75, 1].map((share) => {
    const angle = from + share * over;
    return `M${benchAt(angle, radius - 3, center)}L${benchAt(angle, radius - (share % 1 ? 7 : 10), center)}`;
  });
  const needle = benchDraw("", "knobline tpiece-trial-needle");
  const name = benchText(parts.find(({ id }) => id === "supply")?.text ?? "", x + 24, center.y - 32, "tpiece-bench-named");
  const node = benchSvg("g", {}, stem, face, benchDraw(marks.join(""), "thin"), needle, name);
  /** @param {number | undefined} share */
  const show = (share) => {
    const d = share === undefined ? "" : `M${center.x},${center.y}L${benchAt(from + share * over, radius - 5, center)}`;
    needle.setAttribute("d", d);
  };
  return { node, show };
}

// A bag with its own mask on the baby's face, in the drawing's place of the mouth.
function trialBag() {
  const mask = benchDraw("M-10,-22H10V-14C18,-8 24,8 22,22Q8,32 -8,24Q-24,16 -26,0C-24,-10 -18,-14 -10,-16Z", "mask");
  const neck = benchDraw("M-7,-34H7V-22H-7Z", "lid");
  const bag = benchDraw("M7,-33C26,-36 64,-36 82,-24C90,-14 84,-2 72,-2C52,-2 26,-14 7,-23Z", "cloth");
  const node = benchSvg("g", { class: "tpiece-trial-bag" }, bag, neck, mask);
  node.toggleAttribute("hidden", true);
  return node;
}

// Rings around the parts: a finger may touch a part where it lies; keys choose it below the picture.
/**
 * @param {Scene} at
 * @param {Part[]} parts
 * @param {(id: string) => void} touch
 */
function trialPlaceMarks(at, parts, touch) {
  const places = trialPlaces(at);
  return Object.fromEntries(parts.filter(({ id }) => places[id]).map(({ id, text }) => {
    const [cx, cy, r] = places[id];
    const ring = benchSvg("circle", { cx, cy, r, class: "tpiece-trial-place", "data-part": id });
    ring.append(benchSvg("title", {}, text));
    ring.addEventListener("click", () => touch(id));
    return [id, ring];
  }));
}
