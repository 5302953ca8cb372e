// The needle against the tables, the joined laws, leaps. What the model says comes from Python:
// PLAYER_CASES names a file with {start, rest, tables, parts, lung, limit, most, settings, close, run}.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { env } from "node:process";
import { test } from "node:test";
import { Model } from "./page.js";

const { BenchJoined } = await import("../../workbook/widgets/bench_joined.js");
const { BenchKernel, benchNext } = await import("../../workbook/widgets/bench_kernel.js");
const player = await import("../../workbook/widgets/bench_player.js");

const { PlayLaws, Player, PlayTable, settingAfter, settingKey } = player;
const cases = JSON.parse(readFileSync(env.PLAYER_CASES, "utf-8"));
const { start, rest, tables, limit, most } = cases;

function at([xs, ys], x) {
  const n = Math.max(0, Math.min(xs.length - 2, xs.findLastIndex((one) => one <= x)));
  return ys[n] + ((ys[n + 1] - ys[n]) / (xs[n + 1] - xs[n])) * (x - xs[n]);
}

function close(one, other, within, says) {
  assert.ok(Math.abs(one - other) <= within, `${says ?? ""} ${one} is not ${other} within ${within}`);
}

function begin(more = {}) {
  return new Player({ start, rest, tables, limit, most, ...more });
}

// A kernel that has the circuit's parts, as a bench's page has; `told` is what it was asked.
function joiner() {
  const model = new Model({});
  const learned = [];
  const kernel = new BenchKernel(model, (key, laws) => learned.push([key, laws]), new BenchJoined(cases.parts));
  kernel.keep(start, cases.lung);
  return { kernel, model, learned };
}

test("a table is straight between its points and beyond them, in whatever order it is read", () => {
  const points = [[0, 1, 3], [0, 10, 20]];
  const table = new PlayTable(points);
  for (const x of [2, -1, 0.5, 9, 1, 0, 3, 2.5, -4]) close(table.at(x), at(points, x), 1e-12);
  table.at(2);
  assert.equal(table.slope, 5);
});

test("the needle stands where the gauge's table says at the pressure of each moment", () => {
  const one = begin();
  one.touch("occlude", undefined, 0.2);
  for (let now = 0; now < 3; now += 1 / 60) one.advance(now);
  assert.ok(one.history.length > 200);
  for (const { pressure, manometer } of one.history) {
    close(manometer, at(tables.manometer, pressure), 1e-9);
  }
});

test("at rest with the hole covered, what comes in goes out, by the tables", () => {
  const one = begin();
  one.touch("occlude", undefined, 0);
  one.advance(30);
  const { flows, manometer } = one.view;
  close(flows.limb, flows.aperture + flows.outlet + flows.lung, 0.01 * flows.supply, "mL/s");
  close(flows.supply, flows.pip + flows.relief + flows.limb, 1e-6 * flows.supply, "mL/s");
  assert.ok(manometer > 5);
});

test("the needle is the model's at every frame of a run of every control", () => {
  const { kernel, model } = joiner();
  const one = begin({ ask: (key, setting) => kernel.ask(key, setting) });
  const { actions, times, needle, allowed } = cases.run;
  let next = 0;
  times.forEach((now, n) => {
    for (; next < actions.length && actions[next][0] <= now; next += 1) {
      one.touch(actions[next][1], actions[next][2], actions[next][0]);
    }
    one.advance(now);
    close(one.view.manometer, needle[n], allowed, `at ${now} s:`);
  });
  assert.equal(next, actions.length);
  assert.deepEqual(model.sent, [], "no word with the kernel");
});

test("laws the page joins of a leap are the model's, without a word with the kernel", () => {
  const { kernel, model } = joiner();
  assert.ok(cases.settings.length >= 20);
  for (const { setting, tables: wanted, model: points, near } of cases.settings) {
    const made = new PlayLaws(kernel.ask(settingKey(setting), setting));
    assert.deepEqual([made.store, made.joined], [wanted.store, wanted.joined]);
    for (const [pressure, laws] of points) {
      for (const [name, value] of Object.entries(laws)) {
        const within = near + cases.close * Math.abs(value);
        close(made[name].at(pressure), value, within, `${name} of ${settingKey(setting)} at ${pressure}:`);
      }
    }
  }
  assert.deepEqual(model.sent, []);
});

test("a leap and as many clicks one by one come out the same", () => {
  const asks = () => {
    const { kernel } = joiner();
    return begin({ ask: (key, setting) => kernel.ask(key, setting) });
  };
  const [leap, clicks] = [asks(), asks()];
  const to = start.positions.pip + 25;
  leap.touch("pip", to, 1);
  for (let at = start.positions.pip + 1; at <= to; at += 1) clicks.touch("pip", at, 1);
  for (const one of [leap, clicks]) {
    one.touch("occlude", undefined, 1.5);
    one.advance(3);
  }
  close(leap.view.manometer, clicks.view.manometer, 1e-9);
  assert.deepEqual(leap.setting, clicks.setting);
});

test("tables that come late are played from their event on, as if they had been there", () => {
  const { setting, tables: other } = cases.settings.find((one) => one.setting.outlet === start.outlet);
  const moved = Object.entries(setting.positions).filter(([id, at]) => start.positions[id] !== at);
  const [here, late] = [new Map(), new Map()];
  let place = start;
  for (const [kind, position] of moved) {
    place = settingAfter(place, { kind, position });
    const { kernel } = joiner();
    here.set(settingKey(place), kernel.ask(settingKey(place), place) ?? other);
  }
  const hands = (one) => {
    moved.forEach(([kind, position], n) => assert.ok(one.touch(kind, position, 0.5 + n / 10)));
    one.touch("occlude", undefined, 1.5);
    one.advance(2.5);
  };
  const [sooner, later] = [begin({ ask: (key) => here.get(key) ?? null }), begin({ ask: (key) => void late.set(key, here.get(key)) })];
  hands(sooner);
  hands(later);
  assert.ok(later.waits);
  assert.notEqual(later.view.manometer, sooner.view.manometer);
  for (const [key, laws] of late) later.learn(key, laws);
  later.advance(2.5);
  assert.ok(!later.waits);
  close(later.view.manometer, sooner.view.manometer, 1e-9);
});

test("a fault is the kernel's: its tables are asked for, once more when they do not come", () => {
  const { kernel, model, learned } = joiner();
  const setting = { ...start, fault: "no-gas" };
  const key = settingKey(setting);
  assert.equal(kernel.ask(key, setting), null);
  assert.equal(kernel.ask(key, setting), null);
  assert.equal(model.sent.length, 1);
  assert.deepEqual([model.sent[0].kind, model.sent[0].key, model.sent[0].fault], ["laws", key, "no-gas"]);
  kernel.waiting.get(key).sent -= 5000;
  kernel.waiting.get(key).since -= 5000;
  assert.ok(kernel.late);
  kernel.retry();
  assert.equal(model.sent.length, 2);
  model.say({ kind: "laws", key: "of another page", tables });
  assert.deepEqual(learned, []);
  model.say({ kind: "laws", key, tables });
  assert.equal(learned[0][0], key);
  assert.equal(kernel.waiting.size, 0);
  kernel.dispose();
  assert.deepEqual(model.heard["msg:custom"], []);
});

test("what may be turned to next stays on the control", () => {
  const next = (at, step) => {
    const setting = { ...start, positions: { ...start.positions, leak: at } };
    return benchNext(setting, "leak", 3, step).map(({ positions }) => positions.leak);
  };
  assert.deepEqual([next(0, 1), next(3, 1), next(1, -1)], [[1, 2], [2], [0, 2]]);
});
