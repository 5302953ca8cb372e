// How the bench gets its tables: it joins those it can from the circuit's parts, asks the kernel for
// the others, asks again when no answer comes, and looks ahead to where a control may stand next.

import { oldest, playTable, settingAfter, settingKey } from "./bench_player.js";

/** @import { Law, Model, Setting, SomeTables, TableName, Tables, TablesReply } from "./types.js" */
/** @typedef {"above" | "aperture" | "outlet" | "lung"} PartName */
/** @typedef {{ part: PartName, tables: TableName[], key: string }} Part */
/** @typedef {[TableName, import("./bench_player.js").PlayTable][]} KeptPart */
/** @typedef {{ setting: Setting, message: { tables: TableName[] }, sent: number, since: number }} Asked */
/** @typedef {Record<Exclude<PartName, "lung">, (setting: Setting) => Record<string, Law>> & { ends(setting: Setting): Pick<Tables, "store" | "joined"> }} Joins */

const BENCH_POST = { again: 2000, late: 1000, kept: 400 }; // milliseconds; tables kept
// Which tables a setting needs, each known by what it depends on.
/** @type {Record<PartName, { tables: TableName[], of: (setting: Setting) => (string | number)[] }>} */
const BENCH_PARTS = {
  above: { tables: ["limb", "manometer", "relief"], of: ({ positions: p, fault }) => [p.flow, p.pip, p.relief, fault] },
  aperture: { tables: ["aperture", "covered"], of: ({ positions: p, fault }) => [p.peep, fault] },
  outlet: { tables: ["outlet"], of: ({ positions: p, outlet, fault }) => [p.leak, outlet, fault] },
  lung: { tables: ["patient", "recoil"], of: ({ lung, fault }) => [lung, fault] },
};

const BENCH_PART_NAMES = /** @type {PartName[]} */ (Object.keys(BENCH_PARTS));

/**
 * @param {Setting} setting
 * @returns {Part[]}
 */
function benchParts(setting) {
  return BENCH_PART_NAMES.map((part) => {
    const { tables, of } = BENCH_PARTS[part];
    return { part, tables, key: `${part} ${of(setting).join("/")}` };
  });
}

export class BenchKernel {
  /**
   * `joined` makes the tables of a setting without a fault, where the page has the parts' laws.
   *
   * @param {Pick<Model<object>, "on" | "off" | "send">} model
   * @param {(key: string, tables: Tables) => void} take
   * @param {Joins | null} joined
   */
  constructor(model, take, joined = null) {
    this.model = model;
    this.take = take;
    this.joined = joined;
    this.count = 0;
    /** @type {Map<string, Asked>} */
    this.waiting = new Map();
    /** @type {Map<string, KeptPart>} */
    this.parts = new Map();
    this.onMessage = (/** @type {TablesReply} */ message) => this.hear(message);
    model.on("msg:custom", this.onMessage);
  }

  /**
   * Take what came with the page.
   *
   * @param {Setting} setting
   * @param {SomeTables} tables
   */
  begin(setting, tables) {
    this.keep(setting, tables);
    return this.whole(setting, tables);
  }

  /**
   * Returns the tables that are here, or asks for them: `take` gets them when they come.
   *
   * @param {string} key
   * @param {Setting} setting
   */
  ask(key, setting) {
    if (this.waiting.has(key)) return null;
    const joined = this.joins(setting);
    const here = joined && this.whole(setting, joined.ends(setting));
    if (here) return here;
    const parts = benchParts(setting).filter((one) => !this.parts.has(one.key));
    const id = (this.count += 1);
    const tables = parts.flatMap((one) => one.tables);
    const message = { kind: "laws", id, key, tables, ...setting };
    const now = performance.now();
    const asked = { setting, message, sent: now, since: now };
    this.waiting.set(key, asked);
    this.send(asked);
    return null;
  }

  /**
   * What joins the tables of a setting, or nothing.
   *
   * @param {Setting} setting
   */
  joins({ fault }) {
    return fault ? null : this.joined;
  }

  /**
   * Ask ahead, but never before somebody waits for something.
   *
   * @param {Setting[]} settings
   * @param {(key: string) => boolean} knows
   */
  foresee(settings, knows) {
    for (const setting of settings) {
      if (this.waiting.size > 3 || this.joins(setting)) return;
      const key = settingKey(setting);
      if (!knows(key)) this.ask(key, setting);
    }
  }

  /** @param {Asked} asked */
  send(asked) {
    asked.sent = performance.now();
    try {
      this.model.send(asked.message);
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  /** @param {TablesReply} message */
  hear({ kind, key, tables }) {
    const asked = kind === "laws" ? this.waiting.get(key) : undefined;
    if (!asked) return;
    this.keep(asked.setting, tables);
    const laws = this.whole(asked.setting, tables);
    if (!laws) return this.askWhole(asked); // another view's answer, or one forgotten meanwhile
    this.waiting.delete(key);
    this.take(key, laws);
  }

  /**
   * @param {Setting} setting
   * @param {Partial<Record<TableName, Law>>} given
   */
  keep(setting, given) {
    for (const { key, tables } of benchParts(setting)) {
      if (tables.every((name) => given[name])) this.keepPart(key, tables, given);
    }
  }

  /**
   * @param {string} key
   * @param {TableName[]} tables
   * @param {Partial<Record<TableName, Law>>} given
   */
  keepPart(key, tables, given) {
    const part = tables.map((name) => pair(name, playTable(/** @type {Law} */ (given[name]))));
    this.parts.set(key, part);
    if (this.parts.size > BENCH_POST.kept) this.parts.delete(oldest(this.parts));
    return part;
  }

  /**
   * @param {Part} part
   * @param {Setting} setting
   */
  join({ part, tables, key }, setting) {
    const joined = this.joins(setting);
    if (part === "lung" || !joined) return null;
    return this.keepPart(key, tables, joined[part](setting));
  }

  /**
   * All tables of a setting, where all are here.
   *
   * @param {Setting} setting
   * @param {Pick<Tables, "store" | "joined">} ends
   * @returns {Tables | null}
   */
  whole(setting, { store, joined }) {
    const found = benchParts(setting).map((one) => this.parts.get(one.key) ?? this.join(one, setting));
    const all = found.flatMap((part) => part ?? []);
    if (found.includes(null)) return null;
    return /** @type {Tables} */ ({ store, joined, ...Object.fromEntries(all) });
  }

  /** @param {Asked} asked */
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
    const first = this.waiting.values().next().value;
    return first !== undefined && performance.now() - first.since > BENCH_POST.late;
  }

  dispose() {
    this.model.off("msg:custom", this.onMessage);
  }
}

/**
 * @param {TableName} name
 * @param {import("./bench_player.js").PlayTable} table
 * @returns {KeptPart[number]}
 */
function pair(name, table) {
  return [name, table];
}

/**
 * Where a control may be turned to next: on in the same direction first, then back.
 *
 * @param {Setting} setting
 * @param {string} dial
 * @param {number} clicks
 * @param {number} step
 */
export function benchNext(setting, dial, clicks, step) {
  const at = setting.positions[dial];
  return [at + step, at + 2 * step, at - step]
    .filter((position) => position >= 0 && position <= clicks)
    .map((position) => settingAfter(setting, { kind: dial, position }));
}
