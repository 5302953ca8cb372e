// @ts-nocheck
// One run at the bench as a whole: its time, its replay, and how it becomes the answer.

import { BenchLive } from "./bench_live.js";
import { PLAY_ROOM } from "./bench_player.js";
import { noteSettled, noteUnsaved } from "./saving.js";

const BENCH_SAVE = 30_000; // milliseconds between two savings while a run goes on

// Bench time: the page's own clock, at a pace, without the pauses.
export class BenchClock {
  constructor() {
    Object.assign(this, { base: 0, zero: 0, pace: 1, running: false });
  }

  at(stamp) {
    return this.base + (this.running ? (Math.max(0, stamp - this.zero) / 1000) * this.pace : 0);
  }

  go(stamp) {
    if (!this.running) Object.assign(this, { zero: stamp, running: true });
  }

  pause(stamp) {
    Object.assign(this, { base: this.at(stamp), running: false });
  }

  setPace(pace, stamp) {
    Object.assign(this, { base: this.at(stamp), zero: stamp, pace });
  }

  setTime(time) {
    Object.assign(this, { base: time, running: false });
  }
}

export class BenchRun extends BenchLive {
  // --- time

  get begun() {
    return this.plays || this.player.events.length > 0 || this.replaying;
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

  pause(stamp, word) {
    if (!this.clock.running) return;
    this.rest(stamp, word);
    this.keep();
  }

  rest(stamp, word) {
    this.clock.pause(stamp);
    this.transport.tell(word);
    this.refresh();
  }

  hide(stamp) {
    this.loseHold(stamp);
    this.pause(stamp, "benchHidden");
  }

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
    Object.assign(this, { replaying: false, over: false, sure: false });
  }

  replay() {
    if (this.replaying) return this.finishReplay(this.replaying.duration);
    const run = this.begun ? this.player.record(this.clock.at(performance.now())) : this.savedRun;
    this.pause(performance.now(), "");
    const { unsaved } = this;
    this.drop();
    Object.assign(this, { unsaved, replaying: run });
    this.player.load(run);
    this.goOn();
  }

  // Show the saved run at a second, at rest; it can be played on from there.
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

  finishReplay(time) {
    this.player.advance(time);
    this.clock.setTime(time);
    this.replaying = false;
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
    Object.assign(this, { saving: null, unsaved: false });
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
  take(record) {
    if (!record) return;
    this.savedRun = record;
    this.refresh();
  }
}
