// The bench in words: what happened, written when the hands rest, and numbers for who wants them.

import { benchDialSays } from "./bench_controls.js";
import { benchWord, benchWrite } from "./bench_drawing.js";
import { PLAY_ENDS } from "./bench_player.js";
import { benchRange, benchRecent } from "./bench_strip.js";
import { element, focusable } from "./elements.js";
import { fill } from "./speech.js";

/** @import { BenchShown, Dials, Inflation, Option, PlayEvent, PlayPoint, ToldEvent, Words } from "./types.js" */

const BENCH_TOLD = { quiet: 1200, most: 8, kept: 60 }; // milliseconds; touches told together; lines

/** @param {number} value */
function benchHalf(value) {
  return String(Math.round(value * 2) / 2);
}

// What can be read off a gauge: nothing above its scale.
/**
 * @param {Words} words
 * @param {number} top
 * @param {number} value
 */
export function benchReads(words, top, value) {
  return value > top ? benchWord(words, "benchPastTop", { top }) : benchHalf(value);
}

// A rhythm would be told at every beat: what follows closely is told together.
export class BenchLog {
  /**
   * @param {Words} words
   * @param {Dials} dials
   * @param {Option[]} outlets
   * @param {number} top
   */
  constructor(words, dials, outlets, top) {
    this.words = words;
    this.dials = dials;
    this.outlets = outlets;
    this.top = top;
    /** @type {ToldEvent[]} */
    this.pending = [];
    this.last = 0;
    this.empty = true;
    this.list = focusable("div", { role: "log", tabindex: "0", class: "tpiece-bench-log" });
    this.list.setAttribute("aria-label", words.benchLog);
    this.clear();
  }

  clear() {
    this.pending = [];
    this.list.replaceChildren(element("p", {}, this.words.benchLogEmpty));
    this.empty = true;
  }

  // `was` is what the gauge showed just before.
  /**
   * @param {PlayEvent} event
   * @param {number} was
   */
  note(event, was) {
    this.pending.push({ ...event, was });
    this.last = performance.now();
  }

  /** @param {number} gauge */
  tick(gauge) {
    const due = performance.now() - this.last > BENCH_TOLD.quiet;
    if (this.pending.length && (due || this.pending.length >= BENCH_TOLD.most)) this.write(gauge);
  }

  /** @param {number} gauge */
  write(gauge) {
    const says = this.line(this.pending, { what: this.told(this.pending).join("; "), gauge: this.reads(gauge) });
    this.pending = [];
    if (this.empty) this.list.replaceChildren();
    this.empty = false;
    this.list.append(element("p", {}, says));
    if (this.list.childElementCount > BENCH_TOLD.kept) this.list.firstChild?.remove();
    this.list.scrollTop = this.list.scrollHeight;
  }

  /** @param {number} value */
  reads(value) {
    return benchReads(this.words, this.top, value);
  }

  // Touches that are told together, with the second of the first.
  /**
   * @param {ToldEvent[]} events
   * @param {Record<string, unknown>} says
   */
  line([first], says) {
    return fill(this.words.benchLogLine, { time: first.time.toFixed(1), ...says });
  }

  /** @param {ToldEvent[]} events */
  told(events) {
    const releases = events.filter(({ kind }) => kind === "release");
    const many = releases.length > 1;
    const shown = events.filter((event, n) => {
      const next = events.slice(n + 1).find(({ kind }) => kind === event.kind);
      const rhythm = many && event.kind === "occlude";
      return !rhythm && !next; // of several turns the last one says where the control stands
    });
    // Where no baby is on the outlet, nobody is inflated.
    const did = releases.every(({ before }) => before.setting.outlet === "lung") ? "benchDidInflate" : "benchDidCover";
    return shown.map((event) => this.one(event, many ? releases.length : 0, did));
  }

  /**
   * @param {ToldEvent} event
   * @param {number} count
   * @param {string} did
   */
  one({ kind, position, was }, count, did) {
    const { words, dials } = this;
    if (kind === "occlude") return words.benchDidOcclude;
    if (kind === "release") {
      return fill(count ? words[did] : words.benchDidRelease, { count, was: this.reads(was) });
    }
    if (kind === "lung") return words.benchDidLung;
    if (kind === "fault") return words.benchDidFault;
    const outlet = this.outlets.find(({ id }) => id === PLAY_ENDS[kind]);
    if (kind in PLAY_ENDS) return fill(words.benchDidOutlet, { name: outlet?.text ?? kind });
    const value = benchDialSays(dials[kind], Number(position));
    return fill(words.benchDidTurn, { label: dials[kind].label, value });
  }
}

// What the gauge shows and what the last inflations came to, a few times a second.
export class BenchNumbers {
  /**
   * @param {Words} words
   * @param {number} top
   */
  constructor(words, top) {
    this.words = words;
    this.top = top;
    /** @type {HTMLElement[]} */
    this.cells = [];
    this.root = element("dl", { class: "tpiece-bench-numbers" });
    for (const name of ["benchReadingNow", "benchLastPip", "benchLastPeep", "benchRate"]) {
      const cell = element("dd");
      this.cells.push(cell);
      this.root.append(element("div", {}, element("dt", {}, words[name]), cell));
    }
    this.show(0, []);
  }

  /**
   * @param {number} gauge
   * @param {Inflation[]} inflations
   */
  show(gauge, inflations) {
    const { benchCm, benchNone, benchPerMinute } = this.words;
    /** @param {number} value */
    const pressure = (value) => fill(benchCm, { value: benchReads(this.words, this.top, value) });
    const last = inflations.at(-1);
    const rate = benchRateOf(inflations.map(({ from }) => from));
    this.put(0, pressure(gauge));
    this.put(1, last?.high === undefined ? benchNone : pressure(last.high));
    this.put(2, last ? pressure(last.low) : benchNone);
    this.put(3, rate ? fill(benchPerMinute, { value: Math.round(rate) }) : benchNone);
  }

  /**
   * @param {number} n
   * @param {string} text
   */
  put(n, text) {
    benchWrite(this.cells[n], text);
  }
}

// The last inflations of a run: when they began, the gauge before them and at their end.
/**
 * @param {import("./bench_player.js").Player} player
 * @param {number} most
 * @returns {Inflation[]}
 */
export function benchInflations(player, most = 5) {
  /** @type {Partial<Inflation>[]} */
  const found = [];
  for (let n = player.events.length - 1; n >= 0 && found.length < most; n -= 1) {
    const event = player.events[n];
    if (event.kind === "release") found.unshift({ high: player.before(event) });
    if (event.kind !== "occlude") continue;
    if (!found[0] || found[0].from !== undefined) found.unshift({});
    Object.assign(found[0], { from: event.time, low: player.before(event) });
  }
  return /** @type {Inflation[]} */ (found.filter(({ from }) => from !== undefined));
}

// The chest rises from where it was before the last inflation, or lower within 3 seconds: a lung that
// had not emptied when the next inflation came leaves it up.
/**
 * @param {{ events: PlayEvent[], history: PlayPoint[] }} player
 * @param {Pick<BenchShown, "time" | "volume" | "outlet">} now
 */
export function benchRestVolume({ events, history }, { time, volume, outlet }) {
  const last = events.findLast(({ kind }) => kind === "occlude")?.before;
  if (last?.setting.outlet !== "lung" || outlet !== "lung") return volume;
  return Math.min(last.state.volume, benchRange(history, benchRecent(history, time - 3), "volume").low);
}

/** @param {number[]} times */
function benchRateOf(times) {
  if (times.length < 2) return 0;
  return (60 * (times.length - 1)) / (times[times.length - 1] - times[0]);
}
