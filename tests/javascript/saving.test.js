// How an answer becomes "Saved": its states, by time and by what the kernel says.

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { Model } from "./page.js";

const { Saver } = await import("../../workbook/widgets/saving.js");

const TRAITS = { question: "q", label: "A question", lasts: true, read_only: false };
const unsaved = globalThis.tpieceUnsaved;

function begin(traits = {}) {
  const model = new Model({ ...TRAITS, saved: {}, ...traits });
  const frame = { says: [], status: { dataset: {} }, say: (...what) => frame.says.push(what), repeat: () => frame.says.push(["repeated"]) };
  const shown = [];
  const saver = new Saver(model, frame, (value) => shown.push(value));
  return { model, frame, shown, saver, state: () => frame.says.at(-1)[0] };
}

function saved(saver, seq, more = {}) {
  return { kind: "saved", client: saver.client, seq, number: 7, at: "2030-01-01T10:00:00Z", ...more };
}

beforeEach(() => {
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  unsaved.clear();
  globalThis.tpieceLeft.clear();
});

test("nothing is answered at first", () => {
  const { state, model } = begin();
  assert.equal(state(), "blank");
  assert.deepEqual(model.sent, []);
});

test("what was saved before is told, and which line holds it", () => {
  const at = "2030-01-01T10:00:00Z";
  const { state, frame } = begin({ saved: { value: "a", client: "x", seq: 1, number: 3, at } });
  assert.equal(state(), "saved");
  assert.equal(frame.status.dataset.number, "3");
  assert.equal(begin({ lasts: false, saved: { number: 3, at } }).state(), "kept");
  assert.equal(begin({ saved: { number: 3, at, back: true } }).state(), "back");
});

test("an answer is Saved only when the kernel has acknowledged that very message", () => {
  const { saver, model, state } = begin();
  saver.offer("a");
  assert.equal(state(), "saving");
  assert.deepEqual(model.sent, [{ kind: "answer", client: saver.client, seq: 1, value: "a" }]);
  assert.equal(unsaved.get(saver.client), "A question");
  model.say(saved({ client: "another" }, 1));
  assert.equal(state(), "saving");
  saver.offer("b");
  model.say(saved(saver, 1));
  assert.equal(state(), "saving", "the older answer is not this one");
  model.say(saved(saver, 2));
  assert.equal(state(), "saved");
  assert.equal(unsaved.size, 0);
});

test("it is sent again after 1, 2, 3 and then every 5 s, and said plainly after four tries", () => {
  const { saver, model, state } = begin();
  saver.offer("a");
  const tries = [1000, 2000, 3000, 5000, 5000].map((wait) => {
    mock.timers.tick(wait - 1);
    const before = model.sent.length;
    mock.timers.tick(1);
    return [before, model.sent.length, state()];
  });
  assert.deepEqual(tries, [
    [1, 2, "saving"], [2, 3, "saving"], [3, 4, "saving"], [4, 5, "stuck"], [5, 6, "stuck"],
  ]);
  assert.equal(new Set(model.sent.map(({ seq }) => seq)).size, 1);
  model.say(saved(saver, 1));
  assert.equal(state(), "saved");
  mock.timers.tick(60_000);
  assert.equal(model.sent.length, 6);
});

test("a kernel that cannot be reached is tried again", () => {
  const { saver, model, state } = begin();
  const warn = mock.method(console, "warn", () => {});
  const reached = model.send.bind(model);
  model.send = () => {
    throw new Error("gone");
  };
  saver.offer("a");
  assert.equal(warn.mock.callCount(), 1);
  assert.equal(state(), "saving");
  model.send = reached;
  mock.timers.tick(1000);
  assert.equal(model.sent.length, 1);
  warn.mock.restore();
});

test("what is typed waits for a pause, and a number never sent is used again", () => {
  const { saver, model } = begin();
  saver.offer("1", 800);
  mock.timers.tick(700);
  saver.offer("12", 800);
  mock.timers.tick(799);
  assert.deepEqual(model.sent, []);
  mock.timers.tick(1);
  assert.deepEqual(model.sent.map(({ seq, value }) => [seq, value]), [[1, "12"]]);
  saver.offer("123", 800);
  saver.flush();
  assert.deepEqual(model.sent.map(({ seq, value }) => [seq, value]), [[1, "12"], [2, "123"]]);
});

test("a refused answer says why, is not lost, and can be sent once more", () => {
  const { saver, model, frame, state } = begin();
  saver.offer("a");
  model.say({ kind: "refused", client: saver.client, seq: 1, says: "The disk is full." });
  assert.equal(state(), "refused");
  assert.equal(frame.says.at(-1)[1].says, "The disk is full.");
  assert.equal(unsaved.size, 0);
  saver.flush();
  assert.deepEqual(model.sent.map(({ seq, value }) => [seq, value]), [[1, "a"], [2, "a"]]);
  model.say(saved(saver, 2));
  assert.equal(state(), "saved");
});

test("what cannot be saved is withdrawn, and stays this page's own", () => {
  const { saver, model, shown, state } = begin();
  saver.offer("1", 800);
  saver.withdraw("notNumber");
  mock.timers.tick(60_000);
  assert.deepEqual(model.sent, []);
  assert.equal(state(), "notNumber");
  model.change("saved", { value: "2", client: "another", seq: 1, number: 4, at: "" });
  assert.equal(state(), "elsewhereKept");
  assert.deepEqual(shown, []);
});

test("another page's answer is shown, unless this one is on its way", () => {
  const { saver, model, shown, state } = begin();
  const other = { value: "b", client: "another", seq: 1, number: 4, at: "" };
  model.change("saved", other);
  assert.deepEqual([shown, state()], [["b"], "saved"]);
  saver.offer("a");
  model.change("saved", { ...other, number: 5 });
  assert.deepEqual([shown, state()], [["b"], "elsewhere"]);
  model.say(saved(saver, 1));
  assert.equal(state(), "saved");
});

test("feedback is asked for when the answer on the page is saved, and not before", () => {
  const { saver, model } = begin();
  saver.offer("a", 800);
  saver.check();
  assert.deepEqual(model.sent.map(({ kind }) => kind), ["answer"]);
  model.say(saved(saver, 1));
  assert.deepEqual(model.sent.map(({ kind }) => kind), ["answer", "check"]);
});

test("an answer that its control could not save goes on to the control in its place", async () => {
  const { saver } = begin();
  await Promise.resolve();
  saver.offer("a");
  saver.dispose();
  assert.equal(unsaved.size, 0);
  const next = begin();
  await Promise.resolve();
  assert.deepEqual(next.shown, ["a"]);
  assert.deepEqual(next.model.sent.map(({ value }) => value), ["a"]);
  assert.equal(globalThis.tpieceLeft.size, 0);
  const closed = begin({ question: "other", read_only: true });
  globalThis.tpieceLeft.set("other\nA question", "b");
  await Promise.resolve();
  assert.deepEqual(closed.model.sent, []);
});

test("closing the page is asked about while something is unsaved, and only then", () => {
  const { saver, model } = begin();
  const leave = () => {
    const event = { asked: false, preventDefault: () => (event.asked = true) };
    globalThis.tpieceGuard(event);
    return event.asked;
  };
  assert.equal(leave(), false);
  saver.offer("a");
  assert.equal(leave(), true);
  model.say(saved(saver, 1));
  assert.equal(leave(), false);
});
