// What was done and what came of it, in words: read aloud as it comes, and there to be read again.

import { benchWord } from "./bench_drawing.js";
import { BenchLog } from "./bench_told.js";
import { element } from "./elements.js";
import { fill } from "./speech.js";

/** @import { Dials, Option, PlayEvent, ToldEvent, Words } from "./types.js" */

export class TrialLog extends BenchLog {
  // `sees()` returns what the last inflation did to the chest, and how the heart rate is told.
  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {Option[]} outlets
   * @param {number} top
   * @param {() => { heart: string, chest: string | undefined }} sees
   */
  constructor(words, dials, outlets, top, sees) {
    super(words, dials, outlets, top);
    this.sees = sees;
    this.list.classList.add("tpiece-trial-log");
  }

  clear() {
    super.clear();
    this.list.children[0].textContent = this.words.trialLogEmpty;
  }

  // Each control, and the hole, has lines of its own, in the order of time.
  /**
   * @param {PlayEvent} event
   * @param {number} was
   */
  note(event, was) {
    /** @param {PlayEvent} event */
    const control = ({ kind }) => (["occlude", "release"].includes(kind) ? "hole" : kind);
    if (this.pending.length && control(this.pending[0]) !== control(event)) this.write(was);
    super.note(event, was);
  }

  /**
   * @param {ToldEvent[]} events
   * @param {Record<string, unknown>} says
   */
  line(events, says) {
    const [from, to] = [events[0], events[events.length - 1]].map(({ time }) => time.toFixed(1));
    return from === to ? super.line(events, says) : fill(this.words.trialLogRun, { from, to, ...says });
  }

  /** @param {number} gauge */
  write(gauge) {
    const inflated = this.pending.some(({ kind, before }) => kind === "release" && before.setting.outlet === "lung");
    super.write(gauge);
    const { heart, chest } = this.sees();
    const says = [inflated && chest && benchWord(this.words, chest), heart].filter(Boolean);
    if (says.length) this.list.lastElementChild?.append(` ${says.join(" ")}`);
  }

  // A move and its answer, after what the hand at the hole did before it.
  /**
   * @param {number} time
   * @param {string} text
   * @param {number} gauge
   */
  say(time, text, gauge) {
    if (this.pending.length) this.write(gauge);
    if (this.empty) this.list.replaceChildren();
    this.empty = false;
    const { heart } = this.sees();
    const says = fill(this.words.trialLogLine, { time: time.toFixed(1), says: text, heart });
    this.list.append(element("p", {}, says.trim()));
    this.list.scrollTop = this.list.scrollHeight;
  }
}
