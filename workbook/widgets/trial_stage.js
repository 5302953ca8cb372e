// A trial as a learner sees it: picture with gauge, strip, time and heart rate, the places and what a
// hand can do there, what was found, and below the thumb the hole. All of it in one window.

import { BENCH_CHEST, benchChest, benchWord, benchWrite } from "./bench_drawing.js";
import { benchRoom } from "./bench_fit.js";
import { benchGauge } from "./bench_gauge.js";
import { benchStrip, BenchTrack } from "./bench_strip.js";
import { element } from "./elements.js";
import { TrialScene } from "./trial_scene.js";

/** @import { Chest, Dials, Words } from "./types.js" */

// Its strip is what the gauge showed, so it ends where that ends. Its title says its scale: this begins
// with half the gauge's (cmH2O), and only grows until the strip begins anew.
/**
 * @typedef {import("./trial_scene.js").TrialShown} TrialShown
 * @typedef {import("./trial_places.js").TrialTabs} TrialTabs
 */
class TrialTrack extends BenchTrack {
  /**
   * @param {Words} words
   * @param {number} gaugeTop
   */
  constructor(words, gaugeTop) {
    super(words, "pressure", true);
    this.limit = gaugeTop;
    this.most = 0;
  }

  /**
   * @param {number} most
   * @param {number} now
   */
  scale(most, now = 0) {
    this.most = Math.max(now ? this.most : 0, this.limit / 2, Math.min(most, this.limit));
    super.scale(this.most);
    benchWrite(this.title, benchWord(this.words, "trialStrip", { top: this.top }));
  }
}

/**
 * @param {Words} words
 * @param {{ dials: Dials, gaugeTop: number, chest: Chest, baby: boolean, alarm: string }} given
 * @param {{ parts: import("./trial_scene.js").Part[], tabs: TrialTabs, log: Element, hand: Element, touch: (id: string) => void }} around
 */
export function drawTrial(words, { dials, gaugeTop, chest, baby, alarm }, { parts, tabs, log, hand, touch }) {
  const [gauge, strip] = [benchGauge(words, gaugeTop), benchStrip(words, new TrialTrack(words, gaugeTop))];
  const scene = new TrialScene(words, dials, gauge.root, { baby, parts, touch });
  scene.stand.append(gauge.root);
  const head = new TrialHead(words, alarm);
  const view = element("div", { class: "tpiece-bench-view" }, scene.root);
  const side = element("div", { class: "tpiece-trial-side" }, tabs.label, tabs.row, tabs.tray, log);
  const grid = element("div", { class: "tpiece-trial-grid" }, head.root, view, strip.root, hand, side);
  const stage = element("div", { class: "tpiece-bench-stage tpiece-trial-stage" }, grid);
  const root = element("div", { class: "tpiece-bench tpiece-trial", "data-view": "picture" }, stage);
  const rise = benchChest(chest);
  const room = benchRoom(root, stage);
  return {
    root, scene, head,
    dispose: room.dispose,
    /** @param {TrialShown} view */
    show(view) {
      gauge.show(view.manometer);
      scene.show(view, view.bag ? trialBagged(view) : rise(view));
      room.fit();
    },
    strip: strip.draw,
  };
}

// What a bag does to the chest: it is drawn as it stands at the end of an inflation.
/** @param {TrialShown} view */
function trialBagged({ bagWorks }) {
  return bagWorks ? { word: "benchChestRises", up: BENCH_CHEST.high / 2 } : { word: "benchChestStill", up: 0 };
}

// Time, heart rate, what the hand is busy with, and an alarm that sounds.
class TrialHead {
  /**
   * @param {Words} words
   * @param {string} alarm
   */
  constructor(words, alarm) {
    this.words = words;
    this.clock = element("span", { role: "timer", "aria-live": "off", class: "tpiece-trial-clock" });
    this.heart = element("span", { class: "tpiece-trial-heart" });
    this.busy = element("span", { class: "tpiece-trial-busy" });
    const rings = alarm ? [element("span", { class: "tpiece-trial-alarm" }, alarm)] : [];
    this.root = element("p", { class: "tpiece-trial-head" }, this.clock, this.heart, this.busy, ...rings);
    /** @type {Record<string, string>} */
    this.was = {};
  }

  /** @param {{ time: number, limit: number, heart: number | null, falling: boolean, busy?: string }} at */
  show({ time, limit, heart, falling, busy }) {
    this.put("clock", benchWord(this.words, "trialClock", { now: Math.floor(time), limit: Math.round(limit) }));
    this.put("heart", heart === null ? "" : trialHeartSays(this.words, heart, falling));
    this.heart.toggleAttribute("data-falls", Boolean(falling));
    this.put("busy", busy ?? "");
  }

  /**
   * @param {"clock" | "heart" | "busy"} name
   * @param {string} text
   */
  put(name, text) {
    if (this.was[name] !== text) this[name].textContent = this.was[name] = text;
  }
}

/**
 * @param {Words} words
 * @param {number} rate
 * @param {boolean} falling
 */
export function trialHeartSays(words, rate, falling) {
  return benchWord(words, falling ? "trialHeartFalls" : "trialHeart", { rate: Math.round(rate) });
}
