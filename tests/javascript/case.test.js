// A case from birth: whose hands are busy, and how page and kernel go through it together.

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Model } from "./page.js";

const { CaseHands } = await import("../../workbook/widgets/case_hands.js");
const { CaseSteps } = await import("../../workbook/widgets/case_steps.js");
const { caseTime } = await import("../../workbook/widgets/case_sees.js");

const ACTS = [
  { id: "dry", by: "hand", seconds: 10, text: "Dry the baby" },
  { id: "listen", by: "helper", seconds: 6, text: "Listen" },
  { id: "oximeter", by: "helper", seconds: 20, text: "Put the oximeter on" },
];
const STAND = { outlet: "lung", gas: true, key: "a", bag: false, soft: 0.5 };

test("a hand is busy until its act is over", () => {
  const hands = new CaseHands(ACTS);
  assert.equal(hands.busy(0), null);
  hands.take([1000, "dry"]);
  assert.equal(hands.busy(10_999)?.text, "Dry the baby");
  assert.equal(hands.busy(11_000), null);
  assert.equal(hands.free, 11_000);
});

test("a helper begins one thing when the last is done, and the hand stays free", () => {
  const hands = new CaseHands(ACTS);
  hands.take([0, "oximeter"]);
  hands.take([5000, "listen"]);
  assert.equal(hands.busy(5000), null);
  assert.equal(hands.helping(19_999)?.id, "oximeter");
  assert.equal(hands.helping(20_000)?.id, "listen");
  assert.equal(hands.helping(26_000), null);
  assert.equal(hands.listening(19_999), null);
  assert.equal(hands.listening(30_000)?.begins, 20_000);
});

test("a case that stands anew knows of nothing that was done", () => {
  const hands = new CaseHands(ACTS);
  hands.take([0, "dry"]);
  hands.take([0, "listen"]);
  hands.clear();
  assert.deepEqual([hands.busy(1), hands.helping(1), hands.free], [null, null, 0]);
});

test("a time is minutes and seconds", () => {
  assert.deepEqual([0, 999, 61_000, 600_000].map(caseTime), ["0:00", "0:00", "1:01", "10:00"]);
});

let model;
let heard;
let steps;

beforeEach(() => {
  model = new Model({});
  heard = [];
  steps = new CaseSteps(model, { hear: (told) => heard.push(told), refuse: (why) => heard.push(why) });
});

/** The kernel answers what was asked last. */
function answer(more = {}) {
  const { id, run, from, acts, clock } = model.sent.at(-1);
  model.say({ kind: "case", id, run, have: from + acts.length, clock, stand: STAND, says: [], ...more });
}

test("one question is on its way at a time", () => {
  steps.step([], 0, false, 0);
  steps.step([[5, "dry"]], 300, true, 100);
  assert.equal(model.sent.length, 1);
  answer();
  steps.step([[5, "dry"]], 300, true, 200);
  assert.equal(model.sent.length, 2);
  assert.deepEqual(model.sent[1].acts, [[5, "dry"]]);
});

test("only what the kernel has not is sent", () => {
  steps.step([[5, "dry"]], 10, true, 0);
  answer({ says: [[5, "Dried."]] });
  steps.step([[5, "dry"], [400, "listen"]], 500, true, 500);
  const { from, acts, heard: told, soft } = model.sent.at(-1);
  assert.deepEqual([from, acts, told, soft], [1, [[400, "listen"]], 1, 0.5]);
});

test("where nothing was done the kernel is asked four times a second", () => {
  steps.step([], 0, false, 0);
  answer();
  steps.step([], 249, false, 249);
  assert.equal(model.sent.length, 1);
  steps.step([], 250, false, 250);
  assert.equal(model.sent.length, 2);
});

test("a question without an answer is asked again, and never with an earlier clock", () => {
  steps.step([], 0, false, 0);
  answer();
  steps.step([], 900, false, 900);
  steps.step([], 400, false, 2899);
  assert.equal(model.sent.length, 2);
  steps.step([], 400, false, 2901);
  assert.equal(model.sent.length, 3);
  assert.equal(model.sent.at(-1).clock, 900);
});

test("an answer to an older question, or of another run, is not heard", () => {
  steps.step([], 0, false, 0);
  const old = model.sent[0];
  steps.begin();
  steps.step([], 300, false, 300);
  model.say({ kind: "case", id: old.id, run: old.run, have: 9, clock: 9, stand: STAND, says: [] });
  assert.deepEqual(heard, []);
  assert.equal(steps.have, 0);
});

test("a kernel that is new is given everything once more", () => {
  steps.step([[5, "dry"]], 300, true, 0);
  answer();
  steps.step([[5, "dry"]], 600, false, 600);
  answer({ again: true });
  assert.equal(steps.have, 0);
  steps.step([[5, "dry"]], 900, false, 900);
  assert.deepEqual(model.sent.at(-1).acts, [[5, "dry"]]);
  assert.equal(heard.length, 1);
});

test("what the kernel refuses is told with its reason", () => {
  steps.step([[5, "dry"]], 10, true, 0);
  answer({ refused: "Two hands only." });
  assert.deepEqual(heard, ["Two hands only."]);
});

test("who has gone hears nothing any more", () => {
  steps.step([], 0, false, 0);
  steps.dispose();
  answer();
  assert.deepEqual(heard, []);
});
