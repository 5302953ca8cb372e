// @ts-nocheck
// What a trial asks the kernel, and how what was done becomes the answer.

import { benchWord } from "./bench_drawing.js";
import { BenchLive } from "./bench_live.js";
import { noteSettled } from "./saving.js";

const TRIAL_AGAIN = 2000; // milliseconds until the kernel is asked once more

export class TrialAnswer extends BenchLive {
  // --- the kernel

  ask(what) {
    const { positions, outlet } = this.player.setting;
    const { busy, done } = this;
    busy.asked = { kind: "tell", id: (this.count = (this.count ?? 0) + 1), move: busy.id };
    if (what !== undefined) busy.asked.what = what; // a browser's Python has no None for a null
    Object.assign(busy.asked, { held: this.player.held, state: { positions, outlet, done } });
    this.send(busy);
  }

  send(busy) {
    busy.sent = performance.now();
    try {
      this.model.send(busy.asked);
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  askAgain(stamp) {
    const { busy } = this;
    if (busy?.asked && !busy.told && stamp - busy.sent > TRIAL_AGAIN) this.send(busy);
    if (busy?.asked && !busy.told && stamp - busy.sent > TRIAL_AGAIN / 2) this.tell("benchLate");
  }

  hear({ kind, id, ...told }) {
    const { busy } = this;
    if (kind !== "tell" || busy?.asked?.id !== id || busy.told) return;
    Object.assign(busy, { told, says: told.says });
    this.tell("");
    if (!this.clock.running) this.clock.go(performance.now());
    this.run();
  }

  // --- the answer

  record() {
    const last = Math.max(this.rows.at(-1)?.[0] ?? 0, this.free ?? 0);
    const duration = Math.max(last, Math.round(this.now() * 1000));
    return { format: "tpiece-trial", version: 1, duration: Math.min(duration, this.limit * 1000), moves: this.rows };
  }

  use() {
    if (this.closed || this.busy || !this.rows.length) return;
    this.clock.pause(performance.now());
    Object.assign(this, { phase: "over", used: true });
    this.tell("trialUsed");
    this.offer();
    this.own = false; // chosen: only another choice takes its place
    this.refresh();
  }

  offer() {
    const record = this.record();
    this.forget();
    this.own = true;
    this.take(record);
    this.saver.offer(record);
  }

  // What was done so far is saved by itself, unless an answer stands that somebody chose.
  keep() {
    if (this.unsaved && !this.closed && (this.own || !this.saved)) this.offer();
  }

  forget() {
    this.unsaved = false;
    if (!this.saver?.waiting) noteSettled(this.saver?.client);
  }

  take(record) {
    if (!record) return;
    this.saved = record;
    const [count, seconds] = [record.moves.length, Math.round(record.duration / 1000)];
    this.savedSays.textContent = benchWord(this.words, "trialSaved", { count, seconds });
  }

  tell(word, values = {}) {
    const text = word ? benchWord(this.words, word, values) : "";
    if (this.told.textContent !== text) this.told.textContent = text;
  }
}
