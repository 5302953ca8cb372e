// A trial from its beginning to its end: what may be done when, and what comes of it.

import { benchWord } from "./bench_drawing.js";
import { benchNext } from "./bench_kernel.js";
import { noteUnsaved } from "./saving.js";
import { TrialAnswer } from "./trial_answer.js";

/** @import { Fault, Move, MoveTold, Option, Outlet, TrialRow, TrialState } from "./types.js" */

/** @typedef {import("./trial_answer.js").Busy} Busy */

const TRIAL_PACE = { longest: 2.5, read: 6 }; // seconds of a watch that a move lasts at most
const TRIAL_TURN = 700; // milliseconds within which clicks of one control are one turn
/** @type {Record<string, Outlet>} */
export const TRIAL_ENDS = { cap: "capped", open: "open", connect: "lung" };
const TRIAL_TOLD = ["look", "part", "care", "mend", "bag"]; // moves that are answered by the kernel

export class TrialRun extends TrialAnswer {
  /** @type {Move[]} */
  moves;
  /** @type {Fault[]} */
  faults;
  /** @type {Option[]} */
  sure;
  /** @type {{ id: Outlet, text: string }[]} */
  outlets;
  /** @type {import("./types.js").Dials} */
  dials;
  /** @type {[string, string][]} */
  queue;
  /** @type {boolean} */
  bagged;
  /** @type {boolean | undefined} */
  bagWorks;
  /** @type {boolean} */
  baby;
  /** @type {boolean} */
  paused;
  /** @type {boolean} */
  sureOf;
  /** @type {number} */
  turnedAt;
  /** @type {import("./trial_scene.js").Looked} */
  looked;
  /** @type {import("./trial_heart.js").TrialHeart | null} */
  heart;
  /** @type {import("./bench_controls.js").BenchHold} */
  hold;
  /** @type {import("./trial_log.js").TrialLog} */
  log;
  /** @type {import("./trial_finding.js").TrialFinding} */
  finding;
  /** @type {import("./trial_places.js").TrialTabs} */
  tabs;
  /** @type {HTMLButtonElement} */
  begin;

  // --- time

  // Whole milliseconds from the beginning: never before what was done last, nor before its end.
  /** @param {number} stamp */
  at(stamp) {
    return Math.max(Math.round(this.now(stamp) * 1000), this.free ?? 0);
  }

  draw() {}

  clear() {
    this.player.reset();
    this.heart?.reset();
    this.clock.setPace(1, performance.now());
    this.clock.setTime(0);
    this.hold.clear();
    this.log.clear();
    this.finding.clear();
    Object.assign(this, { phase: "ready", rows: [], done: [], free: 0, busy: null, queue: [] });
    Object.assign(this, { bagged: false, bagWorks: false, looked: {}, paused: false, unsaved: false, sureOf: false, used: false });
    this.picture.scene.see(this.looked);
    this.tell("trialReady");
    this.refresh();
    this.draw();
  }

  start() {
    if (this.closed) return;
    Object.assign(this, { phase: "on", paused: false });
    this.clock.go(performance.now());
    this.tell("");
    const byHand = this.begin.contains(document.activeElement);
    this.refresh();
    this.picture.root.children[0].scrollIntoView({ block: "nearest" }); // all of it, before the time runs on
    if (byHand) this.hold.button.focus({ preventScroll: true });
    for (const outlet of this.outlets) this.foresee({ outlet: outlet.id });
    this.run();
  }

  // Ask once before what is not saved is dropped.
  startAgain() {
    if (this.unsaved && !this.sureOf) {
      this.sureOf = true;
      return this.tell("trialSureAgain");
    }
    this.forget();
    this.clear();
    return this.begin.focus();
  }

  /** @param {number} stamp */
  hide(stamp) {
    this.loseHold(stamp);
    if (this.phase !== "on") return;
    this.clock.pause(stamp);
    Object.assign(this, { phase: "ready", paused: true });
    this.tell("trialHidden");
    this.keep();
    this.refresh();
  }

  /** @param {number} stamp */
  goOn(stamp) {
    const { busy } = this;
    if (busy?.id === "read") this.letsGo(busy, this.clock.at(stamp));
    if (busy && this.clock.at(stamp) >= busy.until / 1000) this.endMove(stamp);
    if (this.phase === "on" && this.clock.at(stamp) >= this.limit) this.finish();
  }

  finish() {
    this.clock.setTime(this.limit);
    Object.assign(this, { phase: "over", busy: null, queue: [] });
    this.hold.clear();
    this.tabs.choose("finding");
    this.tell("trialOver", { limit: Math.round(this.limit) });
    this.keep();
    this.refresh();
  }

  // --- the hands

  /** @param {string} id */
  may(id) {
    return !(id in TRIAL_ENDS) || !this.stands(id);
  }

  /** @param {string} id */
  stands(id) {
    return this.player.setting.outlet === TRIAL_ENDS[id];
  }

  /**
   * @param {boolean} held
   * @param {number} stamp
   */
  cover(held, stamp) {
    if (this.phase !== "on" || this.busy) return false;
    const at = this.at(stamp);
    const kind = held ? "occlude" : "release";
    if (!this.player.touch(kind, undefined, at / 1000)) return false;
    this.note([at, kind]);
    this.logLast();
    return true;
  }

  // The touch that was done last goes into the log.
  logLast() {
    const { events } = this.player;
    const event = events[events.length - 1];
    this.log.note(event, this.player.before(event));
    return event;
  }

  /**
   * @param {string} id
   * @param {number} position
   * @param {number} stamp
   */
  turn(id, position, stamp) {
    if (this.phase !== "on" || this.busy) return false;
    const at = this.at(stamp);
    if (!this.player.touch(id, position, at / 1000)) return false;
    const last = this.rows.at(-1);
    // Clicks that follow closely are one turn: what counts is where it comes to rest.
    if (last?.[1] === id && at - this.turnedAt < TRIAL_TURN) this.rows.pop();
    this.turnedAt = at;
    this.note([at, id, position]);
    const event = this.logLast();
    this.kernel.foresee(benchNext(this.player.setting, id, this.dials[id].clicks, Math.sign(position - event.before.setting.positions[id])),
      (key) => this.player.known.has(key));
    return true;
  }

  /**
   * @param {string} id
   * @param {string} sure
   */
  name(id, sure) {
    if (this.phase !== "on" || this.busy) return false;
    const texts = [this.faults.find((one) => one.id === id), this.sure.find((one) => one.id === sure)];
    const says = texts.map((one) => trialSentence(one?.text ?? "")).join(" ");
    this.queue.push(["sure", sure]);
    this.begins("name", id, { text: this.words.trialSays, says });
    return true;
  }

  // Do a move of the list; what it shows is told when its seconds are over.
  /**
   * @param {string} id
   * @param {string} [what]
   */
  do(id, what, stamp = performance.now()) {
    if (this.phase !== "on" || this.busy || !this.may(id)) return;
    const move = this.moves.find((one) => one.id === id);
    const text = id === "mend" ? this.finding.named?.mend : move?.text;
    this.begins(id, what, { text: text ?? "", stamp });
  }

  /**
   * @param {string} id
   * @param {string | undefined} what
   * @param {{ text: string, says?: string, stamp?: number }} about
   */
  begins(id, what, { text, says = "", stamp = performance.now() }) {
    this.letGo(stamp, id === "read");
    const move = this.moves.find((one) => one.id === id) ?? { seconds: 0, does: "say" };
    const at = this.at(stamp);
    const until = at + Math.round(move.seconds * 1000);
    this.note(what === undefined ? [at, id] : [at, id, what]);
    this.busy = { id, move, at, until, text, says, stamp };
    if (TRIAL_TOLD.includes(move.does) || id === "call") this.ask(id === "mend" ? this.finding.named?.id : what);
    if (move.does === "read") this.player.touch("occlude", undefined, at / 1000);
    if (["bag", "connect"].includes(id)) this.bagged = false;
    if (id === "bag" && this.baby) this.player.touch("open", undefined, at / 1000); // it is laid aside
    this.clock.setPace(trialPace(id, move.seconds), performance.now());
    if (!this.clock.running) this.clock.go(performance.now());
    if (!move.seconds) this.endMove(performance.now());
    this.refresh();
    this.run();
  }

  /** @param {number} stamp */
  endMove(stamp) {
    const { busy } = this;
    if (!busy) return undefined;
    const late = busy.id === "read" ? this.player.waits : busy.asked && !busy.told;
    if (late) return this.clock.setTime(busy.until / 1000); // the kernel is waited for
    if (busy.id === "read") this.hasRead(busy);
    this.busy = null;
    this.free = busy.until;
    this.changes(busy);
    if (busy.nowRises) busy.says = [busy.says, this.words.trialBagRises].filter(Boolean).join(" ");
    this.clock.setTime(busy.until / 1000);
    this.clock.setPace(1, stamp);
    this.clock.go(stamp);
    const text = [trialSentence(busy.text), busy.says].filter(Boolean).join(" ");
    this.log.say(busy.until / 1000, text, this.player.view.manometer);
    this.refresh();
    const [next] = this.queue.splice(0, 1);
    if (next) this.note([this.at(stamp), ...next]);
    this.run();
    return undefined;
  }

  // Both pressures are read: in the middle of its time the page lets go of the hole.
  /**
   * @param {Busy} busy
   * @param {number} now
   */
  letsGo(busy, now) {
    const middle = (busy.at + busy.until) / 2 / 1000;
    if (busy.held !== undefined || now < middle) return;
    this.player.advance(middle);
    busy.held = this.log.reads(this.player.view.manometer);
    this.player.touch("release", undefined, middle);
  }

  /** @param {Busy} busy */
  hasRead(busy) {
    this.letsGo(busy, busy.until / 1000);
    this.player.advance(busy.until / 1000);
    const released = this.log.reads(this.player.view.manometer);
    busy.says = benchWord(this.words, "trialHasRead", { held: busy.held, released });
  }

  // What a move has changed: the outlet at once, the rest as the kernel says.
  /** @param {Busy} busy */
  changes(busy) {
    const { id, until, told, move } = busy;
    const time = until / 1000;
    if (id in TRIAL_ENDS) this.player.touch(id, undefined, time);
    if (id === "bag" && this.baby) Object.assign(this, { bagged: true, bagWorks: told?.rises });
    if (["part", "care", "mend"].includes(move.does)) {
      busy.nowRises = this.bagged && !this.bagWorks && told?.rises;
      this.bagWorks = told?.rises;
      if (told?.state) this.stand(told.state, time);
    }
    if (move.does === "look") this.look(id, told);
  }

  // The state as the kernel has it after a move.
  /**
   * @param {TrialState} state
   * @param {number} time
   */
  stand({ positions, outlet, done }, time) {
    for (const [dial, position] of Object.entries(positions)) this.player.touch(dial, position, time);
    const end = Object.keys(TRIAL_ENDS).find((kind) => TRIAL_ENDS[kind] === outlet);
    if (end) this.player.touch(end, undefined, time);
    this.done = done;
    this.player.touch("fault", done.join(), time);
  }

  /**
   * @param {string} id
   * @param {MoveTold | undefined} told
   */
  look(id, told) {
    if (id === "look-flow") this.looked = { ...this.looked, float: told?.float ?? 0 };
    if (id === "look-supply") this.looked = { ...this.looked, supply: told?.share ?? 0 };
    this.picture.scene.see(this.looked);
  }

  /** @param {TrialRow} row */
  note(row) {
    this.rows.push(row);
    this.unsaved = true;
    this.sureOf = false;
    noteUnsaved(this.saver.client, this.model.get("label"));
  }

  // A hand that does something else is not at the hole; “Keep” stays, but where all let go.
  /** @param {number} stamp */
  letGo(stamp, all = false) {
    this.hold.keyed = null;
    this.hold.lose(stamp);
    if (all) this.hold.set("keep", false, stamp);
  }

  /** @param {number} stamp */
  loseHold(stamp) {
    this.hold.keyed = null;
    if (this.hold.lose(stamp)) this.tell("benchLost");
  }

  /** @param {{ outlet: Outlet }} change */
  foresee(change) {
    const next = { ...this.player.setting, ...change };
    this.kernel.foresee([next], (key) => this.player.known.has(key));
  }
}

/** @param {string} text */
function trialSentence(text) {
  return /[.:?]$/.test(text) ? text : `${text}.`;
}

/**
 * @param {string} id
 * @param {number} seconds
 */
function trialPace(id, seconds) {
  const longest = id === "read" ? TRIAL_PACE.read : TRIAL_PACE.longest;
  return Math.max(1, seconds / longest);
}
