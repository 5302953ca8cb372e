// The result of a hand-in that is marked elsewhere, as on a hub: looked for until it is there, often
// at first, then less; after a while no more until the window comes back to the front.
import { askServer } from "./build.js";

const SOON_MS = 2000;
const LATER_MS = 10_000;
const SOON_FOR_MS = 60_000;
const LONGEST_MS = 600_000;

export class Waiting {
  /**
   * @param {import("./build.js").Lab} lab
   * @param {{ came: (unit: string) => Promise<void>, over: (unit: string) => void }} told
   */
  constructor(lab, { came, over }) {
    this.lab = lab;
    this.came = came; // told of a unit whose result is there
    this.over = over; // told of one that was looked for long enough
    /** @type {Map<string, number>} */
    this.units = new Map(); // since when each is looked for
    this.timer = 0;
    this.looking = false;
    document.addEventListener("visibilitychange", () => this.again());
  }

  /**
   * Looks for the result of a unit from now on.
   *
   * @param {string} unit
   */
  begin(unit) {
    this.units.set(unit, performance.now());
    this.next();
  }

  /** @param {string} unit */
  has(unit) {
    return this.ageOf(unit) < LONGEST_MS;
  }

  // The window, or a page in it, came back to the front.
  again() {
    if (document.hidden || !this.units.size) return;
    for (const unit of this.units.keys()) this.units.set(unit, performance.now());
    void this.look();
  }

  /** @param {string} unit */
  ageOf(unit) {
    return this.units.has(unit) ? performance.now() - /** @type {number} */ (this.units.get(unit)) : Infinity;
  }

  next() {
    clearTimeout(this.timer);
    const ages = [...this.units.keys()].map((unit) => this.ageOf(unit));
    const youngest = Math.min(...ages, Infinity);
    if (youngest >= LONGEST_MS) return;
    this.timer = setTimeout(() => void this.look(), youngest < SOON_FOR_MS ? SOON_MS : LATER_MS);
  }

  async look() {
    if (this.looking) return;
    this.looking = true;
    clearTimeout(this.timer);
    for (const unit of this.units.keys()) {
      if (!document.hidden && this.has(unit) && !(await this.isOnItsWay(unit))) {
        this.units.delete(unit);
        await this.came(unit).catch((error) => console.error(error));
      } else if (!this.has(unit)) {
        this.over(unit);
      }
    }
    this.looking = false;
    this.next();
  }

  /** @param {string} unit */
  async isOnItsWay(unit) {
    try {
      return (await askServer(this.lab, "waits", { unit }))?.waits !== false;
    } catch {
      return true; // nothing replies just now
    }
  }
}
