// A case from birth to its end: what may be done when, what is kept of it, and how it becomes the
// answer. The clock is the page's; the baby is the kernel's.

import { benchDialSays } from "./bench_controls.js";
import { BenchClock } from "./bench_run.js";
import { benchRestVolume } from "./bench_told.js";
import { benchWord } from "./bench_drawing.js";
import { PLAY_ENDS, Player } from "./bench_player.js";
import { CASE_NO_GAS, CaseLaws } from "./case_laws.js";
import { CaseHands } from "./case_hands.js";
import { caseTime } from "./case_sees.js";
import { caseBusy } from "./case_stage.js";
import { CaseSteps } from "./case_steps.js";
import { Frames } from "./frames.js";
import { noteSettled, noteUnsaved } from "./saving.js";

/** @import { CaseRecord, CaseTold, CaseTraits, Dials, Model, OfferedAct, Option, Setting, Words } from "./types.js" */

const CASE_TURN = 700; // milliseconds within which clicks of one control are one turn
const CASE_SAVE = 20_000; // milliseconds between two savings while a case goes on
const CASE_SLOW = 0.5;

/**
 * @typedef {import("./case_hands.js").ActRow} ActRow
 * @typedef {import("./case_steps.js").Told} Told
 */
export class CaseRun {
  /** @type {number} */
  drawnAt;

  /** @type {Model<CaseTraits>} */
  model;
  /** @type {import("./frame.js").Frame} */
  frame;
  /** @type {Words} */
  words;
  /** @type {import("./saving.js").Saver} */
  saver;
  /** @type {ReturnType<typeof import("./case_stage.js").drawCase>} */
  picture;
  /** @type {Player} */
  player;
  /** @type {CaseLaws} */
  laws;
  /** @type {BenchClock} */
  clock;
  /** @type {CaseHands} */
  hands;
  /** @type {CaseSteps} */
  steps;
  /** @type {import("./case_sees.js").CaseSees} */
  sees;
  /** @type {import("./case_log.js").CaseLog} */
  log;
  /** @type {import("./bench_controls.js").BenchHold} */
  hold;
  /** @type {import("./case_acts.js").CaseActs} */
  given;
  /** @type {import("./bench_controls.js").BenchDial[]} */
  turned;
  /** @type {HTMLButtonElement} */
  start;
  /** @type {Dials} */
  dials;
  /** @type {OfferedAct[]} */
  acts;
  /** @type {Option[]} */
  lines;
  /** @type {CaseTold} */
  told;
  /** @type {number} */
  limit;
  /** @type {number} */
  weight;
  /** @type {ActRow[]} */
  rows;
  /** @type {"ready" | "on" | "over"} */
  phase;
  /** @type {{ id: string, at: number, position: number, stamp: number } | null} */
  turning;
  /** @type {Told["seen"] | null} */
  seen;
  /** @type {boolean} */
  waiting;
  /** @type {boolean} */
  soon;
  /** @type {boolean} */
  slow;
  /** @type {boolean} */
  bag;
  /** @type {boolean} */
  pressed;
  /** @type {boolean} */
  unsaved;
  /** @type {boolean} */
  closed;
  /** @type {number} */
  oxygenAt;
  /** @type {number | undefined} */
  savedAt;
  /** @type {string} */
  overSays;

  frames = new Frames((stamp) => this.tick(stamp));

  run() {
    this.frames.ask();
  }

  /** @param {Model<CaseTraits>} model */
  makeRun(model) {
    const { positions, outlet, weight } = model.get("start");
    const start = { positions, outlet, lung: "", fault: "" };
    this.weight = weight;
    this.laws = new CaseLaws(model.get("parts"), model.get("tables"));
    /**
     * @param {string} _key
     * @param {Setting} setting
     */
    const ask = (_key, setting) => this.laws.ask(setting);
    this.player = new Player({ start, rest: model.get("rest"), tables: this.laws.ask(start), limit: this.limit, most: Infinity, ask });
    this.clock = new BenchClock();
    this.hands = new CaseHands(this.acts);
    this.steps = new CaseSteps(model, { hear: (told) => this.hear(told), refuse: (why) => this.refuse(why) });
  }

  // What the page of a case does in its own way: a picture (is another one wanted?), words, locks.

  /**
   * @param {number} _stamp
   * @returns {unknown}
   */
  tick(_stamp) {
    return false;
  }

  /**
   * @param {string} _word
   * @param {Record<string, unknown>} [_values]
   */
  tell(_word, _values) {}

  /** @param {string} _text */
  prompts(_text) {}

  refresh() {}

  locks() {}

  // --- time

  /** @param {number} stamp */
  now(stamp = performance.now()) {
    return Math.min(this.clock.at(stamp), this.limit);
  }

  /** @param {number} [stamp] */
  ms(stamp) {
    return Math.round(1000 * this.now(stamp));
  }

  // When something is done that is done now: never before what was done, or told to the kernel.
  /** @param {number} stamp */
  at(stamp, byHand = true) {
    return Math.max(this.ms(stamp), this.steps.sent, this.rows.at(-1)?.[0] ?? 0, byHand ? this.hands.free : 0);
  }

  // Stand where `rows` and a time (ms) say, nothing running.
  /**
   * @param {ActRow[]} rows
   * @param {number} at
   */
  stand(rows, at) {
    this.steps.begin();
    this.player.reset();
    this.hands.clear();
    this.clock.setPace(this.slow ? CASE_SLOW : 1, performance.now());
    this.clock.setTime(at / 1000);
    Object.assign(this, { rows: [...rows], phase: "ready", turning: null, waiting: false, seen: null, soon: true });
    Object.assign(this, { oxygenAt: this.told.oxygen, bag: false, pressed: false, unsaved: false });
    for (const row of rows) this.past(row);
    this.float();
    this.hold.clear();
    this.sees.clear();
    this.log.clear();
    for (const row of rows) this.logs(row);
    this.log.inflations();
    this.given.oxygen.field.value = String(this.oxygenAt);
  }

  // What was done before this page, or before the second a case begins again from.
  /** @param {ActRow} row */
  past([at, id, what]) {
    this.hands.take([at, id]);
    if (id in this.dials) this.player.touch(id, what, this.now());
    if (id === "oxygen") this.oxygenAt = Number(what);
    if (id.startsWith("compress")) this.pressed = id === "compress";
  }

  /** @param {ActRow} row */
  logs([at, id, what]) {
    if (id === "release") this.log.inflation(at);
    else if (id in this.dials) this.logTurn(at, id, Number(what));
    else if (id !== "occlude") this.log.add("caseYou", at, { what: this.actSays(this.hands.acts[id], what) });
  }

  /**
   * @param {number} at
   * @param {string} id
   * @param {number} position
   */
  logTurn(at, id, position) {
    const turned = { name: this.dials[id].label, value: benchDialSays(this.dials[id], position) };
    this.log.add("caseYou", at, { what: benchWord(this.words, "caseTurned", turned) });
  }

  begin() {
    if (this.closed || this.phase === "over") return;
    this.phase = "on";
    this.drawnAt = performance.now();
    this.clock.go(this.drawnAt);
    this.tell("");
    const byHand = this.start.contains(document.activeElement);
    this.refresh();
    this.picture.root.children[0].scrollIntoView({ block: "nearest" });
    if (byHand) this.hold.button.focus({ preventScroll: true });
    this.run();
  }

  /** @param {string} word */
  pause(word) {
    if (this.phase !== "on") return;
    const stamp = performance.now();
    this.loseHold(stamp, true);
    this.settleTurn();
    this.clock.pause(stamp);
    Object.assign(this, { phase: "ready", waiting: false });
    this.tell(word);
    this.keep();
    this.refresh();
  }

  // The clock waits for a kernel that is late, and goes on with it.
  /** @param {number} stamp */
  waits(stamp) {
    const late = this.phase === "on" && this.steps.late;
    if (late === this.waiting) return;
    this.waiting = late;
    if (late) this.clock.pause(stamp);
    else if (this.phase === "on") this.clock.go(stamp);
    this.tell(late ? "caseWaits" : "");
  }

  finish() {
    if (this.phase === "over") return;
    this.settleTurn();
    const stamp = performance.now();
    if (this.hold.by.size || this.player.held) this.cover(false, stamp);
    this.clock.setTime(this.now(stamp));
    this.phase = "over";
    this.hold.clear();
    this.log.inflations();
    this.prompts("");
    this.tell(this.overSays, { time: caseTime(this.ms()) });
    this.offer();
    this.refresh();
  }

  /** @param {string} why */
  refuse(why) {
    this.pause("");
    this.phase = "over";
    this.tell("caseRefused", { why });
    this.refresh();
  }

  // --- the hands

  busy() {
    return this.hands.busy(this.ms());
  }

  // Whether an act cannot be begun now.
  /** @param {Pick<OfferedAct, "id" | "by">} act */
  off({ id, by }) {
    if (this.phase !== "on") return true;
    if (by === "hand" && this.busy()) return true;
    if (id === "compress") return this.pressed;
    return id === "compress-stop" && !this.pressed;
  }

  /**
   * @param {boolean} held
   * @param {number} stamp
   */
  cover(held, stamp) {
    if (this.phase !== "on" || (held && this.busy())) return false;
    this.settleTurn();
    const at = this.at(stamp);
    if (!this.player.touch(held ? "occlude" : "release", undefined, at / 1000)) return false;
    this.note([at, held ? "occlude" : "release"]);
    if (!held) this.log.inflation(at);
    return true;
  }

  /**
   * @param {string} id
   * @param {number} position
   * @param {number} stamp
   */
  turn(id, position, stamp) {
    if (this.phase !== "on" || this.busy()) return false;
    if (this.turning && this.turning.id !== id) this.settleTurn();
    const at = Math.max(this.at(stamp), this.turning?.at ?? 0);
    if (!this.player.touch(id, position, at / 1000)) return false;
    this.turning = { id, at, position, stamp: performance.now() };
    if (id === "flow") this.float();
    return true;
  }

  // Clicks that follow closely are one turn: what counts is where it comes to rest, and when.
  settleTurn() {
    if (!this.turning) return;
    const { id, at, position } = this.turning;
    this.turning = null;
    this.note([at, id, position]);
    this.logTurn(at, id, position);
  }

  /**
   * @param {string} id
   * @param {string | number} [what]
   */
  do(id, what, stamp = performance.now()) {
    const act = this.hands.acts[id];
    if (this.off(act)) return false;
    this.settleTurn();
    const byHand = act.by === "hand";
    if (byHand && this.player.held) this.letGo(stamp);
    /** @type {ActRow} */
    const row = what === undefined ? [this.at(stamp, byHand), id] : [this.at(stamp, byHand), id, what];
    if (id.startsWith("compress")) this.pressed = id === "compress";
    if (id === "oxygen") this.oxygenAt = Number(what);
    this.note(row);
    this.log.add("caseYou", row[0], { what: this.actSays(act, what) });
    this.refresh();
    return true;
  }

  /**
   * @param {{ id: string, text: string }} act
   * @param {string | number | undefined} what
   */
  actSays({ id, text }, what) {
    const { words, lines } = this;
    if (id === "say") return benchWord(words, "caseSaidLine", { line: lines.find((one) => one.id === what)?.text });
    if (id === "heart-rate") return benchWord(words, "caseSaidRate", { rate: what });
    return id === "oxygen" ? benchWord(words, "caseOxygenAt", { percent: what }) : text;
  }

  /** @param {number} stamp */
  letGo(stamp) {
    this.hold.clear();
    this.cover(false, stamp);
  }

  /** @param {number} stamp */
  loseHold(stamp, keep = false) {
    if (this.player.held && (keep || this.hold.lose(stamp))) this.letGo(stamp);
  }

  /** @param {ActRow} row */
  note(row) {
    this.rows.push(row);
    if (this.rows.length === 1) this.refresh(); // now there is something to hand over
    this.hands.take(row);
    Object.assign(this, { soon: true, unsaved: true });
    if (!this.closed) noteUnsaved(this.saver.client, this.model.get("label"));
    this.run();
  }

  // --- what the kernel tells

  /** @param {Told} told */
  hear({ seen, stand, says, prompt }) {
    this.seen = seen;
    this.sees.see(seen);
    for (const [at, line] of says) if (this.phase !== "over") this.log.add("caseHelper", at, { says: line });
    this.prompts(prompt);
    this.follow(stand);
    this.bag = stand.bag;
    this.float();
    this.run();
  }

  // How high the ball of the flow meter floats: nothing comes of gas that has failed.
  float() {
    const { fault, positions: { flow } } = this.player.setting;
    const { first, step } = this.dials.flow;
    this.picture.scene.see({ float: fault ? 0 : first + step * flow });
  }

  // The bench plays what lies behind the T now.
  /** @param {Told["stand"]} stand */
  follow({ outlet, gas, key, tables }) {
    const time = Math.max(this.now(), this.player.now);
    if (tables) this.laws.learn(key, tables);
    if (outlet === "lung") this.player.touch("lung", key, time);
    this.player.touch("fault", gas ? "" : CASE_NO_GAS, time);
    if (this.player.setting.outlet !== outlet) {
      const end = Object.keys(PLAY_ENDS).find((one) => PLAY_ENDS[one] === outlet);
      if (end) this.player.touch(end, undefined, time);
    }
  }

  // --- at each picture

  /** @param {number} stamp */
  goOn(stamp) {
    if (this.turning && stamp - this.turning.stamp > CASE_TURN) this.settleTurn();
    if (this.phase === "on" && this.now(stamp) >= this.limit) this.finish();
    this.waits(stamp);
    const now = this.turning ? Math.min(this.ms(stamp), this.turning.at) : this.ms(stamp);
    this.steps.step(this.rows, now, this.soon, stamp);
    this.soon = false;
    if (this.phase === "on" && this.unsaved && stamp - (this.savedAt ?? 0) > CASE_SAVE) this.keep();
  }

  /** @param {number} stamp */
  draw(stamp) {
    const { player, weight, hands, words } = this;
    const view = { ...player.view, running: this.clock.running, bag: this.bag, bagWorks: true };
    const rest = benchRestVolume(player, view);
    const own = this.seen?.breathing;
    this.picture.show({ ...view, restVolume: rest, before: rest, weight }, { own, bagged: this.bag && this.seen?.chest === "moves" });
    for (const dial of this.turned) dial.show(view.positions[dial.id]);
    this.hold.show(view.held);
    const now = this.ms(stamp);
    this.sees.tick(now, hands.listening(now), stamp);
    this.picture.head.show(now / 1000, caseBusy(words, hands.busy(now), hands.helping(now), this));
    this.locks();
  }

  // --- the answer

  /**
   * @param {boolean} whole
   * @returns {CaseRecord}
   */
  record(whole) {
    const last = this.rows.at(-1)?.[0] ?? 0;
    const duration = Math.min(Math.max(last, this.hands.free, this.ms()), Math.round(1000 * this.limit));
    return {
      format: "tpiece-scenario", version: 1, case: this.told.case,
      duration: whole ? duration : Math.max(last, this.ms()), ended: whole ? "whole" : "midway", acts: this.rows,
    };
  }

  // What was done so far is saved by itself while a case goes on.
  keep() {
    if (!this.unsaved || this.closed || !this.rows.length) return;
    this.offer();
  }

  offer() {
    this.savedAt = performance.now();
    this.unsaved = false;
    if (this.closed) return;
    this.saver.offer(this.record(this.phase === "over"));
  }

  forget() {
    this.unsaved = false;
    if (!this.saver?.waiting) noteSettled(this.saver?.client);
  }
}
