// @ts-nocheck
// What was done and what came of it, in words: read aloud as it comes, and there to be read again.

import { benchWord } from "./bench_drawing.js";
import { BenchLog } from "./bench_told.js";
import { element } from "./elements.js";
import { fill } from "./speech.js";

export class TrialLog extends BenchLog {
  // `sees()` returns what the last inflation did to the chest, and how the heart rate is told.
  constructor(words, dials, outlets, top, sees) {
    super(words, dials, outlets, top);
    this.sees = sees;
    this.list.classList.add("tpiece-trial-log");
  }

  clear() {
    super.clear();
    this.list.firstChild.textContent = this.words.trialLogEmpty;
  }

  // Each control, and the hole, has lines of its own, in the order of time.
  note(event, was) {
    const control = ({ kind }) => (["occlude", "release"].includes(kind) ? "hole" : kind);
    if (this.pending.length && control(this.pending[0]) !== control(event)) this.write(was);
    super.note(event, was);
  }

  line(events, says) {
    const [from, to] = [events[0], events.at(-1)].map(({ time }) => time.toFixed(1));
    return from === to ? super.line(events, says) : fill(this.words.trialLogRun, { from, to, ...says });
  }

  write(gauge) {
    const inflated = this.pending.some(({ kind, before }) => kind === "release" && before.setting.outlet === "lung");
    super.write(gauge);
    const { heart, chest } = this.sees();
    const says = [inflated && chest && benchWord(this.words, chest), heart].filter(Boolean);
    if (says.length) this.list.lastChild.append(` ${says.join(" ")}`);
  }

  // A move and its answer, after what the hand at the hole did before it.
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
