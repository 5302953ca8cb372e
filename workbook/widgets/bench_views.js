// Three views of one bench: the picture, the schematic, and words with the numbers behind both.

import { benchWord } from "./bench_drawing.js";
import { BENCH_GAS, benchFlows } from "./bench_gas.js";
import { benchReads } from "./bench_told.js";
import { benchRadios } from "./bench_transport.js";
import { element } from "./elements.js";

/** @import { BenchShown, Breath, Dials, Words } from "./types.js" */

/**
 * @typedef {ReturnType<typeof benchFlows>} Flowing
 * @typedef {import("./bench_picture.js").ViewName} ViewName
 */
const BENCH_VIEWS = ["picture", "schematic", "words"];
const BENCH_TOLD_EVERY = 250; // milliseconds between two readings

// What stands and flows at this moment, part by part: for who cannot see it, and for proof.
export class BenchPartsTold {
  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {boolean} volumes
   * @param {number} top
   */
  constructor(words, dials, volumes, top) {
    this.words = words;
    this.dials = dials;
    this.volumes = volumes;
    this.top = top;
    /** @type {Map<string, HTMLElement>} */
    this.cells = new Map();
    this.last = -Infinity;
    this.root = element("dl", { class: "tpiece-bench-words" });
    const order = ["supply", "gauge", "pip", "relief", "aperture", "down", "lung", "chest"];
    for (const name of order) {
      const cell = element("dd");
      this.cells.set(name, cell);
      this.root.append(element("div", {}, element("dt", {}, benchWord(words, `benchPart_${name}`)), cell));
    }
  }

  /**
   * @param {BenchShown} view
   * @param {Breath} breath
   */
  show(view, breath) {
    const now = performance.now();
    if (now - this.last < BENCH_TOLD_EVERY) return;
    this.last = now;
    for (const [name, says] of Object.entries(this.says(view, breath))) {
      const cell = this.cells.get(name);
      if (cell && cell.textContent !== says) cell.textContent = says;
    }
  }

  /**
   * @param {BenchShown} view
   * @param {Breath} breath
   * @returns {Record<string, string>}
   */
  says(view, { word }) {
    const { words } = this;
    const { held, outlet } = view;
    const at = benchFlows(view);
    const lung = outlet === "lung";
    const none = benchWord(words, "benchNoLung");
    return {
      supply: this.flow(at.supply),
      gauge: benchWord(words, "benchCm", { value: benchReads(words, this.top, view.manometer) }),
      pip: this.leaves(at, "pip", "benchShut"), relief: this.leaves(at, "relief", "benchShut"),
      aperture: held ? benchWord(words, "benchSeen_held") : this.leaves(at, "aperture", "benchNoGas"),
      down: this.leaves(at, lung ? "leak" : "open", "benchNoGas"),
      lung: lung ? this.into(at.lung) : none,
      chest: lung ? this.chest(view, word) : none,
    };
  }

  /** @param {number} value */
  flow(value) {
    return benchWord(this.words, "benchFlowSays", { value: Math.abs(Math.round(value * 0.6) / 10) });
  }

  /**
   * @param {Flowing} at
   * @param {keyof Flowing} way
   * @param {string} rests
   */
  leaves(at, way, rests) {
    const gas = at[way] > at.supply * BENCH_GAS.least;
    return gas ? benchWord(this.words, "benchLeaves", { flow: this.flow(at[way]) }) : benchWord(this.words, rests);
  }

  /** @param {number} value */
  into(value) {
    return benchWord(this.words, value < 0 ? "benchComesOut" : "benchGoesIn", { flow: this.flow(value) });
  }

  // The volume is told only where the bench offers it.
  /**
   * @param {Pick<BenchShown, "volume"> & Partial<BenchShown>} view
   * @param {string} word
   */
  chest({ volume, restVolume = volume }, word) {
    const value = Math.round(10 * Math.max(0, volume - restVolume)) / 10;
    const says = [word && benchWord(this.words, word)];
    if (this.volumes) says.push(benchWord(this.words, "benchRise", { value }));
    return says.filter(Boolean).join("; ");
  }
}

// The choice between the views.
/**
 * @param {Words} words
 * @param {(name: ViewName) => void} choose
 */
export function benchViewChoice(words, choose) {
  const options = BENCH_VIEWS.map((id) => ({ id, text: benchWord(words, `benchView_${id}`) }));
  const radios = benchRadios(benchWord(words, "benchViewLegend"), options, (id) => choose(/** @type {ViewName} */ (id)));
  radios.root.classList.add("tpiece-bench-viewing");
  radios.show("picture");
  return radios.root;
}
