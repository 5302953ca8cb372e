// What a team sees and hears of the baby, as it comes: in cells that change, and in short words for
// who listens to the page. Nothing here is known before a team would know it.

import { benchWord, benchWrite } from "./bench_drawing.js";
import { button, element } from "./elements.js";

/** @import { Words } from "./types.js" */

/**
 * @typedef {{ begins: number, ends: number }} Count beats that are counted (ms)
 * @typedef {{ breathing: string, tone: string, chest: string, beats: number[], oximeter: string | [number, number], leads: string | number }} Seen what the team sees of the baby
 */
const CASE_TELL = 2500; // milliseconds between two tellings of changes at least
const CASE_LATE = 700; // milliseconds after a beat that it is tapped, so that taps come evenly
const CASE_MARK = "●";
const CASE_CELLS = ["Breath", "Tone", "Chest", "Listen", "Oximeter", "Leads"];
const CASE_CLICK = { pitch: 900, lasts: 0.05, loud: 0.25 }; // Hz, s, of full

/** @param {number} ms */
export function caseTime(ms) {
  const seconds = Math.floor(ms / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

// A word that is shorter where there is little room; what is heard is always the long one.
/**
 * @param {Words} words
 * @param {string} name
 */
function shortened(words, name) {
  const short = words[`${name}Short`];
  if (!short) return [words[name]];
  const long = element("span", { class: "tpiece-case-long" }, words[name]);
  return [long, element("span", { class: "tpiece-case-short", "aria-hidden": "true" }, short)];
}

/**
 * @param {Words} words
 * @param {string} name
 * @param {() => unknown} does
 */
export function brief(words, name, does) {
  const key = button("", does, words[name]);
  key.append(...shortened(words, name));
  key.setAttribute("aria-label", words[name]);
  return key;
}

// The heart as it is tapped: a click for each beat, off until wanted.
class CaseHeart {
  /** @type {AudioContext | undefined} */
  context;

  /** @param {Words} words */
  constructor(words) {
    this.key = brief(words, "caseSound", () => this.turn());
    this.key.setAttribute("aria-pressed", "false");
    this.on = false;
  }

  turn() {
    this.on = !this.on;
    this.key.setAttribute("aria-pressed", String(this.on));
    if (!this.on || !globalThis.AudioContext) return;
    this.context ??= new AudioContext();
    this.context.resume().catch((error) => console.warn("This browser plays no sound.", error));
  }

  click() {
    if (!this.on || !this.context) return;
    const { currentTime, destination } = this.context;
    const [tone, gain] = [this.context.createOscillator(), this.context.createGain()];
    tone.frequency.value = CASE_CLICK.pitch;
    gain.gain.setValueAtTime(CASE_CLICK.loud, currentTime);
    gain.gain.exponentialRampToValueAtTime(0.001, currentTime + CASE_CLICK.lasts);
    tone.connect(gain).connect(destination);
    tone.start();
    tone.stop(currentTime + CASE_CLICK.lasts);
  }

  dispose() {
    this.context?.close();
  }
}

export class CaseSees {
  /** @type {Record<string, unknown>} */
  said;
  /** @type {Map<string, string>} */
  changed;
  /** @type {number} */
  spoke;
  /** @type {number} */
  tapped;
  /** @type {number[]} */
  beats;
  /** @type {Count | null} */
  count;
  /** @type {boolean} */
  over;

  // `window` (s) is how long beats are counted for.
  /**
   * @param {Words} words
   * @param {number} window
   */
  constructor(words, window) {
    this.words = words;
    this.window = window;
    this.heart = new CaseHeart(words);
    this.root = element("dl", { class: "tpiece-case-sees" });
    /** @type {Record<string, HTMLElement>} */
    this.values = {};
    for (const name of CASE_CELLS) {
      this.values[name] = element("dd", {});
      const cell = element("div", { "data-sees": name }, element("dt", {}, ...shortened(words, `case${name}`)), this.values[name]);
      this.root.append(cell);
    }
    this.told = element("p", { class: "tpiece-case-told", "aria-live": "polite" });
    this.clear();
  }

  clear() {
    this.said = {};
    this.changed = new Map();
    this.spoke = this.tapped = 0;
    this.beats = [];
    this.count = null;
    for (const name of CASE_CELLS) benchWrite(this.values[name], "–");
    this.told.textContent = "";
  }

  // What the kernel saw last.
  /** @param {Seen} seen */
  see({ breathing, tone, chest, beats, oximeter, leads }) {
    const { words } = this;
    this.put("Breath", words[`caseBreath_${breathing}`]);
    this.put("Tone", words[`caseTone_${tone}`]);
    this.put("Chest", words[`caseChest_${chest}`], chest);
    this.put("Oximeter", this.monitor(oximeter, ([rate, saturation]) => {
      return benchWord(words, "caseShows", { rate, saturation });
    }), typeof oximeter !== "string");
    this.put("Leads", this.monitor(leads, (rate) => benchWord(words, "caseShowsLeads", { rate })), typeof leads !== "string");
    if (beats.length) this.beats = beats;
  }

  /**
   * @template Figure
   * @param {string | Figure} shown
   * @param {(figure: Figure) => string} says
   */
  monitor(shown, says) {
    if (shown === "not on") return this.words.caseNotOn;
    return typeof shown === "string" ? this.words.caseSearching : says(shown);
  }

  // A figure that changes is not read aloud each time: only that there is one, or none any more.
  /**
   * @param {string} name
   * @param {string} text
   * @param {unknown} [about]
   */
  put(name, text, about = text) {
    benchWrite(this.values[name], text);
    if (this.said[name] === about) return;
    const first = this.said[name] === undefined;
    this.said[name] = about;
    if (!first || !["not on", "–"].includes(text)) this.changed.set(name, text);
  }

  // At each picture: taps of the heart as they come, and what changed told in its time.
  /**
   * @param {number} now
   * @param {Count | null} count
   * @param {number} stamp
   */
  tick(now, count, stamp) {
    this.tap(now, count);
    if (!this.changed.size || stamp - this.spoke < CASE_TELL) return;
    this.spoke = stamp;
    this.told.textContent = [...this.changed].map(([name, text]) => `${this.words[`case${name}`]}: ${text}.`).join(" ");
    this.changed.clear();
  }

  /**
   * @param {number} now
   * @param {Count | null} count
   */
  tap(now, count) {
    const { words, values, window } = this;
    if (count !== this.count) Object.assign(this, { count, tapped: 0, over: false });
    if (!count) return benchWrite(values.Listen, words.caseNotListened);
    if (this.over) return undefined;
    const heard = this.beats.filter((at) => 1000 * at >= count.begins && 1000 * at + CASE_LATE <= now).length;
    if (heard > this.tapped) this.heart.click();
    this.tapped = Math.max(this.tapped, heard);
    if (now >= count.ends + CASE_LATE) {
      this.over = true;
      const says = benchWord(words, "caseBeats", { count: this.tapped, seconds: Math.round(window) });
      values.Listen.replaceChildren(says, element("small", {}, ` ${benchWord(words, "caseBeatsAt", { time: caseTime(count.ends) })}`));
      this.changed.set("Listen", says);
      return undefined;
    }
    return benchWrite(values.Listen, benchWord(words, "caseListening", { marks: CASE_MARK.repeat(this.tapped) }));
  }
}
