// @ts-nocheck
// What a bench sounds like: gas hisses where it leaves, a valve that opens puffs. All of it follows
// the player's flows of that very moment, and is told in words too. Off until somebody wants it.

import { benchWord } from "./bench_drawing.js";
import { BENCH_GAS, benchFlows } from "./bench_gas.js";
import { button, element } from "./elements.js";

const BENCH_SOUND = {
  full: 250, loud: 0.12, // mL/s of gas that leaves one way at the loudest, and how loud that is
  soft: 0.02, // seconds within which a hiss follows its flow
  puff: 0.09, dull: 420, // seconds of a valve's puff; Hz of its pitch
};
// Where gas can leave, and the pitch (Hz) of its hiss: the smaller the gap, the sharper.
const BENCH_HISS = [["aperture", 2600], ["open", 900], ["leak", 4800], ["pip", 1700], ["relief", 1200]];
const BENCH_VALVES = ["pip", "relief"];

// One switch for every bench of a page: they sound, or none does.
const benchNoise = (globalThis.tpieceNoise ??= { on: false, context: null, benches: new Set() });

// How loud each way out is, 0 to 1, by what leaves there (mL/s); a way nothing is seen to leave by
// is silent.
function benchLoud(view) {
  const flows = benchFlows(view);
  return BENCH_HISS.map(([way]) => {
    const seen = view.running && flows[way] > flows.supply * BENCH_GAS.least;
    return [way, seen ? Math.sqrt(Math.min(1, flows[way] / BENCH_SOUND.full)) : 0];
  });
}

export class BenchSound {
  constructor(words, tube) {
    Object.assign(this, { words, tube, was: {}, said: null });
    this.key = button(words.benchSound, () => this.turn(!benchNoise.on));
    this.hears = element("span", { class: "tpiece-bench-heard" });
    benchNoise.benches.add(this);
    this.mark();
  }

  // Only a press on the button, or a hand on the bench once it is on, wakes the browser's sound.
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
  build(context) {
    const buffer = context.createBuffer(1, context.sampleRate, context.sampleRate);
    const samples = buffer.getChannelData(0);
    for (let n = 0; n < samples.length; n += 1) samples[n] = 2 * Math.random() - 1;
    this.noise = context.createBufferSource();
    Object.assign(this.noise, { buffer, loop: true });
    const pass = (pitch) => {
      const [filter, gain] = [context.createBiquadFilter(), context.createGain()];
      filter.type = "bandpass";
      filter.frequency.value = pitch;
      gain.gain.value = 0;
      this.noise.connect(filter).connect(gain).connect(context.destination);
      return gain;
    };
    const made = Object.fromEntries(BENCH_HISS.map(([way, pitch]) => [way, pass(pitch)]));
    this.thump = pass(BENCH_SOUND.dull);
    this.noise.start();
    return made;
  }

  // What is heard at this moment.
  show(view) {
    const loud = benchLoud(view);
    for (const [way, level] of loud) this.hiss(way, level);
    const says = loud.filter(([, level]) => level).map(([way]) => way);
    this.tell(says);
  }

  hiss(way, level) {
    const opens = level > 0 && !this.was[way] && BENCH_VALVES.includes(way);
    this.was[way] = level;
    if (!this.ways || !benchNoise.on) return;
    const { currentTime } = benchNoise.context;
    const { loud, soft, puff } = BENCH_SOUND;
    this.ways[way].gain.setTargetAtTime(level * loud, currentTime, soft);
    if (!opens) return;
    this.thump.gain.setTargetAtTime(3 * level * loud, currentTime, 0.004);
    this.thump.gain.setTargetAtTime(0, currentTime + puff / 3, puff / 3);
  }

  tell(ways) {
    if (this.said === ways.join()) return;
    this.said = ways.join();
    const name = (way) => benchWord(this.words, `benchHear_${this.tube && way === "leak" ? "tube" : way}`);
    const what = ways.map(name).join(", ") || benchWord(this.words, "benchHear_none");
    this.hears.textContent = benchWord(this.words, "benchHear", { what });
  }

  hush() {
    this.was = {};
    this.tell([]);
    if (!this.ways) return;
    for (const { gain } of [...Object.values(this.ways), this.thump]) {
      gain.cancelScheduledValues(0);
      gain.setTargetAtTime(0, benchNoise.context.currentTime, BENCH_SOUND.soft);
    }
  }

  dispose() {
    benchNoise.benches.delete(this);
    this.hush();
    this.noise?.stop(benchNoise.context.currentTime + 1);
  }
}
