// Plays the model's tables at screen rate and keeps what the hands did. It holds no law of its
// own: it adds up what flows in and out. Whatever the kernel's delay, what it shows becomes what
// a replay of the record shows: when tables come late it goes back to their event, and on again.

/** @import { Flows, HandRow, HandsRecord, Law, Outlet, PlayEvent, PlayPoint, PlayState, PlayView, Points, Setting, Tables } from "./types.js" */

const PLAY = {
  gamma: 1 - Math.SQRT1_2,
  first: 1e-5, grow: 1.5, longest: 2.5e-4, // seconds of a step; small after each event
  miss: 0.01, // cmH2O by which a step may be wrong before it is made shorter
  every: 0.01, keep: 4000, // seconds between two points of the history, and how many are kept
  known: 300, // settings whose tables are kept
  ahead: 3, // seconds by which a replay asks for its tables early
};
const PLAY_DIALS = ["flow", "pip", "relief", "peep", "leak"];
/** @type {Record<string, Outlet>} */
export const PLAY_ENDS = { cap: "capped", open: "open", connect: "lung" };

export const PLAY_ROOM = ["lung", "fault"]; // what an educator changes: a run with it is no answer

/** @param {Setting} setting */
export function settingKey({ positions, outlet, lung, fault }) {
  const room = fault ? [lung, fault] : [lung];
  return [...PLAY_DIALS.map((dial) => positions[dial]), outlet, ...room].join("/");
}

// A law as points, straight between them and beyond them; `at` leaves its slope behind.
export class PlayTable {
  /** @param {Points} points */
  constructor([xs, ys]) {
    this.xs = xs;
    this.ys = ys;
    this.place = this.slope = 0;
    this.slopes = Float64Array.from({ length: xs.length - 1 }, (_, n) => {
      return (ys[n + 1] - ys[n]) / (xs[n + 1] - xs[n]);
    });
  }

  /** @param {number} x */
  at(x) {
    const { xs, slopes } = this;
    let n = this.place;
    while (n < slopes.length - 1 && x >= xs[n + 1]) n += 1;
    while (n > 0 && x < xs[n]) n -= 1;
    [this.place, this.slope] = [n, slopes[n]];
    return this.ys[n] + slopes[n] * (x - xs[n]);
  }
}

/**
 * A table that several settings share is made once.
 *
 * @param {Law} table
 */
export function playTable(table) {
  return table instanceof PlayTable ? table : new PlayTable(table);
}

// What changes in a moment, for one setting: volume in the lung, pressure at the T.
export class PlayLaws {
  /** @param {Tables} tables */
  constructor({ store, joined, limb, manometer, relief, aperture, covered, outlet, patient, recoil }) {
    this.store = store;
    this.joined = joined;
    this.into = this.up = this.volume = this.pressure = this.miss = 0;
    this.limb = playTable(limb);
    this.manometer = playTable(manometer);
    this.relief = relief ? playTable(relief) : null;
    this.aperture = playTable(aperture);
    this.covered = playTable(covered);
    this.outlet = playTable(outlet);
    this.patient = playTable(patient);
    this.recoil = playTable(recoil);
    this.turn = new Float64Array(4); // how `into` and `up` change with volume and pressure
  }

  /**
   * @param {boolean} held
   * @param {number} volume mL in the lung
   * @param {number} pressure cmH2O at the T
   */
  slopes(held, volume, pressure) {
    const { limb, outlet, patient, recoil, joined, store, turn } = this;
    const hole = held ? this.covered : this.aperture;
    const [back, flow] = [recoil.at(volume), limb.at(pressure)];
    this.into = patient.at(joined ? pressure - back : -back);
    const taken = joined ? this.into : 0;
    const out = hole.at(pressure) + outlet.at(pressure);
    this.up = (flow - out - taken) / store;
    const [ease, give] = [patient.slope, joined ? patient.slope : 0];
    const opening = limb.slope - hole.slope - outlet.slope;
    turn[0] = -ease * recoil.slope;
    turn[1] = give;
    turn[2] = (give * recoil.slope) / store;
    turn[3] = (opening - give) / store;
  }

  /**
   * What flows where at a moment, in mL/s: from the supply, out at each valve, down the limb, out
   * at the hole, out at the outlet or the leak, into the lung.
   *
   * @param {boolean} held
   * @param {number} volume
   * @param {number} pressure
   * @returns {Flows}
   */
  flows(held, volume, pressure) {
    const { limb, outlet, patient, recoil, joined } = this;
    const [supply, down, back] = [limb.ys[0], limb.at(pressure), recoil.at(volume)];
    const relief = this.relief?.at(pressure) ?? 0;
    return {
      supply, limb: down, relief, pip: Math.max(0, supply - down - relief),
      aperture: (held ? this.covered : this.aperture).at(pressure), outlet: outlet.at(pressure),
      lung: patient.at(joined ? pressure - back : -back),
    };
  }

  /**
   * One step of ROS2, an L-stable W-method: what is stiff here dies out instead of ringing. Some
   * seventy are done for every picture, so it makes nothing on its way: it leaves `volume`,
   * `pressure` and `miss` behind.
   *
   * @param {boolean} held
   * @param {number} volume
   * @param {number} pressure
   * @param {number} h seconds
   */
  step(held, volume, pressure, h) {
    this.slopes(held, volume, pressure);
    const { turn } = this;
    const part = -PLAY.gamma * h;
    const [a, b, c, d] = [part * turn[0], part * turn[1], part * turn[2], part * turn[3]];
    const whole = (1 + a) * (1 + d) - b * c;
    const [x1, y1] = [this.into, this.up];
    const [v1, p1] = [((1 + d) * x1 - b * y1) / whole, ((1 + a) * y1 - c * x1) / whole];
    this.slopes(held, volume + h * v1, pressure + h * p1);
    const [x2, y2] = [this.into - 2 * v1, this.up - 2 * p1];
    const [v2, p2] = [((1 + d) * x2 - b * y2) / whole, ((1 + a) * y2 - c * x2) / whole];
    this.miss = Math.abs(0.5 * h * (p1 + p2)); // how far a plainer step would have come out
    this.volume = volume + h * (1.5 * v1 + 0.5 * v2);
    this.pressure = pressure + h * (1.5 * p1 + 0.5 * p2);
  }
}

/**
 * @typedef {object} PlayerGiven
 * @property {Setting} start
 * @property {{ volume: number, pressure: number }} rest mL and cmH2O at the start
 * @property {Tables} tables those of the start
 * @property {number} limit seconds of a run
 * @property {number} most events of a run
 * @property {(key: string, setting: Setting) => Tables | null} [ask] returns tables that are here;
 *   others come by `learn`
 */
export class Player {
  /** @param {PlayerGiven} given */
  constructor({ start, rest, tables, limit, most, ask = () => null }) {
    this.start = start;
    this.rest = rest;
    this.limit = limit;
    this.most = most;
    this.ask = ask;
    /** @type {Map<string, PlayLaws>} */
    this.known = new Map();
    this.startLaws = new PlayLaws(tables);
    /** @type {PlayEvent[]} */
    this.events = [];
    /** @type {PlayPoint[]} */
    this.history = [];
    /** @type {HandRow[]} */
    this.script = [];
    /** @type {PlayState} */
    this.state = { time: 0, ...rest, stride: PLAY.first };
    this.setting = this.future = start;
    this.laws = this.startLaws;
    this.held = false;
    this.now = this.next = this.asked = 0;
    this.stale = Infinity;
    /** @type {number | undefined} */
    this.redone = undefined;
    this.known.set(settingKey(start), this.startLaws);
    this.reset();
  }

  reset() {
    const { volume, pressure } = this.rest;
    this.state = { time: 0, volume, pressure, stride: PLAY.first };
    Object.assign(this, { held: false, setting: this.start, laws: this.startLaws, now: 0 });
    Object.assign(this, { events: [], history: [], script: [], next: 0, stale: Infinity });
    this.note();
  }

  get full() {
    return this.events.length >= this.most;
  }

  // --- the hands

  /**
   * Do something at a bench time (s); returns false when it changes nothing, or no more fits.
   *
   * @param {string} kind
   * @param {number | string | undefined} position
   * @param {number} time
   */
  touch(kind, position, time) {
    if (this.full || !this.changes(kind, position)) return false;
    const last = this.events.at(-1)?.time ?? 0;
    const at = Math.min(Math.max(Math.round(time * 1e4) / 1e4, last), this.limit);
    this.catchUp();
    if (at < this.state.time) this.goBack(at);
    this.go(at, true);
    /** @type {PlayEvent} */
    const event = { time: at, kind, position, before: this.standing, waits: null };
    this.events.push(event);
    this.apply(event);
    this.now = Math.max(this.now, at);
    return true;
  }

  get standing() {
    const { state, held, setting, laws } = this;
    return { state: { ...state }, held, setting, laws };
  }

  /**
   * @param {string} kind
   * @param {number | string | undefined} position
   */
  changes(kind, position) {
    if (kind === "occlude" || kind === "release") return this.held !== (kind === "occlude");
    if (kind === "lung" || kind === "fault") return (this.setting[kind] ?? "") !== position;
    if (kind in PLAY_ENDS) return this.setting.outlet !== PLAY_ENDS[kind];
    return this.setting.positions[kind] !== position;
  }

  /** @param {PlayEvent} event */
  apply(event) {
    event.before = this.standing;
    event.waits = null;
    if (event.kind === "occlude" || event.kind === "release") this.held = event.kind === "occlude";
    else this.change(event);
    this.state.stride = PLAY.first;
    this.note();
  }

  /** @param {PlayEvent} event */
  change(event) {
    this.setting = settingAfter(this.setting, event);
    const key = settingKey(this.setting);
    const laws = this.recall(key) ?? this.get(key, this.setting);
    event.waits = laws ? null : key;
    if (laws) this.laws = laws;
  }

  // --- tables

  /** @param {string} key */
  recall(key) {
    const laws = this.known.get(key);
    if (laws) this.known.delete(key), this.known.set(key, laws); // the newest is forgotten last
    return laws;
  }

  /**
   * @param {string} key
   * @param {Setting} setting
   */
  get(key, setting) {
    const tables = this.ask(key, setting);
    return tables ? this.know(key, tables) : null;
  }

  /**
   * @param {string} key
   * @param {Tables} tables
   */
  know(key, tables) {
    const laws = new PlayLaws(tables);
    this.known.set(key, laws);
    if (this.known.size > PLAY.known) this.known.delete(oldest(this.known));
    return laws;
  }

  /**
   * @param {string} key
   * @param {Tables} tables
   */
  learn(key, tables) {
    this.know(key, tables);
    const first = this.events.findIndex(({ waits }) => waits === key);
    if (first >= 0) this.stale = Math.min(this.stale, first);
  }

  get waits() {
    return this.events.some(({ waits }) => waits);
  }

  // Go back to the first event whose tables have come, and do everything since then again.
  catchUp() {
    if (this.stale >= this.events.length) return;
    const first = this.stale;
    this.stale = Infinity;
    const { state, ...before } = this.events[first].before;
    Object.assign(this, before, { state: { ...state } });
    while ((this.history.at(-1)?.done ?? 0) > first) this.history.pop();
    this.redone = first;
    for (const event of this.events.slice(first)) {
      this.go(event.time, true);
      this.redone += 1;
      this.apply(event);
    }
    this.redone = undefined;
  }

  /**
   * An event may have come before the last picture was drawn: back to a point before it.
   *
   * @param {number} time
   */
  goBack(time) {
    while (this.latest.time > time) this.history.pop();
    const { time: at, volume, pressure, stride } = this.latest;
    this.state = { time: at, volume, pressure, stride };
  }

  // The history begins with the rest at the start, so it is never empty.
  get latest() {
    return /** @type {PlayPoint} */ (this.history.at(-1));
  }

  // --- time

  /**
   * Go on to a bench time (s). Steps lie on a grid from the last event, whatever is drawn when.
   *
   * @param {number} now
   */
  advance(now) {
    this.catchUp();
    this.follow(now);
    this.now = Math.max(now, this.events.at(-1)?.time ?? 0);
    this.go(this.now, false);
  }

  /**
   * @param {number} to
   * @param {boolean} exactly
   */
  go(to, exactly) {
    const { state } = this;
    while (state.time < to) {
      const [stride, room] = [state.stride, to - state.time];
      if (stride > room && !exactly) return;
      const done = this.step(Math.min(stride, room));
      if (!done) state.stride = Math.max(Math.min(stride, room) / 4, PLAY.first);
      else if (stride <= room) state.stride = Math.min(stride * PLAY.grow, PLAY.longest);
    }
    if (exactly) state.time = to;
  }

  /**
   * One step; returns false where it would be too long, as across a law's steep corner.
   *
   * @param {number} h
   */
  step(h) {
    const { state, laws } = this;
    const { time } = state;
    laws.step(this.held, state.volume, state.pressure, h);
    if (laws.miss > PLAY.miss && h > PLAY.first) return false;
    [state.time, state.volume, state.pressure] = [time + h, laws.volume, laws.pressure];
    if (Math.floor(state.time / PLAY.every) > Math.floor(time / PLAY.every)) this.note();
    return true;
  }

  note() {
    const { state, held } = this;
    const done = this.redone ?? this.events.length;
    this.history.push({ ...state, manometer: this.laws.manometer.at(state.pressure), held, done });
    if (this.history.length > 2 * PLAY.keep) this.history.splice(0, PLAY.keep);
  }

  /**
   * What is seen now: from the last step on the grid one more, which is not kept.
   *
   * @returns {PlayView}
   */
  get view() {
    const { state, held, laws, now, setting } = this;
    let { volume, pressure } = state;
    if (now > state.time) {
      laws.step(held, volume, pressure, now - state.time);
      ({ volume, pressure } = laws);
    }
    const flows = laws.flows(held, volume, pressure);
    return { time: now, manometer: laws.manometer.at(pressure), volume, held, flows, ...setting };
  }

  /**
   * What the gauge showed just before an event.
   *
   * @param {PlayEvent} event
   */
  before({ before: { state, laws } }) {
    return laws.manometer.at(state.pressure);
  }

  // --- the record

  /** @returns {HandsRecord} */
  record(now = this.now) {
    const last = this.events.at(-1)?.time ?? 0;
    const duration = Math.min(Math.max(Math.round(now * 1e4) / 1e4, last), this.limit);
    const actions = this.events.map(rowOf);
    return { format: "tpiece-hands", version: 1, duration, actions };
  }

  /**
   * Begin anew and do what a record says, each thing at its time.
   *
   * @param {{ actions: HandRow[] }} record
   */
  load({ actions }) {
    this.reset();
    this.script = actions;
    Object.assign(this, { asked: 0, future: this.start });
  }

  /** @param {number} now */
  follow(now) {
    for (; this.next < this.script.length && this.script[this.next][0] <= now; this.next += 1) {
      const [time, kind, position] = this.script[this.next];
      this.touch(kind, position, time);
    }
    for (; this.asked < this.script.length && this.script[this.asked][0] <= now + PLAY.ahead; this.asked += 1) {
      const [, kind, position] = this.script[this.asked];
      this.future = settingAfter(this.future, { kind, position });
      const key = settingKey(this.future);
      if (!this.known.has(key)) this.get(key, this.future);
    }
  }
}

/**
 * @param {PlayEvent} event
 * @returns {HandRow}
 */
function rowOf({ time, kind, position }) {
  return position === undefined ? [time, kind] : [time, kind, position];
}

/**
 * @template Value
 * @param {Map<string, Value>} kept
 */
export function oldest(kept) {
  return /** @type {string} */ (kept.keys().next().value);
}

/**
 * @param {Setting} setting
 * @param {{ kind: string, position?: number | string }} event
 * @returns {Setting}
 */
export function settingAfter(setting, { kind, position }) {
  if (kind in PLAY_ENDS) return { ...setting, outlet: PLAY_ENDS[kind] };
  if (PLAY_ROOM.includes(kind)) return { ...setting, [kind]: position };
  if (!PLAY_DIALS.includes(kind)) return setting;
  return { ...setting, positions: { ...setting.positions, [kind]: /** @type {number} */ (position) } };
}
