// The bench as one picture: gas from the supply through a clear path to the baby. The same parts
// stand in four arrangements; the one that fills the room it has best is drawn.

import { BENCH_OUTLETS, benchDraw, benchSvg, benchText, benchWord } from "./bench_drawing.js";
import { benchGas } from "./bench_gas.js";
import { benchFlowMeter, benchGrip, benchLiftValve, benchLying, benchTee } from "./bench_parts.js";
import { element } from "./elements.js";

/** @import { BenchShown, Breath, Dials, Words } from "./types.js" */

// `height` is that of the pipe gas flows along; `stand` says where on it flow meter, PIP valve,
// relief and T stand; `gauge` is [x, y, radius];
// `side` says to which side of the T the baby lies.
/**
 * @typedef {"long" | "middle" | "square" | "upright"} SceneName
 * @typedef {[number, number, number, number]} Four
 * @typedef {{ box: [number, number], tall: number, gauge: [number, number, number], side: number, hose?: [number, number] }} Room
 * @typedef {Room & { flow: number, pip: number, relief: number, tee: number, pipe: number }} Scene
 * @typedef {ReturnType<typeof benchSceneDrawing>} SceneDrawn
 * @typedef {{ meter: { rise(share: number): void }, tee: Pick<SceneDrawn["tee"], "grip" | "open">, baby: { leak(share: number): void } }} Turned
 */
/** @type {Record<SceneName, Room & { stand: Four, height: number }>} */
const BENCH_STANDS = {
  long: {
    box: [1180, 440], height: 264, stand: [64, 452, 588, 900], tall: 190,
    gauge: [262, 124, 120], side: 1, hose: [668, 822],
  },
  middle: {
    box: [790, 440], height: 264, stand: [36, 342, 414, 490], tall: 190,
    gauge: [200, 124, 120], side: 1,
  },
  square: {
    box: [500, 462], height: 266, stand: [34, 300, 361, 406], tall: 190,
    gauge: [186, 110, 100], side: -1,
  },
  upright: {
    box: [392, 530], height: 334, stand: [32, 116, 214, 298], tall: 200,
    gauge: [180, 104, 100], side: -1,
  },
};
/** @type {Record<SceneName, Scene>} */
export const BENCH_SCENES = {
  long: benchStood(BENCH_STANDS.long), middle: benchStood(BENCH_STANDS.middle),
  square: benchStood(BENCH_STANDS.square), upright: benchStood(BENCH_STANDS.upright),
};

/**
 * @param {Room & { stand: Four, height: number }} stands
 * @returns {Scene}
 */
function benchStood({ stand: [flow, pip, relief, tee], height, ...rest }) {
  return { flow, pip, relief, tee, pipe: height, ...rest };
}

export const BENCH_MOUTH = 74; // below the pipe
const BENCH_BED = 97; // below the mouth

// The arrangement that is drawn largest in a box.
/**
 * @param {number} width
 * @param {number} height
 * @returns {SceneName}
 */
function benchFit(width, height) {
  /** @param {Scene} scene */
  const size = ({ box: [w, h] }) => Math.min(width / w, height / h) ** 2 * w * h;
  const all = /** @type {[SceneName, Scene][]} */ (Object.entries(BENCH_SCENES)).sort(([, a], [, b]) => size(b) - size(a));
  return all[0][0];
}

// The lines gas takes, by the names of `benchFlows`.
/** @param {Scene} scene */
function benchGasLines({ pipe: y, flow, pip, relief, tee, side, tall, hose }) {
  const mouth = y + BENCH_MOUTH;
  const at = (/** @type {number} */ n) => tee + side * n;
  const sag = hose ? `L${hose[0]},${y}C${hose[0] + 50},${y + 44} ${hose[1] - 50},${y + 44} ${hose[1]},${y}` : "";
  /** @param {number} x */
  const vent = (x) => `M${x},${y}V${y - 30}C${x},${y - 44} ${x + 14},${y - 47} ${x + 56},${y - 48}`;
  return {
    supply: `M${flow},${y - tall + 6}V${y}H${pip}`, past: `M${pip},${y}H${relief}`,
    limb: `M${relief},${y}${sag}H${tee}`, pip: vent(pip), relief: vent(relief),
    aperture: `M${tee},${y}V${y - 112}`, down: `M${tee},${y}V${mouth - 6}`,
    leak: `M${at(-6)},${mouth - 6}C${at(-18)},${mouth + 2} ${at(-30)},${mouth + 2} ${at(-66)},${mouth - 14}`,
    open: `M${tee},${mouth - 6}V${mouth + 34}`,
    lung: `M${at(2)},${mouth}C${at(6)},${mouth + 22} ${at(18)},${mouth + 36} ${at(34)},${mouth + 46}`
      + `C${at(48)},${mouth + 54} ${at(70)},${mouth + 56} ${at(96)},${mouth + 56}`,
  };
}

// The clear tube: its wall, the bore inside it, the hose's rings, and the stem of the gauge.
/** @param {Scene} scene */
function benchPipes({ pipe: y, flow, tee, gauge: [x, high, r], hose }) {
  const [from, to] = hose ?? [0, 0];
  const sag = hose ? `H${from}C${from + 50},${y + 44} ${to - 50},${y + 44} ${to},${y}` : "";
  const line = `M${flow},${y - 12}V${y}${sag}H${tee}`;
  const ridges = hose ? [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map((n) => benchRing(from, to, y, n / 12)) : [];
  return {
    stem: benchDraw(`M${x - 8},${y - 8}V${high + r - 6}H${x + 8}V${y - 8}`, "glass"),
    wall: benchDraw(line, "wall"), bore: benchDraw(line, "bore"), rings: benchDraw(ridges.join(""), "thin"),
  };
}

/**
 * @param {number} from
 * @param {number} to
 * @param {number} y
 * @param {number} t
 */
function benchRing(from, to, y, t) {
  const [a, b] = [from + 50, to - 50];
  const x = (1 - t) ** 3 * from + 3 * t * (1 - t) ** 2 * a + 3 * t * t * (1 - t) * b + t ** 3 * to;
  const sag = y + 3 * 44 * t * (1 - t);
  return `M${x.toFixed(1)},${(sag - 14).toFixed(1)}V${(sag + 14).toFixed(1)}`;
}

// One drawing. Words are set in pixels, whatever the drawing's size: `--bench-px` is one of them.
/**
 * @param {Words} words
 * @param {SceneName} kind
 * @param {boolean} tube
 */
function benchSceneDrawing(words, kind, tube) {
  const at = BENCH_SCENES[kind];
  const { pipe: y, tee, side, box: [width, height] } = at;
  const mouth = y + BENCH_MOUTH;
  const ground = mouth + BENCH_BED;
  const parts = {
    meter: benchFlowMeter([at.flow, y - 8], at.tall), gas: benchGas(benchGasLines(at)),
    pip: benchLiftValve("pip", [at.pip, y]), relief: benchLiftValve("relief", [at.relief, y]),
    tee: benchTee([tee, y]), baby: benchLying([tee, mouth], side, tube),
    flow: benchGrip("flow", [at.flow, y + 44], 19),
  };
  const tubes = benchPipes(at);
  const [left, right] = side > 0 ? [tee - 120, Math.min(width - 4, tee + 258)] : [Math.max(4, tee - 258), tee + 66];
  const bed = benchDraw(`M${left},${ground}H${right}`, "bed");
  const cap = benchDraw(`M${tee - 22},${y + 50}H${tee + 22}V${y + 64}H${tee - 22}Z`, "lid");
  const svg = benchSvg("svg", { viewBox: `0 0 ${width} ${height}`, role: "img" });
  svg.setAttribute("class", `tpiece-bench-drawing tpiece-bench-scene-${kind}`);
  const names = benchSceneNames(words, kind, at, ground);
  svg.append(tubes.stem, tubes.wall, tubes.bore, tubes.rings, parts.meter.node, bed, parts.baby.node);
  svg.append(parts.pip.node, parts.relief.node, parts.tee.node, cap, parts.gas.node);
  svg.append(parts.tee.finger, parts.flow.node, ...Object.values(names)); // the finger lies over the gas
  return { svg, kind, at, bed, cap, names, ...parts };
}

/**
 * @param {Words} words
 * @param {SceneName} kind
 * @param {Scene} at
 * @param {number} ground
 */
function benchSceneNames(words, kind, at, ground) {
  const { pipe: y, tee, side } = at;
  const long = kind === "long";
  /**
   * @param {string} text
   * @param {number} x
   * @param {number} top
   */
  const name = (text, x, top, anchor = "middle") => {
    const node = benchText(text, x, top, "tpiece-bench-named");
    node.setAttribute("text-anchor", anchor);
    return node;
  };
  /** @param {string} id */
  const word = (id) => benchWord(words, `benchSeen_${id}`);
  const below = y + 34;
  const beside = tee + (long ? 88 : 84);
  const wide = side > 0;
  return {
    flow: name(word("flow"), at.flow - (long ? 14 : 26), y - at.tall - 18, "start"),
    // Words never shrink, so in little room the two names stand back from each other.
    pip: name(word(long ? "pipLong" : "pip"), at.pip + (long ? 0 : 14), below, long ? "middle" : "end"),
    relief: name(word(long ? "reliefLong" : "relief"), at.relief - (long ? 0 : 30), below, long ? "middle" : "start"),
    peep: name(word(long ? "peepLong" : "peep"), wide ? beside : tee + 58, y - (wide ? 60 : 76), wide ? "start" : "middle"),
    state: name("", beside, y - 40, "start"),
    chest: name("", tee + (wide ? 34 : -110), ground + (wide ? -118 : 22), wide ? "start" : "middle"),
  };
}

// The picture in the room it has: drawn anew when another arrangement fills that room better.
export class BenchScene {
  /** @type {SceneDrawn} */
  drawn;
  /** @type {BenchShown | undefined} */
  view;
  /** @type {Breath} */
  breath;

  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {HTMLElement} gauge
   */
  constructor(words, dials, gauge) {
    this.words = words;
    this.dials = dials;
    this.gauge = gauge;
    /** @type {Record<string, unknown>} */
    this.was = {};
    this.tube = words.benchMaskOn === words.benchTubeIn;
    this.stand = element("div", { class: "tpiece-bench-stand" });
    this.root = element("div", { class: "tpiece-bench-picture" }, this.stand);
    this.draw("long");
    new ResizeObserver(([{ contentRect: { width, height } }]) => this.size(width, height)).observe(this.root);
  }

  /**
   * @param {number} width
   * @param {number} height
   */
  size(width, height) {
    if (width < 40 || height < 40) return;
    const kind = benchFit(width, height);
    if (kind !== this.drawn.kind) this.draw(kind);
    const [w, h] = this.drawn.at.box;
    const scale = Math.min(width / w, height / h);
    this.stand.style.width = `${(w * scale).toFixed(1)}px`;
    this.stand.style.height = `${(h * scale).toFixed(1)}px`;
    this.stand.style.setProperty("--bench-px", `${(1 / scale).toFixed(4)}px`);
    // The hole has its long name only where its words, which never shrink, end inside the picture.
    const { kind: drawn, names: { peep } } = this.drawn;
    /** @param {string} id */
    const name = (id) => (peep.textContent = benchWord(this.words, `benchSeen_${id}`));
    name(drawn === "long" ? "peepLong" : "peep");
    if (drawn === "long" && Number(peep.getAttribute("x")) + peep.getComputedTextLength() > w) name("peep");
  }

  /** @param {SceneName} kind */
  draw(kind) {
    this.drawn = benchSceneDrawing(this.words, kind, this.tube);
    this.was = {};
    const { gauge: [x, y, r], box: [w, h] } = this.drawn.at;
    /** @param {number} n */
    const share = (n) => `${(100 * n).toFixed(2)}%`;
    const place = { left: (x - r) / w, top: (y - r) / h, width: (2 * r) / w };
    for (const [name, at] of Object.entries(place)) this.gauge.style.setProperty(`--gauge-${name}`, share(at));
    this.stand.replaceChildren(this.drawn.svg, this.gauge);
    if (this.view) this.show(this.view, this.breath);
  }

  /**
   * @param {BenchShown} view
   * @param {Breath} breath
   */
  show(view, breath) {
    Object.assign(this, { view, breath });
    const { drawn, dials } = this;
    if (this.changed("up", Math.round(breath.up * 10))) drawn.baby.rise(1.6 * breath.up);
    if (this.changed("held", view.held)) drawn.tee.hold(view.held);
    const comes = this.changed("comes", view.comes);
    if (this.changed("turned", view.positions) || comes) benchSceneTurned(drawn, view, dials);
    if (view.first) return;
    drawn.gas.show(view);
    for (const id of /** @type {const} */ (["pip", "relief"])) drawn[id].lift(view.flows[id] / (view.flows.supply || Infinity));
    this.say(view, breath);
  }

  /**
   * @param {string} name
   * @param {unknown} value
   */
  changed(name, value) {
    return this.was[name] !== value && ((this.was[name] = value), true);
  }

  /**
   * @param {Pick<BenchShown, "held" | "outlet">} view
   * @param {Breath} breath
   */
  say({ held, outlet }, { word }) {
    const lung = outlet === "lung";
    if (!this.changed("said", [held, outlet, word].join())) return;
    const { drawn, words } = this;
    drawn.cap.toggleAttribute("hidden", outlet !== "capped");
    drawn.baby.node.toggleAttribute("hidden", !lung);
    drawn.names.state.textContent = drawn.at.side < 0 ? "" : benchWord(words, held ? "benchSeen_held" : "benchSeen_released");
    drawn.names.chest.textContent = lung && word ? benchWord(words, word) : "";
    const state = benchState(words, { held, outlet, word });
    drawn.svg.setAttribute("aria-label", benchWord(words, "benchSchematic", { state }));
  }
}

/**
 * @param {Words} words
 * @param {Pick<BenchShown, "held" | "outlet"> & { word: string }} view
 */
function benchState(words, { held, outlet, word }) {
  const says = [held ? "benchOccluded" : "benchReleased", BENCH_OUTLETS[outlet] ?? "benchOpen"];
  return [...says, ...(word ? [word] : [])].map((each) => benchWord(words, each)).join(", ");
}

// `comes` is the share of the flow set that the supply gives, where a fault takes some of it.
/**
 * @param {Pick<SceneDrawn, "flow" | "pip" | "relief"> & Turned} drawn
 * @param {{ positions?: Record<string, number>, comes?: number }} view
 * @param {Dials} dials
 */
export function benchSceneTurned(drawn, { positions = {}, comes = 1 }, dials) {
  /** @param {string} id */
  const share = (id) => (positions[id] ?? 0) / (dials[id]?.clicks || 1);
  /** @param {string} id */
  const turns = (id) => (positions[id] ?? 0) / (dials[id]?.turn || 1);
  drawn.meter.rise(share("flow") * comes);
  drawn.flow.spin(turns("flow"), share("flow"));
  for (const id of /** @type {const} */ (["pip", "relief"])) drawn[id].grip.spin(turns(id), share(id));
  drawn.tee.grip.spin(turns("peep"), share("peep"));
  drawn.tee.open(1 - share("peep"));
  drawn.baby.leak(share("leak"));
}
