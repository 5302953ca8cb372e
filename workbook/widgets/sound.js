// Tones at given moments of the page's clock. Nothing sounds before the learner has done something.

import { element } from "./elements.js";
import { drawn } from "./picture.js";

export class Sound {
  constructor() {
    this.on = true;
    /** @type {Set<OscillatorNode>} */
    this.planned = new Set();
    /** @type {AudioContext | null} */
    this.context = null;
  }

  // Called from a press or a click: browsers allow sound only after one.
  wake() {
    if (!globalThis.AudioContext) return;
    this.context ??= new AudioContext();
    this.context.resume().catch((error) => console.warn("This browser plays no sound.", error));
  }

  /** @param {boolean} on */
  switch(on) {
    this.on = on;
    if (!on) this.hush();
  }

  /**
   * A tone of so many seconds at a moment as performance.now() counts, soft at both ends.
   *
   * @param {number} moment
   * @param {number} seconds
   * @param {number} pitch hertz
   */
  tone(moment, seconds, pitch, loud = 0.2) {
    if (!this.context || !this.on) return;
    const ahead = Math.max(0, (moment - performance.now()) / 1000);
    const from = this.context.currentTime + ahead;
    const to = from + seconds;
    const [source, volume] = [this.context.createOscillator(), this.context.createGain()];
    source.frequency.value = pitch;
    volume.gain.setValueAtTime(0, from);
    volume.gain.linearRampToValueAtTime(loud, from + 0.005);
    volume.gain.setValueAtTime(loud, Math.max(from + 0.005, to - 0.02));
    volume.gain.linearRampToValueAtTime(0, to);
    source.connect(volume).connect(this.context.destination);
    source.start(from);
    source.stop(to + 0.01);
    this.planned.add(source);
    source.addEventListener("ended", () => this.planned.delete(source));
  }

  hush() {
    for (const source of this.planned) source.stop();
    this.planned.clear();
  }

  close() {
    this.hush();
    this.context?.close();
    this.context = null;
  }
}

// The aperture as a shape: an open ring, or a disc with a bar across it.
function apertureShape() {
  const open = drawn("circle", { cx: 20, cy: 20, r: 14, class: "tpiece-shape-open" });
  const shut = drawn("circle", { cx: 20, cy: 20, r: 17, class: "tpiece-shape-shut" });
  const bar = drawn("path", { d: "M9,20H31", class: "tpiece-shape-bar" });
  const svg = { viewBox: "0 0 40 40", "aria-hidden": "true", class: "tpiece-shape" };
  return drawn("svg", svg, open, shut, bar);
}

// Shape and word of the aperture's state; written only when it changes.
export class Aperture {
  /** @param {import("./types.js").Words} words */
  constructor(words) {
    /** @type {boolean | undefined} */
    this.occluded = undefined;
    this.words = words;
    this.text = element("span", { class: "tpiece-state" });
    this.root = element("span", { class: "tpiece-aperture" }, apertureShape(), this.text);
    this.show(false);
  }

  /** @param {boolean} occluded */
  show(occluded) {
    if (this.occluded === occluded) return;
    this.occluded = occluded;
    this.root.dataset.occluded = String(occluded);
    this.text.textContent = occluded ? this.words.occluded : this.words.released;
  }
}
