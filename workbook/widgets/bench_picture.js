// The bench as a learner sees it: the stage, with all a hand needs in one window, and below it what
// belongs to the run as a whole.

import { benchChest } from "./bench_drawing.js";
import { benchRoom } from "./bench_fit.js";
import { benchGauge } from "./bench_gauge.js";
import { BenchScene } from "./bench_scene.js";
import { benchSchematic } from "./bench_schematic.js";
import { benchStrip } from "./bench_strip.js";
import { BenchPartsTold } from "./bench_views.js";
import { element } from "./elements.js";

/** @import { BenchShown, Chest, Dials, Educator, Words } from "./types.js" */

/** @typedef {"picture" | "schematic" | "words"} ViewName */
const BENCH_DIALS = ["flow", "pip", "relief", "peep", "leak"];

/** @param {string} name */
function benchSlot(name) {
  return element("div", { class: `tpiece-bench-slot tpiece-bench-slot-${name}` });
}

// `show(view)` puts everything where a view says, at screen rate: {time, manometer, volume,
// restVolume, weight, held, outlet, positions, flows, running}. `strip(history, options)` draws the
// last seconds of [{time, manometer, volume, held}, ...] in order of time; options: {seconds, now,
// volume: true for a second strip}. `look(name)` changes the view: one of `BENCH_VIEWS`.
/**
 * @param {Words} words
 * @param {{ dials?: Dials, gaugeTop: number, educator?: Educator | null, chest?: Chest, volumes?: boolean }} given
 */
export function drawBench(words, { dials = {}, gaugeTop, educator, chest = {}, volumes = false }) {
  const [gauge, strip] = [benchGauge(words, gaugeTop), benchStrip(words)];
  const views = {
    picture: new BenchScene(words, dials, gauge.root), schematic: benchSchematic(words, dials),
    words: new BenchPartsTold(words, dials, volumes, gaugeTop),
  };
  const stage = benchStage(views, strip);
  const aside = element("div", { class: "tpiece-bench-aside" });
  aside.append(...["outlet", "transport", "views"].map(benchSlot));
  const root = element("div", { class: "tpiece-bench" }, stage, aside, benchSlot("more"));
  root.toggleAttribute("data-educator", Boolean(educator && Object.keys(educator).length));
  const rise = benchChest(chest);
  const room = benchRoom(root, stage);
  let seen = /** @type {ViewName} */ ("picture");
  /** @param {ViewName} name */
  const look = (name) => {
    root.dataset.view = seen = name;
    const place = name === "picture" ? views.picture.stand : /** @type {Element} */ (stage.querySelector(".tpiece-bench-view"));
    place.append(gauge.root);
  };
  look("picture");
  return {
    root,
    look,
    dispose: room.dispose,
    /** @param {BenchShown} view */
    show(view) {
      const breath = rise(view);
      gauge.show(view.manometer);
      views[seen].show(view, breath);
      room.fit();
    },
    strip: strip.draw,
  };
}

/**
 * @param {Record<ViewName, { root: Element }>} views
 * @param {{ root: Element }} strip
 */
function benchStage(views, strip) {
  const seen = element("div", { class: "tpiece-bench-view" });
  seen.append(...Object.values(views).map(({ root }) => root));
  const dials = element("div", { class: "tpiece-bench-dials" }, ...BENCH_DIALS.map(benchSlot));
  const hand = element("div", { class: "tpiece-bench-hand" }, benchSlot("hold"));
  const grid = element("div", { class: "tpiece-bench-grid-all" }, seen, strip.root, dials, hand);
  return element("div", { class: "tpiece-bench-stage" }, grid);
}
