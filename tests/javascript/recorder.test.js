// What is kept of hands: rows and their rounding, press and release in pairs, a window that is left.

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { all, happen, make, Model, turn, words } from "./page.js";

const { BenchHold } = await import("../../workbook/widgets/bench_controls.js");
const { Player } = await import("../../workbook/widgets/bench_player.js");
const taps = (await import("../../workbook/widgets/taps.js")).default;

const FLAT = [[-10, 100], [0, 0]];
const OUT = [[-10, 100], [-10, 100]];
const POSITIONS = { flow: 1, pip: 2, relief: 3, peep: 4, leak: 0 };
const TABLES = {
  limb: [[-10, 100], [11, -99]], manometer: [[-10, 100], [-10, 100]], relief: FLAT, aperture: OUT,
  covered: FLAT, outlet: FLAT, patient: [[-10, 100], [-10, 100]], recoil: [[0, 100], [0, 100]],
  store: 1, joined: true,
};

function bench(more = {}) {
  const start = { positions: POSITIONS, outlet: "lung", lung: "", fault: "" };
  return new Player({ start, rest: { volume: 0, pressure: 0 }, tables: TABLES, limit: 20, most: 50, ...more });
}

test("a row of the bench is [seconds, act] or [seconds, control, click], to a tenth of a millisecond", () => {
  const one = bench();
  one.touch("occlude", undefined, 0.123456);
  one.touch("release", undefined, 1.00004);
  one.touch("pip", 7, 1.5);
  one.advance(3.33333);
  assert.deepEqual(one.record(), {
    format: "tpiece-hands", version: 1, duration: 3.3333,
    actions: [[0.1235, "occlude"], [1, "release"], [1.5, "pip", 7]],
  });
});

test("what changes nothing is no row: press and release alternate", () => {
  const one = bench();
  const acts = ["release", "occlude", "occlude", "release", "release", "occlude"];
  const done = acts.map((kind, n) => one.touch(kind, undefined, n));
  assert.deepEqual(done, [false, true, false, true, false, true]);
  assert.equal(one.touch("pip", POSITIONS.pip, 7), false);
  assert.equal(one.touch("connect", undefined, 7), false);
  assert.equal(one.touch("cap", undefined, 7), true);
  assert.deepEqual(one.record().actions.map(([, kind]) => kind), ["occlude", "release", "occlude", "cap"]);
});

test("rows never run backwards, nor past the end", () => {
  const one = bench();
  one.touch("occlude", undefined, 5);
  one.touch("release", undefined, 4.9);
  one.touch("occlude", undefined, 25);
  assert.deepEqual(one.record().actions.map(([time]) => time), [5, 5, 20]);
  assert.equal(one.record(30).duration, 20);
  assert.equal(one.record(1).duration, 20);
});

test("a record that is full takes no more", () => {
  const one = bench({ most: 4 });
  const done = [1, 2, 3, 4, 5, 6].map((n) => one.touch(n % 2 ? "occlude" : "release", undefined, n));
  assert.deepEqual(done, [true, true, true, true, false, false]);
  assert.ok(one.full);
  assert.equal(one.record().actions.length, 4);
});

test("a record played again is the same record, and the same needle", () => {
  const one = bench();
  one.touch("occlude", undefined, 0.5);
  one.touch("release", undefined, 1.25);
  one.touch("occlude", undefined, 1.5);
  one.advance(3);
  const [record, needle] = [one.record(), one.view.manometer];
  one.load(record);
  one.advance(3);
  assert.deepEqual(one.record(), record);
  assert.ok(Math.abs(one.view.manometer - needle) < 1e-9);
});

// --- the hole's button

function holder() {
  const told = [];
  const hold = new BenchHold(words, (held, stamp) => told.push([held, stamp]));
  return { hold, told, node: hold.button };
}

test("two fingers at the hole are one press, until the last one lets go", () => {
  const { hold, told, node } = holder();
  node.happen("pointerdown", { pointerId: 1, timeStamp: 10 });
  node.happen("pointerdown", { pointerId: 2, timeStamp: 20 });
  node.happen("pointerup", { pointerId: 1, timeStamp: 30 });
  node.happen("pointerup", { pointerId: 2, timeStamp: 40 });
  node.happen("lostpointercapture", { pointerId: 2, timeStamp: 41 });
  assert.deepEqual(told, [[true, 10], [false, 40]]);
  node.happen("pointerdown", { pointerId: 3, button: 2, timeStamp: 50 });
  assert.equal(told.length, 2, "the second button of a mouse is no press");
  assert.equal(hold.by.size, 0);
});

test("a finger lost when the window is left lets go; what is kept held stays held", () => {
  const { hold, told, node } = holder();
  node.happen("pointerdown", { pointerId: 1, timeStamp: 10 });
  assert.equal(hold.lose(25), true);
  assert.deepEqual(told, [[true, 10], [false, 25]]);
  assert.equal(hold.lose(30), false);
  hold.keep.happen("click", { timeStamp: 40 });
  assert.equal(hold.lose(50), false);
  assert.deepEqual(told.at(-1), [true, 40]);
});

test("a locked hole takes no press", () => {
  const { hold, told, node } = holder();
  hold.lock(true);
  node.happen("pointerdown", { pointerId: 1, timeStamp: 10 });
  hold.keep.happen("click", { timeStamp: 20 });
  assert.deepEqual(told, []);
});

// --- the tapping button

const LEAD = 3000; // milliseconds before a count without a metronome begins

function tapping(more = {}) {
  const model = new Model({
    question: "q", label: "Tap.", help: "", figure: {}, saved: {}, words, lasts: true, duration: 4,
    read_only: false, can_check: false, feedback: {}, metronome: {}, distraction: {}, ...more,
  });
  const el = make("div");
  const end = taps.render({ model, el });
  const find = (kind) => all(el).find(({ attributes }) => attributes?.class === kind);
  const nodes = all(el);
  const start = nodes.find(({ title }) => title === "tapsStart");
  return { model, end, hold: find("tpiece-hold"), told: find("tpiece-told"), start, record: () => model.sent.at(-1)?.value };
}

let zero = 0;
beforeEach(() => {
  mock.restoreAll();
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  globalThis.tpieceUnsaved.clear();
  mock.method(performance, "now", () => 1000);
  zero = 1000 + LEAD;
});

function down(hold, time) {
  hold.happen("pointerdown", { pointerId: 1, button: 0, timeStamp: zero + 1000 * time });
}

function up(hold, time) {
  hold.happen("pointerup", { pointerId: 1, timeStamp: zero + 1000 * time });
}

test("taps are rows of [seconds, press or release] by the events' own clock", () => {
  const { hold, start, record } = tapping();
  start.happen("click");
  down(hold, 0.5);
  up(hold, 0.90004);
  down(hold, 1.123456);
  up(hold, 2);
  mock.timers.tick(60_000);
  assert.deepEqual(record(), {
    format: "tpiece-taps", version: 1, duration: 4,
    events: [[0.5, "press"], [0.9, "release"], [1.1235, "press"], [2, "release"]],
  });
});

test("what comes before the count or after its end is no row", () => {
  const { hold, start, record, told } = tapping();
  start.happen("click");
  down(hold, -0.5);
  assert.equal(told.textContent, "tapsEarly");
  up(hold, -0.4);
  down(hold, 1);
  up(hold, 1.5);
  down(hold, 3.9);
  up(hold, 4.1);
  mock.timers.tick(60_000);
  assert.deepEqual(record().events, [[1, "press"], [1.5, "release"], [3.9, "press"]]);
});

test("a window that is left ends the hold by a row of its own, and says so", () => {
  const { hold, start, record, told } = tapping();
  start.happen("click");
  down(hold, 1);
  happen("blur", { timeStamp: zero + 1400 });
  assert.equal(told.textContent, "tapsLost");
  up(hold, 1.6);
  happen("blur", { timeStamp: zero + 1700 });
  down(hold, 2);
  turn("hidden", { timeStamp: zero + 2200 });
  turn("visible", { timeStamp: zero + 2300 });
  mock.timers.tick(60_000);
  assert.deepEqual(record().events, [[1, "press"], [1.4, "blur"], [2, "press"], [2.2, "blur"]]);
});

test("two fingers at the tapping button are one press: the first one's", () => {
  const { hold, start, record } = tapping();
  start.happen("click");
  down(hold, 1);
  hold.happen("pointerdown", { pointerId: 2, button: 0, timeStamp: zero + 1100 });
  hold.happen("pointerup", { pointerId: 2, timeStamp: zero + 1200 });
  up(hold, 1.5);
  mock.timers.tick(60_000);
  assert.deepEqual(record().events, [[1, "press"], [1.5, "release"]]);
});

test("a run without a press, or one that was stopped, is not saved", () => {
  const { start, model, told, hold } = tapping();
  start.happen("click");
  mock.timers.tick(60_000);
  assert.equal(told.textContent, "tapsNone");
  start.happen("click");
  down(hold, 1);
  start.happen("click");
  assert.equal(told.textContent, "tapsStopped");
  mock.timers.tick(60_000);
  assert.deepEqual(model.sent, []);
  assert.equal(globalThis.tpieceUnsaved.size, 0);
});

test("a page that was closed for answers takes no tap", () => {
  const { start, hold, model } = tapping({ read_only: true });
  start.happen("click");
  down(hold, 1);
  mock.timers.tick(60_000);
  assert.deepEqual(model.sent, []);
});
