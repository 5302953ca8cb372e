// What was done and heard in a case, with its times: there to be read again.

import { benchWord } from "./bench_drawing.js";
import { element, focusable } from "./elements.js";
import { caseTime } from "./case_sees.js";

/** @import { Words } from "./types.js" */

const CASE_LINES = { kept: 80, together: 10 }; // lines; inflations told in one line at most

export class CaseLog {
  /** @type {boolean} */
  empty;
  /** @type {number} */
  inflated;
  /** @type {number} */
  from;

  /** @param {Words} words */
  constructor(words) {
    this.words = words;
    this.list = focusable("div", { role: "log", tabindex: "0", class: "tpiece-bench-log tpiece-trial-log", "aria-label": words.caseLog });
    this.clear();
  }

  clear() {
    [this.empty, this.inflated, this.from] = [true, 0, 0];
    this.list.replaceChildren(element("p", {}, this.words.caseLogEmpty));
  }

  /** @param {number} at */
  inflation(at) {
    if (!this.inflated) this.from = at;
    this.inflated += 1;
    if (this.inflated >= CASE_LINES.together) this.inflations();
  }

  inflations() {
    if (!this.inflated) return;
    const [count, time] = [this.inflated, caseTime(this.from)];
    this.inflated = 0;
    this.line(count === 1 ? "caseInflatedOne" : "caseInflated", { time, count });
  }

  /**
   * @param {string} word
   * @param {number} at
   * @param {Record<string, unknown>} values
   */
  add(word, at, values) {
    this.inflations();
    this.line(word, { time: caseTime(at), ...values });
  }

  /**
   * @param {string} word
   * @param {Record<string, unknown>} values
   */
  line(word, values) {
    if (this.empty) this.list.replaceChildren();
    this.empty = false;
    const spoken = word === "caseHelper" ? { class: "tpiece-case-helper" } : {};
    this.list.append(element("p", spoken, benchWord(this.words, word, values)));
    if (this.list.childElementCount > CASE_LINES.kept) this.list.firstChild?.remove();
    this.list.scrollTop = this.list.scrollHeight;
  }
}
