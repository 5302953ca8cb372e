// How the page and the kernel go through a case together: the page has the time and what hands do,
// the kernel steps the baby. One question is on its way at a time; if its answer is late the clock
// waits, and a kernel that is new gets everything once more.

const CASE_STEP = { every: 250, late: 1200, again: 2000 }; // milliseconds

/**
 * @typedef {import("./case_hands.js").ActRow} ActRow
 * @typedef {{ id: number, stamp: number, since: number }} Asked
 * @typedef {{ kind: string, run: string, id: number, refused?: string, again?: boolean, have: number, clock: number, stand: Stand, seen: Seen, says: [number, string][], prompt: string }} Told
 * @typedef {{ outlet: import("./types.js").Outlet, gas: boolean, key: string, tables?: import("./types.js").Tables, bag: boolean, soft?: number }} Stand how the bench stands
 * @typedef {import("./case_sees.js").Seen} Seen
 */
export class CaseSteps {
  /** @type {string} */
  run;
  /** @type {number} */
  have;
  /** @type {number} */
  heard;
  /** @type {number} */
  clock;
  /** @type {number} */
  sent;
  /** @type {number} */
  soft;
  /** @type {Asked | null} */
  asked;

  // `hear(told)` gets each answer; `refuse(why)` that the kernel cannot take what was done.
  /**
   * @param {import("./types.js").Model<object>} model
   * @param {{ hear: (told: Told) => void, refuse: (why: string) => void }} does
   */
  constructor(model, { hear, refuse }) {
    this.model = model;
    this.does = { hear, refuse };
    this.count = 0;
    this.begin();
    model.on("msg:custom", (this.onMessage = (/** @type {Told} */ message) => this.hear(message)));
  }

  begin() {
    const run = globalThis.crypto?.randomUUID?.() ?? `r${Math.random()}`;
    this.run = run;
    this.have = this.heard = this.clock = this.sent = this.soft = 0;
    this.asked = null;
  }

  // `rows` are all acts, `clock` (ms) how far the kernel may go; `soon` that something was done.
  /**
   * @param {ActRow[]} rows
   * @param {number} clock
   * @param {boolean} soon
   * @param {number} stamp
   */
  step(rows, clock, soon, stamp = performance.now()) {
    const { asked } = this;
    if (asked) {
      if (stamp - asked.stamp > CASE_STEP.again) this.send(rows, Math.max(clock, this.sent), stamp);
      return;
    }
    const fresh = soon && (rows.length > this.have || clock > this.clock);
    if (fresh || clock - this.clock >= CASE_STEP.every || (!this.clock && !this.count)) this.send(rows, clock, stamp);
  }

  /**
   * @param {ActRow[]} rows
   * @param {number} clock
   * @param {number} stamp
   */
  send(rows, clock, stamp) {
    const { run, have, heard, soft } = this;
    const id = (this.count += 1);
    this.sent = Math.max(this.sent, clock);
    this.asked = { id, stamp, since: this.asked?.since ?? stamp };
    try {
      this.model.send({ kind: "case", id, run, from: have, acts: rows.slice(have), clock: this.sent, heard, soft });
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  get late() {
    return this.asked !== null && performance.now() - this.asked.since > CASE_STEP.late;
  }

  /** @param {Told} told */
  hear(told) {
    if (told.kind !== "case" || told.run !== this.run || told.id !== this.asked?.id) return;
    this.asked = null;
    if (told.refused) return void this.does.refuse(told.refused);
    if (told.again) return void Object.assign(this, { have: 0, soft: 0, clock: 0 });
    Object.assign(this, { have: told.have, clock: told.clock, soft: told.stand.soft ?? 0 });
    this.heard += told.says.length;
    this.does.hear(told);
  }

  dispose() {
    this.model.off("msg:custom", this.onMessage);
  }
}
