// Whose hands are busy, and until when: the learner's own, and those of a helper, who begins one
// thing when the last is done. Times are milliseconds after birth.

/**
 * @typedef {{ id: string, by: string, seconds: number, text: string }} Act what can be done, by whom, how long it takes
 * @typedef {{ id: string, text: string, begins: number, ends: number }} Order
 * @typedef {[at: number, id: string, what?: string | number]} ActRow what was done (ms)
 */
export class CaseHands {
  /** @type {number} */
  free;
  /** @type {number} */
  helper;
  /** @type {{ text: string, until: number } | null} */
  own;
  /** @type {Order[]} */
  orders;

  // `acts` are those offered: {id, by, seconds, text}.
  /** @param {Act[]} acts */
  constructor(acts) {
    this.acts = Object.fromEntries(acts.map((act) => [act.id, act]));
    this.clear();
  }

  clear() {
    [this.free, this.helper] = [0, 0];
    this.own = null;
    this.orders = [];
  }

  /** @param {ActRow} row */
  take([at, id]) {
    const { by, seconds, text } = this.acts[id];
    const takes = Math.round(1000 * seconds);
    if (by === "hand") {
      this.free = at + takes;
      this.own = { text, until: this.free };
      return;
    }
    const begins = Math.max(at, this.helper);
    this.helper = begins + takes;
    this.orders.push({ id, text, begins, ends: this.helper });
  }

  // What the learner's hands do at a time, or nothing.
  /** @param {number} now */
  busy(now) {
    return this.own && now < this.own.until ? this.own : null;
  }

  /** @param {number} now */
  helping(now) {
    return this.orders.find(({ begins, ends }) => begins <= now && now < ends) ?? null;
  }

  // The count of heart beats that began last.
  /** @param {number} now */
  listening(now) {
    return this.orders.findLast(({ id, begins }) => id === "listen" && begins <= now) ?? null;
  }
}
