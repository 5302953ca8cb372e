// The picture beside a sentence: the bench's own, played from the model's tables while somebody
// moves the number, and a little longer. Its thumb keeps the count, or the hole covered.

import { benchChest } from "./bench_drawing.js";
import { benchGauge } from "./bench_gauge.js";
import { Player, settingKey } from "./bench_player.js";
import { BenchScene } from "./bench_scene.js";
import { element } from "./elements.js";

/** @import { SentencePlays, SentenceTraits, StopTold, Words } from "./types.js" */

const SENTENCE_LASTS = 9; // seconds that the picture plays after the number was moved
const SENTENCE_SETTLES = 2; // seconds after which the gauge stands still
const SENTENCE_UNSEEN = 4; // inflations that pass unseen where nothing may move

/** @typedef {NonNullable<SentenceTraits["first"]>} First */
export class SentencePicture {
  // `rests` is told when the picture comes to rest.
  /**
   * @param {Words} words
   * @param {SentencePlays} plays
   * @param {First} first
   * @param {() => void} rests
   */
  constructor(words, { dials, top, chest, ...plays }, first, rests) {
    this.outlet = plays.outlet;
    this.weight = plays.weight;
    this.hand = plays.hand;
    this.stands = first.stands;
    this.base = first.tables;
    this.rests = rests;
    this.running = false;
    this.zero = this.turn = this.ends = this.drawing = 0;
    this.gauge = benchGauge(words, top);
    this.scene = new BenchScene(words, dials, this.gauge.root);
    const view = element("div", { class: "tpiece-bench-view" }, this.scene.root);
    this.root = element("div", { class: "tpiece-bench", "data-view": "picture" }, view);
    this.rise = benchChest(chest);
    this.still = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
    const positions = Object.fromEntries(Object.keys(dials).map((id) => [id, 0]));
    const start = { positions, outlet: this.outlet, lung: String(first.at), fault: "" };
    const endless = { limit: Infinity, most: Infinity };
    this.player = new Player({ start, rest: first.rest, tables: first.tables, ...endless });
    this.begin();
    this.player.advance(SENTENCE_SETTLES);
    this.draw();
  }

  get now() {
    return this.running ? (performance.now() - this.zero) / 1000 : this.player.now;
  }

  // The number was moved to its value `at`.
  /** @param {number} at */
  go(at) {
    if (!this.running) this.begin();
    this.player.touch("lung", String(at), this.now);
    if (!this.still.matches) this.watch();
  }

  // What the kernel says of a value: of the tables only those that differ from the first ones.
  /**
   * @param {StopTold} told
   * @param {boolean} current
   */
  learn({ at, stands, tables }, current) {
    const key = settingKey({ ...this.player.setting, lung: String(at) });
    this.player.learn(key, { ...this.base, ...tables });
    if (!current) return;
    this.stands = stands;
    this.player.advance(this.now); // from the move on by the new tables
    if (this.still.matches) this.pose();
    else if (!this.running) this.player.advance(this.player.now + SENTENCE_SETTLES);
    this.draw();
  }

  // Play on from where it came to rest: what happened before that is done with.
  begin() {
    const { player } = this;
    const { volume, pressure } = player.state;
    Object.assign(player, { start: player.setting, startLaws: player.laws, rest: { volume, pressure } });
    player.reset();
    Object.assign(this, { zero: performance.now(), turn: 0 });
    if (this.hand === "held") player.touch("occlude", undefined, 0);
  }

  watch() {
    if (this.still.matches) return this.pose();
    if (!this.running) {
      if (!this.player.waits) this.begin();
      this.zero = performance.now() - 1000 * this.player.now;
      this.running = true;
      this.drawing = requestAnimationFrame(() => this.tick());
    }
    this.ends = this.now + SENTENCE_LASTS;
    return undefined;
  }

  tick() {
    const { now } = this;
    this.work(now);
    this.draw();
    if (now > this.ends && (this.hand === "held" || !this.player.held)) return this.stop();
    this.drawing = requestAnimationFrame(() => this.tick());
    return undefined;
  }

  // The thumb goes down and up by the count.
  /** @param {number} until */
  work(until) {
    const { player, stands } = this;
    while (this.hand === "count" && this.turn <= until) {
      player.touch(player.held ? "release" : "occlude", undefined, Math.max(this.turn, player.now));
      this.turn += player.held ? stands.held : stands.period - stands.held;
    }
    player.advance(until);
  }

  // With reduced motion one moment stands for all: the end of an inflation.
  pose() {
    const { player, stands } = this;
    this.begin();
    if (this.hand === "count") {
      const last = SENTENCE_UNSEEN * stands.period;
      this.work(last - 0.01);
      this.work(last);
      player.advance(last + stands.held * 0.98);
    } else player.advance(SENTENCE_SETTLES);
    this.draw();
  }

  stop() {
    cancelAnimationFrame(this.drawing);
    const { player, now } = this;
    this.running = false;
    if (player.held && this.hand === "count") player.touch("release", undefined, now);
    player.advance(now + SENTENCE_SETTLES);
    this.draw();
    this.rests();
  }

  draw() {
    const { player, weight } = this;
    const seen = player.view;
    const last = player.events.findLast(({ kind }) => kind === "occlude");
    const restVolume = last ? last.before.state.volume : seen.volume;
    const view = { ...seen, positions: this.stands.positions, weight, restVolume, running: this.running };
    this.gauge.show(view.manometer);
    this.scene.show(view, this.rise(view));
  }

  dispose() {
    cancelAnimationFrame(this.drawing);
  }
}
