// The gas in the picture: a row of dots along each way it can take. Each dot stands for the same
// amount of gas, so dots pass at the rate the model's tables give for that very moment.

import { benchSvg } from "./bench_drawing.js";

/** @import { BenchShown } from "./types.js" */

export const BENCH_GAS = {
  dot: 10, gap: 14, // mL of a dot; drawing units between two
  most: 0.45, // gaps a row moves on in one frame at most: beyond half it would seem to run back
  least: 0.004, // of the supply; below it nothing is seen to leave
  thin: 1.5, thick: 9, // with reduced motion: a line's width at nothing and at all the supply
};
const BENCH_TUBES = ["supply", "past", "limb"]; // gas stands in these when nothing flows

// One way: `d` its line, gas running from its beginning to its end when the flow is positive.
class BenchWay {
  /**
   * @param {FlowName} name
   * @param {string} d
   * @param {string} arrow
   */
  constructor(name, d, arrow) {
    this.name = name;
    this.tube = BENCH_TUBES.includes(name);
    this.moved = 0;
    /** @type {Record<string, string>} */
    this.was = {};
    this.still = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
    this.node = benchSvg("path", { d, class: "tpiece-bench-gas", "data-way": name });
    this.arrow = arrow;
  }

  /**
   * @param {number} flow mL/s
   * @param {number} supply mL/s
   * @param {number} seconds since the last picture
   */
  show(flow, supply, seconds) {
    const share = Math.abs(flow) / (supply || Infinity);
    const seen = this.tube || share > BENCH_GAS.least;
    this.put("data-flow", flow.toFixed(2));
    this.put("visibility", seen ? "visible" : "hidden");
    if (seen && this.still.matches) this.draw(share, flow);
    else if (seen) this.move(flow, seconds);
  }

  /**
   * @param {number} flow
   * @param {number} seconds
   */
  move(flow, seconds) {
    const { dot, gap, most } = BENCH_GAS;
    const step = Math.min(most, Math.max(-most, (flow * seconds) / dot)) * gap;
    this.moved = (this.moved + step) % gap;
    this.put("stroke-dasharray", `0 ${gap}`);
    this.put("stroke-dashoffset", (-this.moved).toFixed(2));
  }

  /**
   * @param {number} share of the supply
   * @param {number} flow
   */
  draw(share, flow) {
    const { thin, thick } = BENCH_GAS;
    const width = thin + (thick - thin) * Math.min(1.5, share);
    const [ahead, back] = share > BENCH_GAS.least ? [flow > 0, flow < 0] : [];
    this.node.style.strokeWidth = `${width.toFixed(1)}px`;
    this.put("marker-end", ahead ? this.arrow : "none");
    this.put("marker-start", back ? this.arrow : "none");
  }

  /**
   * @param {string} name
   * @param {string} value
   */
  put(name, value) {
    if (this.was[name] === value) return;
    this.was[name] = value;
    this.node.setAttribute(name, value);
  }
}

/**
 * What flows where, in mL/s, from what the player's tables say.
 *
 * @param {Pick<BenchShown, "flows" | "outlet">} view
 */
export function benchFlows({ flows: at, outlet }) {
  const joined = outlet === "lung";
  return {
    supply: at.supply, past: at.supply - at.pip, limb: at.limb, pip: at.pip, relief: at.relief,
    aperture: at.aperture, down: at.outlet + (joined ? at.lung : 0),
    leak: joined ? at.outlet : 0, open: joined ? 0 : at.outlet, lung: joined ? at.lung : 0,
  };
}

/** @typedef {keyof ReturnType<typeof benchFlows>} FlowName */

/** @param {string} id */
function benchArrowHead(id) {
  const given = { id, viewBox: "0 0 10 10", refX: 5, refY: 5, orient: "auto-start-reverse" };
  const size = { markerWidth: 15, markerHeight: 15, markerUnits: "userSpaceOnUse" };
  const head = benchSvg("path", { d: "M0,0L10,5L0,10Z", class: "tpiece-bench-head" });
  return benchSvg("defs", {}, benchSvg("marker", { ...given, ...size }, head));
}

/**
 * All ways of a drawing.
 *
 * @param {Partial<Record<FlowName, string>>} lines the path of each
 */
export function benchGas(lines) {
  const id = `tpiece-${Math.random().toString(36).slice(2)}`;
  const named = /** @type {[FlowName, string][]} */ (Object.entries(lines));
  const ways = named.map(([name, d]) => new BenchWay(name, d, `url(#${id})`));
  const node = benchSvg("g", { class: "tpiece-bench-gases" }, benchArrowHead(id), ...ways.map((way) => way.node));
  /** @type {number | null} */
  let last = null;
  const show = (/** @type {BenchShown} */ view) => {
    const seconds = last === null ? 0 : Math.max(0, view.time - last);
    last = view.time;
    const flows = benchFlows(view);
    for (const way of ways) way.show(flows[way.name], flows.supply, seconds);
  };
  return { node, show };
}
