// What is told of a run: inflations only where a baby is on the outlet, a heart that falls only
// until it is at its lowest.

import assert from "node:assert/strict";
import { test } from "node:test";
import { words } from "./page.js";

const { BenchLog } = await import("../../workbook/widgets/bench_told.js");
const { benchChest } = await import("../../workbook/widgets/bench_drawing.js");
const { TrialHeart } = await import("../../workbook/widgets/trial_heart.js");

const cover = (outlet) => {
  const before = { setting: { outlet } };
  return [0, 1].flatMap((n) => [
    { kind: "occlude", time: n, before, was: 5 }, { kind: "release", time: n + 0.5, before, was: 20 },
  ]);
};

for (const [outlet, did] of [["lung", "benchDidInflate"], ["capped", "benchDidCover"], ["open", "benchDidCover"]]) {
  test(`a hole covered twice with the outlet ${outlet} is told as ${did}`, () => {
    const log = new BenchLog({ ...words, [did]: `${did} {count}` }, {}, [], 80);
    assert.deepEqual(log.told(cover(outlet)), [`${did} 2`]);
  });
}

test("without a baby on the outlet no chest is spoken of", () => {
  globalThis.matchMedia = () => ({ matches: false });
  const rise = benchChest({ low: 4, high: 8 });
  const view = { time: 1, volume: 0, restVolume: 0, weight: 3, held: true };
  assert.equal(rise({ ...view, outlet: "capped" }).word, "");
  assert.equal(rise({ ...view, time: 9, outlet: "lung" }).word, "benchChestStill");
});

test("a heart rate at its lowest falls no more", () => {
  const heart = new TrialHeart({ begins: 100, waits: 5, falls: 2, rises: 2, least: 50, enough: 4 });
  const view = { volume: 0, held: false, outlet: "open" };
  heart.go({ ...view, time: 0 }, false);
  heart.go({ ...view, time: 6 }, false);
  assert.equal(heart.falling, true);
  heart.go({ ...view, time: 30 }, false);
  assert.deepEqual([heart.rate, heart.falling], [50, false]);
});

test("of several turns the last one says where a control stands", () => {
  const before = { setting: { outlet: "lung" } };
  const log = new BenchLog(words, {}, [], 80);
  const shown = [1, 2].map((position) => ({ kind: "pip", time: position, position, before, was: 5 }));
  log.one = ({ position }) => position;
  assert.deepEqual(log.told(shown), [2]);
});
