// The bench and a trial in words: what is told together, what the gauge showed, what can be read.

import assert from "node:assert/strict";
import { test } from "node:test";
import { all, words } from "./page.js";

const { benchInflations, BenchLog, benchReads } = await import("../../workbook/widgets/bench_told.js");
const { BenchClock } = await import("../../workbook/widgets/bench_run.js");
const { TrialLog } = await import("../../workbook/widgets/trial_log.js");

const SAID = {
  benchLogLine: "{time}: {what}, {gauge}", trialLogRun: "{from} to {to}: {what}, {gauge}",
  trialLogLine: "{time}: {says} {heart}", benchDidRelease: "released from {was}", benchDidInflate: "{count} inflations",
  benchDidCover: "covered {count} times", benchPastTop: "above {top}", benchDidOcclude: "occluded",
};
const before = { setting: { outlet: "lung" } };
const given = new Proxy(SAID, { get: (texts, name) => texts[name] ?? words[name] });
const texts = (list) => list.children.map((line) => all(line).map((node) => (typeof node === "string" ? node : "")).join(""));

function log(Kind, ...more) {
  const one = new Kind(given, {}, [], 80, ...more);
  Object.defineProperty(one.list, "childElementCount", { get: () => one.list.children.length });
  Object.defineProperty(one.list, "lastElementChild", { get: () => one.list.children.at(-1) });
  return one;
}

test("a gauge is read to half a cmH2O, and nothing above its scale", () => {
  assert.deepEqual([0, 4.74, 4.76, 80].map((at) => benchReads(given, 80, at)), ["0", "4.5", "5", "80"]);
  assert.equal(benchReads(given, 80, 80.1), "above 80");
});

test("inflations that follow each other are told as a number, with the gauge at the end", () => {
  const one = log(BenchLog);
  for (const [time, kind] of [[1, "occlude"], [2, "release"], [3, "occlude"], [4, "release"]]) one.note({ kind, time, before }, 25);
  one.write(5);
  assert.deepEqual(texts(one.list), ["1.0: 2 inflations, 5"]);
});

test("where no baby is on the outlet, nobody is inflated", () => {
  const one = log(BenchLog);
  const open = { setting: { outlet: "open" } };
  for (const [time, kind] of [[1, "occlude"], [2, "release"], [3, "occlude"], [4, "release"]]) one.note({ kind, time, before: open }, 25);
  one.write(5);
  assert.deepEqual(texts(one.list), ["1.0: covered 2 times, 5"]);
});

test("one inflation tells what the gauge showed at its end", () => {
  const one = log(BenchLog);
  one.note({ kind: "occlude", time: 1 }, 5);
  one.note({ kind: "release", time: 2, before }, 24.9);
  one.write(5.1);
  assert.deepEqual(texts(one.list), ["1.0: occluded; released from 25, 5"]);
});

test("what a hand did before something is said in a trial is told first, with what the gauge shows", () => {
  const one = log(TrialLog, () => ({ heart: "", chest: undefined }));
  one.note({ kind: "occlude", time: 1 }, 5);
  one.say(2, "The gauge shows 20.", 20.1);
  assert.deepEqual(texts(one.list), ["1.0: occluded, 20", "2.0: The gauge shows 20."]);
});

test("a gauge that is read aloud in a trial is told in the log, and nothing of it is no number", async () => {
  const { LiveTrial } = await import("../../workbook/widgets/trial.js");
  const one = log(TrialLog, () => ({ heart: "", chest: undefined }));
  one.note({ kind: "occlude", time: 1 }, 5);
  const trial = { log: one, words: given, phase: "on", now: () => 2, player: { view: { manometer: 20.1 } } };
  LiveTrial.prototype.readAloud.call(trial);
  assert.equal(texts(one.list)[0], "1.0: occluded, 20");
  assert.doesNotMatch(texts(one.list).join(), /NaN/);
});

test("the last inflations have the gauge before them and at their end; the last may go on", () => {
  const events = [["occlude", 1, 5], ["release", 2, 25], ["occlude", 3, 6]].map(([kind, time, shown]) => ({ kind, time, shown }));
  const found = benchInflations({ events, before: ({ shown }) => shown });
  assert.deepEqual(found, [{ from: 1, low: 5, high: 25 }, { from: 3, low: 6 }]);
});

test("bench time stands in a pause, and goes on at its pace", () => {
  const clock = new BenchClock();
  clock.go(1000);
  assert.equal(clock.at(3000), 2);
  clock.pause(3000);
  assert.equal(clock.at(9000), 2);
  clock.setPace(0.5, 9000);
  clock.go(9000);
  assert.equal(clock.at(11_000), 3);
  clock.setTime(7);
  assert.equal(clock.at(99_000), 7);
});
