// The picture of a case: the bench as an eye meets it, and a baby who may breathe by itself.

import { TrialScene } from "./trial_scene.js";

/** @import { Dials, Words } from "./types.js" */

// Own breathing as it is drawn: breaths a minute, how far the chest goes (drawing units).
/** @type {Record<string, [number, number]>} */
const CASE_BREATHS = { gasps: [8, 6], weak: [24, 2.5], "draws-in": [60, 3.5], breathes: [48, 6] };
/** @type {[number, number]} */
const CASE_BAGGED = [40, 8];
const CASE_MINUTE = 60; // s

export class CaseScene extends TrialScene {
  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {HTMLElement} gauge
   */
  constructor(words, dials, gauge) {
    super(words, dials, gauge, { baby: true, parts: [], touch: () => {} });
    this.still = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
  }

  /** @param {import("./bench_scene.js").SceneName} kind */
  draw(kind) {
    super.draw(kind);
    this.more?.supply.node.toggleAttribute("hidden", true);
  }

  // How far the chest is up by itself at a time (s).
  /**
   * @param {number} time
   * @param {string | undefined} breathing
   * @param {boolean} bagged
   */
  moved(time, breathing, bagged) {
    const swing = bagged ? CASE_BAGGED : CASE_BREATHS[breathing ?? ""];
    if (!swing || this.still.matches) return 0;
    const [rate, far] = swing;
    const at = ((time * rate) / CASE_MINUTE) % 1;
    const lasts = breathing === "gasps" && !bagged ? 0.15 : 0.6; // of the time between two breaths
    return at < lasts ? far * Math.sin((Math.PI * at) / lasts) ** 2 : 0;
  }
}
