// A case as a learner sees it, all of it in one window: the time since birth, what is seen of the baby,
// the bench's picture, what can be done at each part, and below the thumb the hole.

import { benchChest, benchWord, benchWrite } from "./bench_drawing.js";
import { benchRoom } from "./bench_fit.js";
import { benchGauge } from "./bench_gauge.js";
import { CaseScene } from "./case_scene.js";
import { caseTime } from "./case_sees.js";
import { element } from "./elements.js";

/** @import { BenchShown, CaseTold, Chest, Dials, Words } from "./types.js" */

class CaseHead {
  /**
   * @param {Words} words
   * @param {CaseTold} told
   * @param {Element} keys
   */
  constructor(words, { weeks, weight }, keys) {
    this.words = words;
    this.clock = element("b", { role: "timer", "aria-live": "off" });
    this.busy = element("span", { class: "tpiece-trial-busy" });
    const since = element("span", { class: "tpiece-case-clock" }, this.clock, ` ${words.caseClock}`);
    const who = element("span", { class: "tpiece-case-who" }, `${weeks}, ${weight}`);
    const model = element("small", { class: "tpiece-case-model" }, `${words.caseModel} ${words.caseSafe}`);
    this.root = element("div", { class: "tpiece-case-head" }, since, who, this.busy, keys, model);
  }

  /**
   * @param {number} time
   * @param {string} busy
   */
  show(time, busy) {
    benchWrite(this.clock, caseTime(1000 * time));
    benchWrite(this.busy, busy);
  }
}

/**
 * @param {Words} words
 * @param {{ dials: Dials, gaugeTop: number, chest: Chest, told: CaseTold }} given
 * @param {{ sees: Element, tabs: import("./trial_places.js").TrialTabs, log: Element, hand: Element, keys: Element, prompt: Element }} parts
 */
export function drawCase(words, { dials, gaugeTop, chest, told }, { sees, tabs, log, hand, keys, prompt }) {
  const gauge = benchGauge(words, gaugeTop);
  const scene = new CaseScene(words, dials, gauge.root);
  scene.stand.append(gauge.root);
  const head = new CaseHead(words, told, keys);
  const view = element("div", { class: "tpiece-bench-view" }, scene.root);
  const side = element("div", { class: "tpiece-trial-side tpiece-case-side" }, tabs.label, tabs.row, tabs.tray, log);
  const grid = element("div", { class: "tpiece-case-grid" }, head.root, sees, view, hand, side, prompt);
  const stage = element("div", { class: "tpiece-bench-stage tpiece-case-stage" }, grid);
  const root = element("div", { class: "tpiece-bench tpiece-trial tpiece-case", "data-view": "picture" }, stage);
  const rise = benchChest(chest);
  const room = benchRoom(root, stage);
  return {
    root, scene, head,
    dispose: room.dispose,
    // `own` is how the baby breathes by itself, `bagged` that a bag moves the chest.
    /**
     * @param {BenchShown} view
     * @param {{ own: string | undefined, bagged: boolean }} breathes
     */
    show(view, { own, bagged }) {
      gauge.show(view.manometer);
      const { up } = rise(view);
      scene.show(view, { word: "", up: Math.max(up, scene.moved(view.time, own, bagged)) });
      room.fit();
    },
  };
}

/**
 * @param {Words} words
 * @param {{ text: string } | null} own
 * @param {{ text: string } | null} helper
 * @param {{ bag: boolean, pressed: boolean }} stands
 */
export function caseBusy(words, own, helper, { bag, pressed }) {
  const says = [];
  if (bag) says.push(words.caseBagOn);
  if (pressed) says.push(words.casePressed);
  if (own) says.push(benchWord(words, "caseBusy", { what: own.text }));
  if (helper) says.push(benchWord(words, "caseHelperBusy", { what: helper.text }));
  return says.join(" · ");
}
