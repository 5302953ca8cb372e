// Pictures while something goes on: one at a time, none when all is still.

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { frames } from "./page.js";

const { Frames } = await import("../../workbook/widgets/frames.js");
const cancelled = [];
globalThis.cancelAnimationFrame = (which) => cancelled.push(which);

beforeEach(() => {
  frames.length = 0;
  cancelled.length = 0;
});

/** The browser is ready for a picture. */
const pass = () => frames.shift()();

test("nothing is shown before it is asked for", () => {
  let shown = 0;
  new Frames(() => (shown += 1));
  assert.equal(frames.length, 0);
  assert.equal(shown, 0);
});

test("a picture that is asked for twice is shown once", () => {
  let shown = 0;
  const one = new Frames(() => {
    shown += 1;
  });
  one.ask();
  one.ask();
  assert.equal(frames.length, 1);
  pass();
  assert.equal(shown, 1);
  assert.equal(frames.length, 0);
});

test("pictures go on while something goes on, and end with it", () => {
  let left = 3;
  const one = new Frames(() => (left -= 1) > 0);
  one.ask();
  while (frames.length) pass();
  assert.equal(left, 0);
});

test("what asks while a picture is shown gets one more, not two", () => {
  let shown = 0;
  const one = new Frames(() => {
    shown += 1;
    one.ask();
    return true;
  });
  one.ask();
  pass();
  assert.equal(frames.length, 1);
  pass();
  assert.equal(shown, 2);
});

test("a picture is told when it is shown", () => {
  let told = -1;
  const before = performance.now();
  const one = new Frames((stamp) => {
    told = stamp;
  });
  one.ask();
  pass();
  assert.ok(told >= before && told <= performance.now());
});

test("what has stopped may be asked again", () => {
  const one = new Frames(() => false);
  one.ask();
  one.stop();
  assert.equal(cancelled.length, 1);
  one.ask();
  assert.equal(frames.length, 2);
  one.stop();
  one.stop();
  assert.equal(cancelled.length, 2);
});
