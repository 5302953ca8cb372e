// What a trial asks the kernel, and how what was done becomes the answer.

import { benchWord } from "./bench_drawing.js";
import { BenchLive } from "./bench_live.js";
import { noteSettled } from "./saving.js";

/** @import { Move, MoveTold, TrialRecord, TrialRow, TrialTraits } from "./types.js" */

const TRIAL_AGAIN = 2000; // milliseconds until the kernel is asked once more

/**
 * @typedef {{ kind: string, id: number, move: string, what?: string, held?: boolean, state?: object }} Asking
 * @typedef {{ id: string, move: Pick<Move, "seconds" | "does">, at: number, until: number, text: string, says: string, stamp: number, asked?: Asking, sent?: number, told?: MoveTold, held?: string, nowRises?: boolean }} Busy what a hand is at
 * 
 * @extends {BenchLive<TrialTraits, ReturnType<typeof import("./trial_stage.js").drawTrial>>}
 */
export class TrialAnswer extends BenchLive {
  /** @type {import("./bench_run.js").BenchClock} */
  clock;
  /** @type {Busy | null} */
  busy;
  /** @type {TrialRow[]} */
  rows;
  /** @type {string[]} */
  done;
  /** @type {number} */
  free;
  /** @type {number | undefined} */
  count;
  /** @type {"ready" | "on" | "over"} */
  phase;
  /** @type {boolean} */
  closed;
  /** @type {boolean} */
  used;
  /** @type {boolean} */
  own;
  /** @type {boolean} */
  unsaved;
  /** @type {TrialRecord | undefined} */
  saved;
  /** @type {HTMLElement} */
  savedSays;
  /** @type {HTMLElement} */
  told;

  // Seconds of the trial.
  /** @param {number} [stamp] */
  now(stamp = performance.now()) {
    return Math.min(this.clock.at(stamp), this.limit);
  }

  // --- the kernel

  /** @param {string | undefined} what */
  ask(what) {
    const { positions, outlet } = this.player.setting;
    const { busy, done } = this;
    if (!busy) return;
    /** @type {Asking} */
    const asked = { kind: "tell", id: (this.count = (this.count ?? 0) + 1), move: busy.id };
    busy.asked = asked;
    if (what !== undefined) asked.what = what; // a browser's Python has no None for a null
    Object.assign(asked, { held: this.player.held, state: { positions, outlet, done } });
    this.send(busy);
  }

  /** @param {Busy} busy */
  send(busy) {
    busy.sent = performance.now();
    try {
      this.model.send(/** @type {Asking} */ (busy.asked));
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  /** @param {number} stamp */
  askAgain(stamp) {
    const { busy } = this;
    const late = () => stamp - (busy?.sent ?? stamp);
    if (busy?.asked && !busy.told && late() > TRIAL_AGAIN) this.send(busy);
    if (busy?.asked && !busy.told && late() > TRIAL_AGAIN / 2) this.tell("benchLate");
  }

  /** @param {MoveTold & { kind: string, id: number }} message */
  hear({ kind, id, ...told }) {
    const { busy } = this;
    if (kind !== "tell" || !busy || busy.asked?.id !== id || busy.told) return;
    Object.assign(busy, { told, says: told.says });
    this.tell("");
    if (!this.clock.running) this.clock.go(performance.now());
    this.run();
  }

  refresh() {}

  // --- the answer

  /** @returns {TrialRecord} */
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

  /** @param {TrialRecord | undefined} record */
  take(record) {
    if (!record) return;
    this.saved = record;
    const [count, seconds] = [record.moves.length, Math.round(record.duration / 1000)];
    this.savedSays.textContent = benchWord(this.words, "trialSaved", { count, seconds });
  }

  /**
   * @param {string} word
   * @param {Record<string, unknown>} values
   */
  tell(word, values = {}) {
    const text = word ? benchWord(this.words, word, values) : "";
    if (this.told.textContent !== text) this.told.textContent = text;
  }
}
