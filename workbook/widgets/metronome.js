// A metronome of inflations: clicks, a shape that changes its form, and a count in words.

import { element, switchBox } from "./elements.js";
import { drawn } from "./picture.js";

/** @import { Beats, Words } from "./types.js" */

const CLICK = { seconds: 0.05, inflate: 1320, release: 660, lead: 880 }; // hertz
const AHEAD = 300; // milliseconds for which clicks are planned

export class Metronome {
  /**
   * @param {Beats} beats
   * @param {Words} words
   * @param {import("./sound.js").Sound} sound
   */
  constructor({ rate, occlude_beats, release_beats }, words, sound) {
    this.words = words;
    this.sound = sound;
    this.occlude = occlude_beats;
    this.zero = this.planned = 0;
    /** @type {number | null} */
    this.at = null;
    this.beats = occlude_beats + release_beats;
    this.beat = 60000 / (rate * this.beats);
    const open = drawn("circle", { cx: 32, cy: 32, r: 9, class: "tpiece-pulse-open" });
    const full = drawn("rect", { x: 3, y: 3, width: 58, height: 58, rx: 8 });
    full.setAttribute("class", "tpiece-pulse-full");
    const svg = { viewBox: "0 0 64 64", class: "tpiece-pulse", "aria-hidden": "true" };
    this.shape = drawn("svg", svg, open, full);
    this.count = element("span", { class: "tpiece-beats", "aria-hidden": "true" });
    this.places = Array.from({ length: this.beats }, (_, n) => this.place(n));
    this.count.append(...this.places);
    this.root = element("div", { class: "tpiece-metronome" }, this.shape, this.count);
    this.rest();
  }

  /** @param {number} n */
  place(n) {
    const inflate = n < this.occlude;
    const text = inflate ? this.words.metronomeInflate : this.words.metronomeRelease;
    return element("span", { class: "tpiece-beat" }, text);
  }

  switches() {
    const shape = switchBox(this.words.metronomeShape, true, (on) => this.see(this.shape, on));
    shape.classList.add("tpiece-switch-shape");
    const count = switchBox(this.words.metronomeWords, true, (on) => this.see(this.count, on));
    return [shape, count];
  }

  /**
   * @param {Element} part
   * @param {boolean} on
   */
  see(part, on) {
    part.classList.toggle("tpiece-off", !on);
  }

  /**
   * @param {number} zero when the first beat counts, in milliseconds
   * @param {number} lead beats before it
   */
  start(zero, lead) {
    this.zero = zero;
    this.planned = -lead;
  }

  /**
   * The beat that sounds at a moment: 0 is the first that counts, those before it lead in.
   *
   * @param {number} now
   */
  show(now) {
    const at = Math.floor((now - this.zero) / this.beat);
    this.plan(now);
    if (at === this.at) return;
    this.at = at;
    const place = at < 0 ? -1 : at % this.beats;
    this.root.dataset.inflate = String(place >= 0 && place < this.occlude);
    this.places.forEach((span, n) => span.toggleAttribute("data-now", n === place));
  }

  /**
   * A page that slept does not make up for the beats it missed.
   *
   * @param {number} now
   */
  plan(now) {
    const current = Math.floor((now - this.zero) / this.beat);
    const last = Math.floor((now + AHEAD - this.zero) / this.beat);
    for (let n = Math.max(current, this.planned); n <= last; n += 1) {
      const inflate = ((n % this.beats) + this.beats) % this.beats < this.occlude;
      const pitch = n < 0 ? CLICK.lead : inflate ? CLICK.inflate : CLICK.release;
      this.sound.tone(this.zero + n * this.beat, CLICK.seconds, pitch);
      this.planned = n + 1;
    }
  }

  rest() {
    this.at = null;
    this.root.dataset.inflate = "false";
    for (const span of this.places) span.removeAttribute("data-now");
  }
}
