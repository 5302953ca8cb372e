// A rhythm to listen to and to look at: bars on a time line, played as sound, shape and words.

import { button, element, switchBox } from "./elements.js";
import { drawn, fitted, framed, round, twin, wrote } from "./picture.js";
import { Aperture, Sound } from "./sound.js";
import { fill } from "./speech.js";

/** @import { RhythmFigure, Words } from "./types.js" */

const ROW = { pixels: 40, height: 58, bar: 26 }; // the narrowest second; a row and its bars
const RHYTHM_PITCH = 330; // hertz

/**
 * How many seconds stand in one row, so that a second is wide enough to be read.
 *
 * @param {number} total
 * @param {number} width
 */
function rowSeconds(total, width) {
  const fits = Math.max(2, Math.floor((width - 2 * 14) / ROW.pixels));
  if (total <= fits) return Math.ceil(total);
  return fits >= 10 ? Math.floor(fits / 5) * 5 : fits;
}

/**
 * @param {RhythmFigure["inflations"]} inflations
 * @param {number} row
 * @param {number} seconds
 * @param {number} total
 * @param {number} width
 * @returns {Element[]}
 */
function rhythmRow(inflations, row, seconds, total, width) {
  const [from, y] = [row * seconds, row * ROW.height + 4];
  const to = Math.min(from + seconds, Math.ceil(total));
  const x = (/** @type {number} */ time) => 14 + ((time - from) / seconds) * (width - 28);
  /** @type {Element[]} */
  const parts = [drawn("path", { d: `M${x(from)},${y + ROW.bar}H${x(to)}`, class: "tpiece-axis" })];
  for (let n = from; n <= to; n += 1) {
    parts.push(drawn("path", { d: `M${x(n)},${y}v${ROW.bar + 5}`, class: "tpiece-grid" }));
    parts.push(wrote(x(n), y + ROW.bar + 20, String(n), { class: "tpiece-middle" }));
  }
  for (const [press, release] of inflations) {
    const [start, end] = [Math.max(press, from), Math.min(release, to)];
    if (end <= start) continue;
    const box = { x: x(start), y: y + 4, width: x(end) - x(start), height: ROW.bar - 4 };
    parts.push(drawn("rect", { ...box, class: "tpiece-bar" }));
  }
  return parts;
}

/** @param {RhythmFigure} figure */
function rhythmTotal({ inflations, seconds }) {
  return seconds ?? inflations.at(-1)?.[1] ?? 1;
}

// The still picture of a rhythm, in as many rows as its width needs.
class Bars {
  /**
   * @param {RhythmFigure} figure
   * @param {string} says
   */
  constructor(figure, says) {
    this.figure = figure;
    this.total = rhythmTotal(figure);
    this.width = this.seconds = 0;
    this.head = drawn("path", { class: "tpiece-head" });
    this.root = fitted(says, ROW.height, (width) => this.draw(width));
  }

  /** @param {number} width */
  draw(width) {
    Object.assign(this, { width, seconds: rowSeconds(this.total, width) });
    const rows = Math.ceil(this.total / this.seconds);
    this.root.setAttribute("height", String(rows * ROW.height));
    const all = Array.from({ length: rows }, (_, row) =>
      rhythmRow(this.figure.inflations, row, this.seconds, this.total, width),
    );
    return [...all.flat(), this.head];
  }

  /**
   * A line where the playing has come to; none before the start and after the end.
   *
   * @param {number} time
   */
  point(time) {
    const row = Math.floor(time / this.seconds);
    const x = 14 + ((time - row * this.seconds) / this.seconds) * (this.width - 28);
    const inside = time >= 0 && time <= this.total;
    const line = `M${x.toFixed(1)},${row * ROW.height}v${ROW.bar + 6}`;
    this.head.setAttribute("d", inside ? line : "");
  }
}

class Rhythm {
  /**
   * @param {RhythmFigure} figure
   * @param {Words} words
   */
  constructor(figure, words) {
    this.figure = figure;
    this.words = words;
    this.sound = new Sound();
    this.total = rhythmTotal(figure);
    this.start = 0;
    /** @type {number | null} */
    this.frame = null;
    const count = figure.inflations.length;
    const says = figure.says ?? fill(words.rhythm, { count, seconds: round(this.total, 1) });
    this.bars = new Bars(figure, says);
    this.aperture = new Aperture(words);
    this.key = button(words.rhythmPlay, () => (this.frame ? this.stop() : this.play()));
    const sound = switchBox(words.rhythmSound, true, (on) => this.sounds(on));
    const line = element("div", { class: "tpiece-line" }, this.key, this.aperture.root, sound);
    const table = figure.inflations.map(([from, to], n) => [n + 1, round(from, 2), round(to, 2)]);
    const head = [words.inflation, words.rhythmFrom, words.rhythmTo];
    this.root = framed(figure.title, this.bars.root, line, twin(words, says, head, table));
  }

  play() {
    this.sound.wake();
    this.start = performance.now() + 300; // the first tone is not cut off
    this.name(this.words.rhythmStop);
    this.plan();
    this.tick();
  }

  plan() {
    const now = (performance.now() - this.start) / 1000;
    for (const [press, release] of this.figure.inflations) {
      if (press < now) continue;
      this.sound.tone(this.start + press * 1000, release - press, RHYTHM_PITCH, 0.15);
    }
  }

  /** @param {boolean} on */
  sounds(on) {
    this.sound.switch(on);
    if (on && this.frame) this.plan();
  }

  tick() {
    const time = (performance.now() - this.start) / 1000;
    if (time > this.total) return this.stop();
    this.aperture.show(this.figure.inflations.some(([from, to]) => from <= time && time < to));
    this.bars.point(time);
    this.frame = requestAnimationFrame(() => this.tick());
  }

  stop() {
    cancelAnimationFrame(this.frame ?? 0);
    this.frame = null;
    this.sound.hush();
    this.bars.point(-1);
    this.aperture.show(false);
    this.name(this.words.rhythmPlay);
  }

  /** @param {string} text */
  name(text) {
    this.key.textContent = this.key.title = text;
  }

  dispose() {
    cancelAnimationFrame(this.frame ?? 0);
    this.sound.close();
  }
}

/**
 * @param {RhythmFigure} figure
 * @param {Words} words
 */
export function rhythmFigure(figure, words) {
  return new Rhythm(figure, words);
}
