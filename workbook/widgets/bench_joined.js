// The tables of any setting without a fault, joined from those of the circuit's parts: at a pressure
// at the gauge, what comes and no valve lets go goes down the limb. It holds no law of its own.

import { PlayTable } from "./bench_player.js";

/** @import { Law, Parts, Points, Setting } from "./types.js" */

const JOINED = { low: -20, high: 120, apart: 1e-6 }; // cmH2O; corners nearer than `apart` are one

/**
 * What a control's position makes: [at nothing, for each further one].
 *
 * @param {[number, number]} line
 * @param {number} position
 */
function joinedAt([first, step], position) {
  return first + step * position;
}

/**
 * @param {number} share
 * @param {Points} points
 */
function joinedBy(share, [xs, ys]) {
  return new PlayTable([xs, ys.map((y) => share * y)]);
}

export class BenchJoined {
  /** @param {Parts} parts */
  constructor(parts) {
    this.parts = parts;
    const [xs, ys] = parts.sharp;
    const back = (/** @type {number[]} */ numbers) => numbers.slice(1).reverse().map((one) => -one);
    /** @type {Points} */
    this.none = [[JOINED.low, JOINED.high], [0, 0]];
    /** @type {Points} */
    this.both = [[...back(xs), ...xs], [...back(ys), ...ys]]; // gas goes in as it goes out
    /** @type {Points} */
    this.forth = [[JOINED.low, ...xs], [0, ...ys]]; // what opens above zero alone
  }

  /**
   * What a valve lets go, by the pressure at the gauge.
   *
   * @param {"pip" | "relief"} id
   * @param {number} position
   */
  valve(id, position) {
    const { opens, away, vents: [xs, ys] } = this.parts[id];
    if (position === away) return new PlayTable(this.none);
    const from = joinedAt(opens, position);
    return new PlayTable([[JOINED.low, ...xs.map((x) => from + x)], [0, ...ys]]);
  }

  /**
   * @param {Setting} setting
   * @returns {Record<string, Points>}
   */
  above({ positions }) {
    const supply = joinedAt(this.parts.flow, positions.flow);
    const drop = new PlayTable(this.parts.limb);
    const valves = [this.valve("pip", positions.pip), this.valve("relief", positions.relief)];
    const gauge = valves.flatMap(({ xs }) => xs).sort((a, b) => a - b)
      .filter((x, n, all) => !n || x - all[n - 1] > JOINED.apart);
    const relief = gauge.map((x) => valves[1].at(x));
    const limb = gauge.map((x, n) => supply - valves[0].at(x) - relief[n]);
    const at = gauge.map((x, n) => x - drop.at(limb[n]));
    return { limb: [at, limb], manometer: [at, gauge], relief: [at, relief] };
  }

  /**
   * @param {Setting} setting
   * @returns {Record<string, Law>}
   */
  aperture({ positions: { peep } }) {
    const [widest, click] = this.parts.peep;
    return { aperture: joinedBy(widest * click ** peep, this.both), covered: this.none };
  }

  /**
   * @param {Setting} setting
   * @returns {Record<string, Law>}
   */
  outlet({ positions, outlet }) {
    if (outlet === "open") return { outlet: this.both };
    return { outlet: outlet === "lung" ? joinedBy(this.parts.leak[positions.leak], this.forth) : this.none };
  }

  /** @param {Setting} setting */
  ends({ outlet }) {
    const joined = outlet === "lung";
    return { store: this.parts.store[joined ? 0 : 1], joined };
  }
}
