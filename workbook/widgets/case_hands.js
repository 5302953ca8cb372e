// @ts-nocheck
// Whose hands are busy, and until when: the learner's own, and those of a helper, who begins one
// thing when the last is done. Times are milliseconds after birth.

export class CaseHands {
  // `acts` are those offered: {id, by, seconds, text}.
  constructor(acts) {
    this.acts = Object.fromEntries(acts.map((act) => [act.id, act]));
    this.clear();
  }

  clear() {
    Object.assign(this, { free: 0, helper: 0, own: null, orders: [] });
  }

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
  busy(now) {
    return this.own && now < this.own.until ? this.own : null;
  }

  helping(now) {
    return this.orders.find(({ begins, ends }) => begins <= now && now < ends) ?? null;
  }

  // The count of heart beats that began last.
  listening(now) {
    return this.orders.findLast(({ id, begins }) => id === "listen" && begins <= now) ?? null;
  }
}
