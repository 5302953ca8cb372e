// An alarm in the middle of the tapping, with a question to answer by the other hand.

import { button, element } from "./elements.js";
import { fill } from "./speech.js";

/** @import { Distraction, Option, Words } from "./types.js" */

const ALARM = { seconds: 0.18, gap: 260, pitches: [784, 988, 784] }; // hertz

export class Alarm {
  /**
   * @param {Distraction} settings
   * @param {Words} words
   * @param {import("./sound.js").Sound} sound
   */
  constructor(settings, words, sound) {
    this.settings = settings;
    this.words = words;
    this.sound = sound;
    this.open = this.opened = false;
    /** @type {{ answered: string, answered_at: number } | null} */
    this.given = null;
    /** @type {(event: Event) => number} */
    this.stamp = () => 0;
    this.done = () => {};
    this.live = element("div", { role: "alert", class: "tpiece-alarm-says" });
    this.keys = settings.options.map((option, n) => this.key(option, n));
    this.options = element("div", { class: "tpiece-line" }, ...this.keys);
    this.how = element("p", { class: "tpiece-help" }, words.alarmKeys);
    this.panel = element("div", { class: "tpiece-alarm-panel" }, this.live, this.how, this.options);
    this.root = element("div", { class: "tpiece-alarm" }, this.panel, this.ghost());
    this.reset();
  }

  // The room the alarm will take is kept free, so that nothing moves under a finger.
  ghost() {
    const says = element("div", { class: "tpiece-alarm-says" }, `▲ ${this.settings.says}`);
    const keys = this.settings.options.map(({ text }, n) =>
      element("span", { class: "tpiece-key" }, `${n + 1} ${text}`),
    );
    const how = element("p", { class: "tpiece-help" }, this.words.alarmKeys);
    const line = element("div", { class: "tpiece-line" }, ...keys);
    const all = { class: "tpiece-alarm-panel tpiece-ghost", "aria-hidden": "true" };
    return element("div", all, says, how, line);
  }

  /**
   * A second finger makes no click, so the pointer's own event answers. A press of the mouse
   * leaves the focus where it is: the other hand may be holding Space there.
   *
   * @param {Option} option
   * @param {number} n
   */
  key(option, n) {
    const node = button(`${n + 1} ${option.text}`, () => {});
    const answer = (/** @type {MouseEvent} */ event) => this.answer(option, event);
    node.addEventListener("mousedown", (event) => event.preventDefault());
    node.addEventListener("pointerup", answer);
    node.addEventListener("click", answer);
    return node;
  }

  reset() {
    Object.assign(this, { open: false, opened: false, given: null });
    this.root.dataset.state = "none";
    this.live.replaceChildren();
    this.quiet(this.words.alarmNone);
  }

  /**
   * Outside the alarm its place says so, and its buttons are not there.
   *
   * @param {string} text
   */
  quiet(text) {
    this.open = false;
    this.options.hidden = true;
    this.how.textContent = text;
  }

  /**
   * @param {(event: Event) => number} stamp
   * @param {() => void} done
   */
  start(stamp, done) {
    this.reset();
    Object.assign(this, { stamp, done });
  }

  /** @param {number} t seconds since the count began */
  show(t) {
    const { at, until = Number.POSITIVE_INFINITY } = this.settings;
    if (!this.opened && t >= at) this.ring();
    else if (this.open && t >= until) this.miss();
  }

  ring() {
    Object.assign(this, { open: true, opened: true });
    this.root.dataset.state = "open";
    this.live.textContent = `▲ ${this.settings.says}`;
    this.how.textContent = this.words.alarmKeys;
    this.options.hidden = false;
    if (!this.settings.sound) return;
    const now = performance.now();
    ALARM.pitches.forEach((pitch, n) =>
      this.sound.tone(now + n * ALARM.gap, ALARM.seconds, pitch, 0.3),
    );
  }

  miss() {
    this.root.dataset.state = "over";
    this.leave(this.words.alarmMissed);
  }

  /**
   * A key of the row of numbers; true when it was one of the answers.
   *
   * @param {KeyboardEvent} event
   */
  keyed(event) {
    const option = this.open && this.settings.options[Number(event.key) - 1];
    if (!option) return false;
    event.preventDefault();
    this.answer(option, event);
    return true;
  }

  /**
   * @param {Option} option
   * @param {KeyboardEvent | MouseEvent} event
   */
  answer(option, event) {
    const other = event.type === "pointerup" && "button" in event && event.button > 0;
    if (!this.open || other) return;
    this.given = { answered: option.id, answered_at: Math.max(0, this.stamp(event)) };
    this.root.dataset.state = "answered";
    this.leave(fill(this.words.alarmAnswered, { text: option.text }));
  }

  /** @param {string} text */
  leave(text) {
    const focused = this.options.contains(document.activeElement);
    this.quiet(text);
    if (focused) this.done();
  }
}
