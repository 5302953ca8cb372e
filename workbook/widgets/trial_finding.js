// "It is ...": what is named and how sure somebody is; then mend, read again, and use the trial.

import { button, element, focusable } from "./elements.js";
import { fill } from "./speech.js";

/** @import { Fault, Option, Words } from "./types.js" */

/** @typedef {{ name(id: string, sure: string): boolean, mend(): void, read(): void, use(): void }} Does */
export class TrialFinding {
  /** @type {HTMLSelectElement} */
  pick;
  /** @type {HTMLButtonElement[]} */
  sure;
  /** @type {HTMLElement} */
  hint;
  /** @type {HTMLElement} */
  said;
  /** @type {HTMLElement} */
  mendSays;
  /** @type {HTMLButtonElement} */
  mend;
  /** @type {HTMLButtonElement} */
  read;
  /** @type {HTMLButtonElement} */
  other;
  /** @type {HTMLButtonElement} */
  use;
  /** @type {HTMLElement} */
  first;
  /** @type {HTMLElement} */
  then;
  /** @type {HTMLElement} */
  root;
  /** @type {boolean | undefined} */
  locked;
  /** @type {boolean | undefined} */
  bare;

  // `does` has name(id, sure), mend(), read() and use(). `costs` is what each of them costs, in words.
  /**
   * @param {Words} words
   * @param {Fault[]} faults
   * @param {Option[]} sure
   * @param {Does} does
   * @param {Record<string, string>} costs
   */
  constructor(words, faults, sure, does, costs) {
    this.words = words;
    this.faults = faults;
    this.does = does;
    /** @type {Fault | null} */
    this.named = null;
    this.build(sure, costs);
    this.clear();
  }

  /**
   * @param {Option[]} sure
   * @param {Record<string, string>} costs
   */
  build(sure, costs) {
    const { words, faults, does } = this;
    const id = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.pick = focusable("select", { id, class: "tpiece-field tpiece-trial-pick" });
    this.pick.append(element("option", { value: "" }, words.trialChoose));
    this.pick.append(...faults.map((one) => element("option", { value: one.id }, one.text)));
    this.sure = sure.map((one) => button(one.text, () => this.say(one.id)));
    this.hint = element("p", { class: "tpiece-trial-said", role: "status" });
    this.said = element("p", { class: "tpiece-trial-said" });
    this.mendSays = element("span");
    this.mend = button("", () => does.mend());
    this.mend.append(this.mendSays, element("span", { class: "tpiece-trial-costs" }, ` ${costs.mend}`));
    this.read = button(words.trialRead, () => does.read());
    this.read.append(element("span", { class: "tpiece-trial-costs" }, ` ${costs.read}`));
    this.other = button(words.trialOther, () => this.rename());
    this.use = trialUse(words, does);
    const label = element("label", { for: id }, words.trialItIs);
    /** @param {...Node} nodes */
    const keys = (...nodes) => element("div", { class: "tpiece-trial-keys" }, ...nodes);
    const says = keys(...this.sure);
    says.setAttribute("role", "group");
    says.setAttribute("aria-label", words.trialSure);
    this.first = element("div", {}, element("div", { class: "tpiece-trial-naming" }, label, this.pick), this.hint, says);
    this.then = element("div", {}, this.said, keys(this.mend, this.read), keys(this.other, this.use));
    this.root = element("div", { class: "tpiece-trial-finding" }, this.first, this.then);
  }

  clear() {
    this.pick.value = "";
    this.named = null;
    this.hint.textContent = this.words.trialSayFirst;
    this.turn(false);
  }

  // Either what it is, or what is done about it.
  /** @param {boolean} said */
  turn(said) {
    [this.first.hidden, this.then.hidden] = [said, !said];
    this.mark();
  }

  rename() {
    this.turn(false);
    this.pick.focus();
  }

  /** @param {string} sure */
  say(sure) {
    if (!this.pick.value) {
      this.hint.textContent = this.words.trialChooseFirst;
      return this.pick.focus();
    }
    const one = this.faults.find(({ id }) => id === this.pick.value);
    if (!one || !this.does.name(one.id, sure)) return undefined;
    this.named = one;
    this.said.textContent = fill(this.words.trialYouSaid, { name: one.text });
    this.turn(true);
    return (one.mend ? this.mend : this.read).focus();
  }

  mark() {
    const mend = this.named?.mend ?? "";
    this.mend.hidden = !mend;
    this.mendSays.textContent = this.mend.title = mend;
    for (const key of [this.mend, this.read, this.other, ...this.sure]) this.off(key, this.locked);
    this.off(this.use, this.bare);
  }

  /**
   * @param {Element} key
   * @param {unknown} off
   */
  off(key, off) {
    key.setAttribute("aria-disabled", String(Boolean(off)));
  }

  // `locked` while a hand is busy or nothing may be done, `bare` while there is nothing to use.
  /** @param {{ locked: boolean, bare: boolean }} stands */
  show({ locked, bare }) {
    if (locked === this.locked && bare === this.bare) return;
    Object.assign(this, { locked, bare });
    this.mark();
  }
}

/**
 * @param {Words} words
 * @param {Pick<Does, "use">} does
 */
export function trialUse(words, does) {
  const key = button(words.trialUse, () => does.use());
  key.classList.add("tpiece-bench-use");
  return key;
}
