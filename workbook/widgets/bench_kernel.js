// How the bench gets its tables: it joins those it can from the circuit's parts, asks the kernel for
// the others, asks again when no answer comes, and looks ahead to where a control may stand next.

import { playTable, settingAfter, settingKey } from "./bench_player.js";

const BENCH_POST = { again: 2000, late: 1000, kept: 400 }; // milliseconds; tables kept
// Which tables a setting needs, each known by what it depends on.
const BENCH_PARTS = {
  above: { tables: ["limb", "manometer", "relief"], of: ({ positions: p, fault }) => [p.flow, p.pip, p.relief, fault] },
  aperture: { tables: ["aperture", "covered"], of: ({ positions: p, fault }) => [p.peep, fault] },
  outlet: { tables: ["outlet"], of: ({ positions: p, outlet, fault }) => [p.leak, outlet, fault] },
  lung: { tables: ["patient", "recoil"], of: ({ lung, fault }) => [lung, fault] },
};

function benchParts(setting) {
  return Object.entries(BENCH_PARTS).map(([part, { tables, of }]) => {
    return { part, tables, key: `${part} ${of(setting).join("/")}` };
  });
}

export class BenchKernel {
  // `joined` makes the tables of a setting without a fault, where the page has the parts' laws.
  constructor(model, take, joined = null) {
    Object.assign(this, { model, take, joined, count: 0, waiting: new Map(), parts: new Map() });
    model.on("msg:custom", (this.onMessage = (message) => this.hear(message)));
  }

  // Take what came with the page.
  begin(setting, tables) {
    this.keep(setting, tables);
    return this.whole(setting, tables);
  }

  // Returns the tables that are here, or asks for them: `take` gets them when they come.
  ask(key, setting) {
    if (this.waiting.has(key)) return null;
    const here = this.joins(setting) && this.whole(setting, this.joined.ends(setting));
    if (here) return here;
    const parts = benchParts(setting).filter((one) => !this.parts.has(one.key));
    const id = (this.count += 1);
    const tables = parts.flatMap((one) => one.tables);
    const asked = { setting, message: { kind: "laws", id, key, tables, ...setting } };
    this.waiting.set(key, asked);
    this.send(asked);
    return null;
  }

  joins({ fault }) {
    return Boolean(this.joined) && !fault;
  }

  // Ask ahead, but never before somebody waits for something.
  foresee(settings, knows) {
    for (const setting of settings) {
      if (this.waiting.size > 3 || this.joins(setting)) return;
      const key = settingKey(setting);
      if (!knows(key)) this.ask(key, setting);
    }
  }

  send(asked) {
    asked.sent = performance.now();
    asked.since ??= asked.sent;
    try {
      this.model.send(asked.message);
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  hear({ kind, key, tables }) {
    const asked = kind === "laws" ? this.waiting.get(key) : undefined;
    if (!asked) return;
    this.keep(asked.setting, tables);
    const laws = this.whole(asked.setting, tables);
    if (!laws) return this.askWhole(asked); // another view's answer, or one forgotten meanwhile
    this.waiting.delete(key);
    this.take(key, laws);
  }

  keep(setting, given) {
    for (const { key, tables } of benchParts(setting)) {
      if (tables.every((name) => given[name])) this.keepPart(key, tables, given);
    }
  }

  keepPart(key, tables, given) {
    const part = tables.map((name) => [name, playTable(given[name])]);
    this.parts.set(key, part);
    if (this.parts.size > BENCH_POST.kept) this.parts.delete(this.parts.keys().next().value);
    return part;
  }

  join({ part, tables, key }, setting) {
    if (part === "lung" || !this.joins(setting)) return null;
    return this.keepPart(key, tables, this.joined[part](setting));
  }

  whole(setting, { store, joined }) {
    const found = benchParts(setting).map((one) => this.parts.get(one.key) ?? this.join(one, setting));
    if (found.some((part) => !part)) return null;
    return { store, joined, ...Object.fromEntries(found.flat()) };
  }

  askWhole(asked) {
    asked.message.tables = benchParts(asked.setting).flatMap(({ tables }) => tables);
    this.send(asked);
  }

  // Called often: asks again for what has not come.
  retry() {
    const now = performance.now();
    for (const asked of this.waiting.values()) {
      if (now - asked.sent > BENCH_POST.again) this.askWhole(asked);
    }
  }

  get late() {
    const oldest = this.waiting.values().next().value;
    return Boolean(oldest) && performance.now() - oldest.since > BENCH_POST.late;
  }

  dispose() {
    this.model.off("msg:custom", this.onMessage);
  }
}

// Where a control may be turned to next: on in the same direction first, then back.
export function benchNext(setting, dial, clicks, step) {
  const at = setting.positions[dial];
  return [at + step, at + 2 * step, at - step]
    .filter((position) => position >= 0 && position <= clicks)
    .map((position) => settingAfter(setting, { kind: dial, position }));
}
