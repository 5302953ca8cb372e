// The tables that the bench of a case plays: joined here from those of the circuit's parts and from
// what the kernel told last of what lies behind the T. It holds no law of its own.

import { BenchJoined } from "./bench_joined.js";

/** @import { Parts, Setting, Tables } from "./types.js" */

export const CASE_NO_GAS = "no-gas";
const CASE_KEPT = 60; // settings of the circuit whose tables are kept

export class CaseLaws {
  // `behind` are the tables of a lung before anything was told.
  /**
   * @param {Parts} parts
   * @param {Tables} behind
   */
  constructor(parts, behind) {
    this.joined = new BenchJoined(parts);
    this.empty = new BenchJoined({ ...parts, flow: [0, 0] }); // the gas has failed
    /** @type {Map<string, Tables>} */
    this.behind = new Map([["", behind]]);
    /** @type {Map<string, Pick<Tables, "limb" | "manometer" | "relief" | "aperture" | "covered">>} */
    this.circuits = new Map();
  }

  /**
   * @param {string} key
   * @param {Tables} tables
   */
  learn(key, tables) {
    this.behind.set(key, tables);
    if (this.behind.size > CASE_KEPT) this.behind.delete([...this.behind.keys()][1]);
  }

  /**
   * @param {Setting} setting
   * @returns {Tables}
   */
  ask(setting) {
    const { outlet, lung } = setting;
    const behind = this.behind.get(lung) ?? /** @type {Tables} */ (this.behind.get(""));
    const face = outlet === "lung" ? behind.outlet : this.joined.outlet(setting).outlet;
    return { ...this.circuit(setting), outlet: face, patient: behind.patient, recoil: behind.recoil, ...this.joined.ends(setting) };
  }

  /** @param {Setting} setting */
  circuit(setting) {
    const { positions: { flow, pip, relief, peep }, fault } = setting;
    const key = [flow, pip, relief, peep, fault].join();
    let found = this.circuits.get(key);
    if (!found) {
      const joined = fault ? this.empty : this.joined;
      const { limb, manometer, relief } = joined.above(setting);
      const { aperture, covered } = joined.aperture(setting);
      found = { limb, manometer, relief, aperture, covered };
      this.circuits.set(key, found);
      if (this.circuits.size > CASE_KEPT) this.circuits.delete(/** @type {string} */ (this.circuits.keys().next().value));
    }
    return found;
  }
}
