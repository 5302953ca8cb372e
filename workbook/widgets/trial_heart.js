// The heart rate of a baby on the mannequin, as the trial's own law has it: it falls while nobody
// ventilates, and rises again. All its numbers come with the page.

export class TrialHeart {
  /** @param {import("./types.js").HeartLaw} law */
  constructor(law) {
    this.law = law;
    this.rate = law.begins;
    this.last = this.time = 0;
    /** @type {number | null} mL in the lung when it was last at rest */
    this.rest = null;
    this.falling = false;
  }

  reset() {
    Object.assign(this, { rate: this.law.begins, last: 0, time: 0, rest: null, falling: false });
  }

  /**
   * Go on to a time (s).
   *
   * @param {import("./types.js").PlayView} view what the player shows
   * @param {boolean} bagged a bag moves the chest
   */
  go({ time, volume, held, outlet }, bagged) {
    const { waits, falls, rises, least, begins, enough } = this.law;
    const step = Math.max(0, time - this.time);
    this.time = time;
    if (!held || outlet !== "lung") this.rest = outlet === "lung" ? volume : null;
    const breath = held && this.rest !== null && volume - this.rest >= enough;
    if (breath || bagged) this.last = time;
    const waited = time - this.last > waits;
    const slope = waited ? -falls : rises;
    this.rate = Math.min(begins, Math.max(least, this.rate + slope * step));
    this.falling = waited && this.rate > least;
  }
}
