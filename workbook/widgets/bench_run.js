// One run at the bench as a whole: its time, its replay, and how it becomes the answer.

import { BenchLive } from "./bench_live.js";
import { PLAY_ROOM } from "./bench_player.js";
import { noteSettled, noteUnsaved } from "./saving.js";

/** @import { BenchTraits, HandsRecord } from "./types.js" */

const BENCH_SAVE = 30_000; // milliseconds between two savings while a run goes on

// Bench time: the page's own clock, at a pace, without the pauses.
export class BenchClock {
  constructor() {
    this.base = this.zero = 0;
    this.pace = 1;
    this.running = false;
  }

  /** @param {number} stamp */
  at(stamp) {
    return this.base + (this.running ? (Math.max(0, stamp - this.zero) / 1000) * this.pace : 0);
  }

  /** @param {number} stamp */
  go(stamp) {
    if (!this.running) Object.assign(this, { zero: stamp, running: true });
  }

  /** @param {number} stamp */
  pause(stamp) {
    Object.assign(this, { base: this.at(stamp), running: false });
  }

  /**
   * @param {number} pace
   * @param {number} stamp
   */
  setPace(pace, stamp) {
    Object.assign(this, { base: this.at(stamp), zero: stamp, pace });
  }

  /** @param {number} time */
  setTime(time) {
    Object.assign(this, { base: time, running: false });
  }
}

/** @extends {BenchLive<BenchTraits, ReturnType<typeof import("./bench_picture.js").drawBench>>} */
export class BenchRun extends BenchLive {
  /** @type {BenchClock} */
  clock;
  /** @type {import("./bench_sound.js").BenchSound} */
  sound;
  /** @type {import("./bench_transport.js").BenchTransport} */
  transport;
  /** @type {import("./bench_told.js").BenchLog} */
  log;
  /** @type {import("./bench_controls.js").BenchHold} */
  hold;
  /** @type {HandsRecord | undefined} */
  savedRun;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  saving;
  /** @type {number} */
  touched;
  /** @type {boolean} */
  plays;
  /** @type {boolean} */
  closed;
  /** @type {boolean} */
  unsaved;
  /** @type {boolean} */
  sure;
  /** @type {boolean} */
  over;
  /** @type {boolean} */
  own;

  replaying = /** @type {HandsRecord | null} */ (null);

  // --- time

  get begun() {
    return this.plays || this.player.events.length > 0 || this.replaying !== null;
  }

  toggle() {
    if (this.clock.running) this.pause(performance.now(), "benchPaused");
    else this.goOn();
  }

  goOn() {
    this.clock.go(performance.now());
    this.touched = performance.now();
    this.sound.wake();
    this.transport.tell(this.replaying ? "benchReplaying" : "");
    this.refresh();
    this.run();
  }

  /**
   * @param {number} stamp
   * @param {string} word
   */
  pause(stamp, word) {
    if (!this.clock.running) return;
    this.rest(stamp, word);
    this.keep();
  }

  /**
   * @param {number} stamp
   * @param {string} word
   */
  rest(stamp, word) {
    this.clock.pause(stamp);
    this.transport.tell(word);
    this.refresh();
  }

  /** @param {number} stamp */
  hide(stamp) {
    this.loseHold(stamp);
    this.pause(stamp, "benchHidden");
  }

  /**
   * @param {number} pace
   * @param {number} stamp
   */
  setPace(pace, stamp) {
    this.clock.setPace(pace, stamp);
  }

  // Ask once before a run that is not saved is dropped.
  again() {
    if (this.unsaved && !this.sure) {
      this.sure = true;
      return this.transport.tell("benchSure");
    }
    this.drop();
    if (this.plays) return this.goOn();
    this.transport.tell("benchReady");
    this.refresh();
    return this.draw();
  }

  drop() {
    this.forget();
    this.player.reset();
    this.clock.setTime(0);
    this.hold.clear();
    this.log.clear();
    Object.assign(this, { replaying: null, over: false, sure: false });
  }

  replay() {
    if (this.replaying) return void this.finishReplay(this.replaying.duration);
    const run = this.begun ? this.player.record(this.clock.at(performance.now())) : this.savedRun;
    if (!run) return undefined;
    this.pause(performance.now(), "");
    const { unsaved } = this;
    this.drop();
    Object.assign(this, { unsaved, replaying: run });
    this.player.load(run);
    return this.goOn();
  }

  // Show the saved run at a second, at rest; it can be played on from there.
  /** @param {number} at */
  seek(at) {
    const run = this.savedRun;
    if (!run) return;
    this.pause(performance.now(), "");
    const { unsaved } = this;
    this.drop();
    Object.assign(this, { unsaved, replaying: run });
    this.player.load(run);
    this.clock.setTime(at);
    this.advance(at);
    this.transport.tell("benchCompareAt", { time: at.toFixed(1) });
    this.refresh();
    this.run();
    this.picture.root.scrollIntoView({ block: "start" });
    this.transport.toggle.focus({ preventScroll: true });
  }

  /** @param {number} time */
  finishReplay(time) {
    this.player.advance(time);
    this.clock.setTime(time);
    this.replaying = null;
    this.over = time >= this.limit;
    // What the record leaves held a hand must be able to let go.
    if (this.player.held) this.hold.by.add("keep");
    this.hold.mark();
    this.transport.tell("benchReplayed");
    this.refresh();
    this.run();
  }

  finish() {
    if (this.plays) return this.again();
    this.clock.setTime(this.limit);
    this.over = true;
    this.transport.tell("benchOver", { limit: Math.round(this.limit) });
    this.refresh();
    return this.keep();
  }

  // What is shown, and how a hand lets go: of the bench itself.

  refresh() {}

  /** @param {boolean} [_first] */
  draw(_first) {}

  /** @param {number} _now */
  advance(_now) {}

  /** @param {number} _stamp */
  loseHold(_stamp) {}

  // --- the answer

  use() {
    if (this.closed || this.replaying) return;
    const { events } = this.player;
    if (!events.length) return this.transport.tell("benchNothing");
    if (events.some(({ kind }) => PLAY_ROOM.includes(kind))) return this.transport.tell("benchUnfit");
    this.rest(performance.now(), this.over ? "" : "benchPaused");
    this.send();
    this.own = false; // chosen: only another choice takes its place
  }

  send() {
    const record = this.player.record(this.clock.at(performance.now()));
    this.forget();
    this.own = true;
    this.take(record);
    this.saver.offer(record);
    this.refresh();
  }

  forget() {
    clearTimeout(this.saving);
    Object.assign(this, { saving: undefined, unsaved: false });
    if (!this.saver?.waiting) noteSettled(this.saver?.client);
  }

  // A run on its way is saved by itself, unless an answer stands that somebody chose.
  get mayKeep() {
    const fits = this.player.events.every(({ kind }) => !PLAY_ROOM.includes(kind));
    return fits && !this.closed && !this.plays && (this.own || !this.savedRun);
  }

  soon() {
    if (this.plays) return;
    this.unsaved = true;
    if (!this.mayKeep) return;
    noteUnsaved(this.saver.client, this.model.get("label"));
    this.saving ??= setTimeout(() => this.keep(), BENCH_SAVE);
  }

  keep() {
    if (this.unsaved && this.mayKeep && !this.replaying) this.send();
  }

  // A saved run, of this page or another: it can be replayed.
  /** @param {HandsRecord | undefined} record */
  take(record) {
    if (!record) return;
    this.savedRun = record;
    this.refresh();
  }
}
