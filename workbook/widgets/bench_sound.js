// What a bench sounds like: gas hisses where it leaves, a valve that opens puffs. All of it follows
// the player's flows of that very moment, and is told in words too. Off until somebody wants it.

import { benchWord } from "./bench_drawing.js";
import { BENCH_GAS, benchFlows } from "./bench_gas.js";
import { button, element } from "./elements.js";

/** @import { BenchShown, Words } from "./types.js" */

/**
 * @typedef {import("./bench_gas.js").FlowName} Way
 * @typedef {{ on: boolean, context: AudioContext | null, benches: Set<BenchSound> }} Noise
 */
const BENCH_SOUND = {
  full: 250, loud: 0.12, // mL/s of gas that leaves one way at the loudest, and how loud that is
  soft: 0.02, // seconds within which a hiss follows its flow
  puff: 0.09, dull: 420, // seconds of a valve's puff; Hz of its pitch
};
// Where gas can leave, and the pitch (Hz) of its hiss: the smaller the gap, the sharper.
/** @type {[Way, number][]} */
const BENCH_HISS = [["aperture", 2600], ["open", 900], ["leak", 4800], ["pip", 1700], ["relief", 1200]];
/** @type {Way[]} */
const BENCH_VALVES = ["pip", "relief"];

// One switch for every bench of a page: they sound, or none does.
/** @type {Noise} */
const benchNoise = (globalThis.tpieceNoise ??= { on: false, context: null, benches: new Set() });

// How loud each way out is, 0 to 1, by what leaves there (mL/s); a way nothing is seen to leave by
// is silent.
/**
 * @param {BenchShown} view
 * @returns {[Way, number][]}
 */
function benchLoud(view) {
  const flows = benchFlows(view);
  return BENCH_HISS.map(([way]) => {
    const seen = view.running && flows[way] > flows.supply * BENCH_GAS.least;
    return [way, seen ? Math.sqrt(Math.min(1, flows[way] / BENCH_SOUND.full)) : 0];
  });
}

export class BenchSound {
  /** @type {AudioBufferSourceNode | undefined} */
  noise;
  /** @type {GainNode | undefined} */
  thump;

  /**
   * @param {Words} words
   * @param {boolean} tube
   */
  constructor(words, tube) {
    this.words = words;
    this.tube = tube;
    /** @type {Partial<Record<Way, number>>} */
    this.was = {};
    /** @type {string | null} */
    this.said = null;
    /** @type {Partial<Record<Way, GainNode>> | undefined} */
    this.ways = undefined;
    this.key = button(words.benchSound, () => this.turn(!benchNoise.on));
    this.hears = element("span", { class: "tpiece-bench-heard" });
    benchNoise.benches.add(this);
    this.mark();
  }

  // Only a press on the button, or a hand on the bench once it is on, wakes the browser's sound.
  /** @param {boolean} on */
  turn(on) {
    benchNoise.on = on;
    if (on) this.wake();
    for (const bench of benchNoise.benches) bench.mark();
  }

  mark() {
    const { on } = benchNoise;
    this.key.setAttribute("aria-pressed", String(on));
    if (!on) this.hush();
  }

  wake() {
    if (!benchNoise.on || !globalThis.AudioContext) return;
    benchNoise.context ??= new AudioContext();
    benchNoise.context.resume().catch((error) => console.warn("This browser plays no sound.", error));
    this.ways ??= this.build(benchNoise.context);
  }

  // Noise, the same for all ways, let through at each one's own pitch.
  /** @param {AudioContext} context */
  build(context) {
    const buffer = context.createBuffer(1, context.sampleRate, context.sampleRate);
    const samples = buffer.getChannelData(0);
    for (let n = 0; n < samples.length; n += 1) samples[n] = 2 * Math.random() - 1;
    const noise = this.noise = context.createBufferSource();
    Object.assign(noise, { buffer, loop: true });
    /** @param {number} pitch */
    const pass = (pitch) => {
      const [filter, gain] = [context.createBiquadFilter(), context.createGain()];
      filter.type = "bandpass";
      filter.frequency.value = pitch;
      gain.gain.value = 0;
      noise.connect(filter).connect(gain).connect(context.destination);
      return gain;
    };
    const made = Object.fromEntries(BENCH_HISS.map(([way, pitch]) => [way, pass(pitch)]));
    this.thump = pass(BENCH_SOUND.dull);
    noise.start();
    return made;
  }

  // What is heard at this moment.
  /** @param {BenchShown} view */
  show(view) {
    const loud = benchLoud(view);
    for (const [way, level] of loud) this.hiss(way, level);
    const says = loud.filter(([, level]) => level).map(([way]) => way);
    this.tell(says);
  }

  /**
   * @param {Way} way
   * @param {number} level
   */
  hiss(way, level) {
    const opens = level > 0 && !this.was[way] && BENCH_VALVES.includes(way);
    this.was[way] = level;
    const gain = this.ways?.[way]?.gain;
    if (!gain || !this.thump || !benchNoise.on) return;
    const { currentTime } = /** @type {AudioContext} */ (benchNoise.context);
    const { loud, soft, puff } = BENCH_SOUND;
    gain.setTargetAtTime(level * loud, currentTime, soft);
    if (!opens) return;
    this.thump.gain.setTargetAtTime(3 * level * loud, currentTime, 0.004);
    this.thump.gain.setTargetAtTime(0, currentTime + puff / 3, puff / 3);
  }

  /** @param {Way[]} ways */
  tell(ways) {
    if (this.said === ways.join()) return;
    this.said = ways.join();
    /** @param {Way} way */
    const name = (way) => benchWord(this.words, `benchHear_${this.tube && way === "leak" ? "tube" : way}`);
    const what = ways.map(name).join(", ") || benchWord(this.words, "benchHear_none");
    this.hears.textContent = benchWord(this.words, "benchHear", { what });
  }

  hush() {
    this.was = {};
    this.tell([]);
    const { context } = benchNoise;
    if (!this.ways || !this.thump || !context) return;
    for (const { gain } of [...Object.values(this.ways), this.thump]) {
      gain.cancelScheduledValues(0);
      gain.setTargetAtTime(0, context.currentTime, BENCH_SOUND.soft);
    }
  }

  dispose() {
    benchNoise.benches.delete(this);
    this.hush();
    this.noise?.stop((benchNoise.context?.currentTime ?? 0) + 1);
  }
}
