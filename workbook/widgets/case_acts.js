// What can be done, by the part it is done at: in the same order for every baby, all of it all the
// time, so that the order gives no step away.

import { benchWord } from "./bench_drawing.js";
import { button, element, focusable } from "./elements.js";

/** @import { OfferedAct, Option, Words } from "./types.js" */

const CASE_TABS = [
  { id: "baby", parts: ["baby", "head", "chest"] },
  { id: "mask", parts: ["mask", "airway"] },
  { id: "box", parts: ["box"] },
  { id: "gas", parts: ["gas"] },
  { id: "heart", parts: ["heart"] },
  { id: "people", parts: ["people"] },
];
const CASE_OXYGEN = { least: 21, most: 100, step: 5 }; // percent that a dial can stand at
const CASE_FASTEST = 300; // a minute: more is a slip of a key

// A number that is typed or clicked, and what is done with it.
/** @typedef {{ label: string, does: (value: number) => unknown, says: string, least: number, most: number, step?: number, wrong: string }} Numbered */
class CaseNumber {
  /**
   * @param {Words} words
   * @param {Numbered} given
   */
  constructor(words, { label, does, says, least, most, step, wrong }) {
    this.least = least;
    this.most = most;
    this.does = does;
    this.why = "";
    /** @type {OfferedAct | null} */
    this.act = null;
    const id = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.field = focusable("input", { type: "text", inputmode: "numeric", id, autocomplete: "off", class: "tpiece-field tpiece-case-number" });
    this.field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.use();
    });
    this.hint = element("p", { class: "tpiece-trial-said", role: "status", id: `${id}-h` });
    this.field.setAttribute("aria-describedby", this.hint.id);
    this.key = button(says, () => this.use());
    this.key.addEventListener("click", () => this.why && this.use()); // a key that is locked says why
    const ways = step ? [{ text: "−", by: -step, title: words.caseOxygenLess }, { text: "+", by: step, title: words.caseOxygenMore }] : [];
    this.ways = ways.map(({ text, by, title }) => {
      const key = button(text, () => this.move(by), title);
      key.setAttribute("aria-label", title);
      return key;
    });
    const [less, more] = this.ways;
    const row = element("div", { class: "tpiece-case-typed tpiece-ltr" }, ...[less, this.field, more, this.key].filter((part) => part !== undefined));
    this.wrong = () => benchWord(words, wrong, { least, most });
    this.root = element("div", { class: "tpiece-case-dial" }, element("label", { for: id }, label), row, this.hint);
  }

  get value() {
    return /^\d+$/.test(this.field.value.trim()) ? Number(this.field.value) : NaN;
  }

  /** @param {number} by */
  move(by) {
    const from = Number.isNaN(this.value) ? this.least : this.value;
    const to = by > 0 ? Math.floor(from / by) * by + by : Math.ceil(from / -by) * -by + by;
    this.field.value = String(Math.min(this.most, Math.max(this.least, to)));
  }

  use() {
    if (this.why) return void (this.hint.textContent = this.why);
    const right = this.value >= this.least && this.value <= this.most;
    this.hint.textContent = right ? "" : this.wrong();
    if (right) this.does(this.value);
    else this.field.focus();
  }

  // `why` it cannot be done now, or nothing: what was typed stays, and may be typed meanwhile.
  /** @param {string} why */
  lock(why) {
    if (why === this.why) return;
    if (this.hint.textContent === this.why) this.hint.textContent = "";
    this.why = why;
    this.key.setAttribute("aria-disabled", String(Boolean(why)));
  }
}

export class CaseActs {
  // `given` has acts and lines; `does(id, what)` is told what is done; `dials` are by their names.
  /**
   * @param {Words} words
   * @param {{ acts: OfferedAct[], lines: Option[] }} given
   * @param {Record<string, { root: Element }>} dials
   * @param {(id: string, what?: string | number) => boolean} does
   */
  constructor(words, { acts, lines }, dials, does) {
    this.words = words;
    this.does = does;
    /** @type {Map<string, { key: Element, act: OfferedAct }>} */
    this.keys = new Map();
    this.oxygen = new CaseNumber(words, {
      ...CASE_OXYGEN, label: words.caseOxygen, says: words.caseOxygenTurn, wrong: "caseOxygenFirst",
      does: (percent) => does("oxygen", percent),
    });
    /** @type {CaseNumber} */
    this.rate = new CaseNumber(words, {
      least: 0, most: CASE_FASTEST, label: words.caseRate, says: words.caseRateSay, wrong: "caseRateFirst",
      does: (rate) => does("heart-rate", rate) && (this.rate.field.value = ""),
    });
    this.panels = CASE_TABS.map(({ id, parts }) => {
      const here = acts.filter(({ part }) => parts.includes(part));
      return { id, text: words[`caseTab_${id}`], node: this.panel(here, lines, dials) };
    });
  }

  /**
   * @param {OfferedAct[]} acts
   * @param {Option[]} lines
   * @param {Record<string, { root: Element }>} dials
   */
  panel(acts, lines, dials) {
    const turned = acts.filter(({ id }) => dials[id]).map(({ id }) => dials[id].root);
    const rows = turned.length ? [element("div", { class: "tpiece-trial-dials" }, ...turned)] : [];
    /** @type {Element[]} */
    const typed = [];
    /** @type {Element[]} */
    const keys = [];
    for (const act of acts) {
      const number = act.says === "percent" ? this.oxygen : act.says === "rate" ? this.rate : null;
      if (number) typed.push(Object.assign(number, { act }).root);
      else if (act.says === "line") keys.push(...lines.map((line) => this.key(`say ${line.id}`, act, `“${line.text}”`, line.id)));
      else if (!dials[act.id]) keys.push(this.key(act.id, act, act.text));
    }
    if (keys.length) rows.push(element("div", { class: "tpiece-trial-keys tpiece-case-keys" }, ...keys));
    return element("div", {}, ...rows, ...typed);
  }

  /**
   * @param {string} name
   * @param {OfferedAct} act
   * @param {string} text
   * @param {string} [what]
   */
  key(name, act, text, what) {
    const key = button("", () => this.does(act.id, what), text);
    key.dataset.act = name;
    key.append(text);
    if (act.seconds && what === undefined) {
      key.append(element("span", { class: "tpiece-trial-costs" }, ` ${benchWord(this.words, "caseCosts", { seconds: act.seconds })}`));
    }
    this.keys.set(name, { key, act });
    return key;
  }

  // `off(act)` says whether an act cannot be begun now, `why(act, says)` why what is typed waits.
  /**
   * @param {(act: OfferedAct) => boolean} off
   * @param {(one: CaseNumber) => string} why
   */
  lock(off, why) {
    for (const { key, act } of this.keys.values()) key.setAttribute("aria-disabled", String(off(act)));
    for (const one of [this.oxygen, this.rate]) one.lock(one.act && off(one.act) ? why(one) : "");
  }
}
