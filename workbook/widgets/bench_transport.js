// Beside the bench: what its outlet ends in, and the run as a whole: pause, pace, replay, answer.

import { benchWrite } from "./bench_drawing.js";
import { button, element, focusable } from "./elements.js";
import { fill } from "./speech.js";

/** @import { HandsRecord, Option, Radios, Words } from "./types.js" */

/**
 * @param {string} legend
 * @param {Option[]} options
 * @param {(id: string, stamp: number) => void} does
 * @returns {Radios}
 */
export function benchRadios(legend, options, does) {
  const name = `tpiece-${Math.random().toString(36).slice(2)}`;
  const inputs = options.map(({ id }) => focusable("input", { type: "radio", name, value: id }));
  const root = element("fieldset", { class: "tpiece-bench-radios" });
  root.append(element("legend", {}, legend));
  inputs.forEach((input, n) => {
    root.append(element("label", { class: "tpiece-option" }, input, ` ${options[n].text}`));
    input.addEventListener("change", ({ timeStamp }) => does(input.value, timeStamp));
  });
  /** @param {string} id */
  const show = (id) => inputs.forEach((input) => (input.checked = input.value === id));
  /** @param {boolean} locked */
  const lock = (locked) => inputs.forEach((input) => (input.disabled = locked));
  return { root, show, lock };
}

/** @typedef {{ toggle(): void, again(): void, replay(): void, use(): void, setPace(pace: number, stamp: number): void }} Runs */
export class BenchTransport {
  // `bench` has toggle, again, replay, use and setPace(pace, stamp).
  /**
   * @param {Words} words
   * @param {Runs} bench
   * @param {{ offers: string[], limit: number, plays: boolean }} given
   */
  constructor(words, bench, { offers, limit, plays }) {
    this.words = words;
    this.limit = Math.round(limit);
    /** @type {number | undefined} */
    this.second = undefined;
    this.clock = element("span", { role: "timer", "aria-live": "off", class: "tpiece-bench-clock" });
    this.toggle = button(words.benchPause, () => bench.toggle());
    this.again = button(words.benchAgain, () => bench.again());
    this.replay = button(words.benchReplay, () => bench.replay());
    this.use = button(words.benchUse, () => bench.use());
    this.use.classList.add("tpiece-bench-use");
    this.told = element("p", { class: "tpiece-bench-told", "aria-live": "polite" });
    this.saved = element("p", { class: "tpiece-bench-saved" });
    const keys = [this.toggle, this.again, ...(offers.includes("replay") ? [this.replay] : [])];
    const line = element("div", { class: "tpiece-bench-keys" }, ...keys, this.clock);
    const answer = element("div", { class: "tpiece-bench-keys" }, this.use, this.saved);
    this.pace = this.makePace(bench);
    const parts = [line, ...(offers.includes("slow") ? [this.pace.root] : []), this.told];
    if (!plays) parts.push(answer);
    this.root = element("div", { class: "tpiece-bench-run" }, ...parts);
  }

  /** @param {Runs} bench */
  makePace(bench) {
    const paces = [1, 2, 4].map((by) => ({ id: String(1 / by), text: this.words[`benchPace${by}`] }));
    const pace = benchRadios(this.words.benchSpeed, paces, (id, stamp) => {
      bench.setPace(Number(id), stamp);
    });
    pace.show("1");
    return pace;
  }

  /**
   * @param {string} word
   * @param {Record<string, unknown>} values
   */
  tell(word, values = {}) {
    benchWrite(this.told, word ? fill(this.words[word], values) : "");
  }

  /** @param {number} now */
  time(now) {
    const second = Math.floor(now);
    if (second === this.second) return;
    this.second = second;
    this.clock.textContent = fill(this.words.benchClock, { now: second, limit: this.limit });
  }

  /** @param {Record<"running" | "replaying" | "begun" | "some" | "over", boolean>} stands */
  show({ running, replaying, begun, some, over }) {
    const { benchPause, benchGo, benchReplay, benchSkip } = this.words;
    benchWrite(this.toggle, (this.toggle.title = running || !begun ? benchPause : benchGo));
    benchWrite(this.replay, (this.replay.title = replaying ? benchSkip : benchReplay));
    this.off(this.toggle, !begun || over);
    this.off(this.again, !begun);
    this.off(this.replay, !some);
  }

  /**
   * @param {Element} key
   * @param {unknown} off
   */
  off(key, off) {
    key.setAttribute("aria-disabled", String(Boolean(off)));
  }

  // `other` says that the run on the bench is another one, which is not saved.
  /**
   * @param {HandsRecord | undefined} record
   * @param {boolean} other
   */
  showSaved(record, other) {
    const said = benchRunSays(this.words, record);
    const parts = said ? [fill(this.words.benchSavedRun, said)] : [];
    if (other) parts.push(this.words.benchOther);
    benchWrite(this.saved, parts.join(" "));
  }
}

/**
 * @param {Words} words
 * @param {HandsRecord | undefined} record
 */
function benchRunSays(words, record) {
  if (!record || !Array.isArray(record.actions)) return null;
  const count = record.actions.length;
  const actions = count === 1 ? words.benchOneAction : fill(words.benchActions, { count });
  return { actions, seconds: Math.round(record.duration) };
}
