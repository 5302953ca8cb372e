// @ts-nocheck
// The tables that the bench of a case plays: joined here from those of the circuit's parts and from
// what the kernel told last of what lies behind the T. It holds no law of its own.

import { BenchJoined } from "./bench_joined.js";

export const CASE_NO_GAS = "no-gas";
const CASE_KEPT = 60; // settings of the circuit whose tables are kept

export class CaseLaws {
  // `behind` are the tables of a lung before anything was told.
  constructor(parts, behind) {
    this.joined = new BenchJoined(parts);
    this.empty = new BenchJoined({ ...parts, flow: [0, 0] }); // the gas has failed
    this.behind = new Map([["", behind]]);
    this.circuits = new Map();
  }

  learn(key, tables) {
    this.behind.set(key, tables);
    if (this.behind.size > CASE_KEPT) this.behind.delete([...this.behind.keys()][1]);
  }

  ask(setting) {
    const { outlet, lung } = setting;
    const behind = this.behind.get(lung) ?? this.behind.get("");
    const face = outlet === "lung" ? { outlet: behind.outlet } : this.joined.outlet(setting);
    return { ...this.circuit(setting), ...face, patient: behind.patient, recoil: behind.recoil, ...this.joined.ends(setting) };
  }

  circuit(setting) {
    const { positions: { flow, pip, relief, peep }, fault } = setting;
    const key = [flow, pip, relief, peep, fault].join();
    let found = this.circuits.get(key);
    if (!found) {
      const joined = fault ? this.empty : this.joined;
      found = { ...joined.above(setting), ...joined.aperture(setting) };
      this.circuits.set(key, found);
      if (this.circuits.size > CASE_KEPT) this.circuits.delete(this.circuits.keys().next().value);
    }
    return found;
  }
}
