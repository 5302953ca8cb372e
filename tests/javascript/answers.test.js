// The page above a notebook: what is answered, what is still unsaved, what its words are.

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import "./page.js";

const { allSaved, answersPath, countAnswers } = await import("../../workbook/labextension/page/answers.js");
const { fileName } = await import("../../workbook/labextension/page/atsite.js");
const { messageOf, statusOf } = await import("../../workbook/labextension/page/build.js");
const { isResult, resultPath } = await import("../../workbook/labextension/page/result.js");
const { wordsIn } = await import("../../workbook/labextension/page/words.js");

const HEAD = { course: "may", learner: "a", questions: [{ id: "one", label: "The first" }, { id: "two" }] };
const sheet = (...lines) => [HEAD, ...lines].map((line) => JSON.stringify(line)).join("\n");

beforeEach(() => {
  globalThis.tpieceUnsaved = new Map();
});

test("the answers lie beside the page", () => {
  assert.equal(answersPath("rate/rate.ipynb"), "rate/rate.answers.jsonl");
});

test("a file in one folder with everybody's has its learner's name before it", () => {
  assert.equal(fileName("rate/rate.answers.jsonl", "a"), "a.rate.answers.jsonl");
  assert.equal(fileName("rate/rate.answers.jsonl"), "rate.answers.jsonl");
});

test("the latest value of each question counts, and what was taken back is missing", () => {
  const one = { question: "one", value: 3 };
  assert.deepEqual(countAnswers(sheet(one))?.missing, ["two"]);
  assert.deepEqual(countAnswers(sheet(one, { question: "one", value: null }))?.missing, ["The first", "two"]);
});

test("a new attempt has nothing answered, and an answer of the one before stays there", () => {
  const told = countAnswers(sheet({ question: "one", value: 3 }, { attempt: 2 }, { question: "two", value: 1 }));
  assert.deepEqual([told?.attempt, told?.answered, told?.total], [2, 0, 2]);
  const both = countAnswers(sheet({ attempt: 2 }, { attempt: 2, question: "two", value: 1 }));
  assert.deepEqual([both?.attempt, both?.answered], [2, 1]);
});

test("a line that was cut short is no answer, and a head that was cut short no file", () => {
  assert.equal(countAnswers(`${sheet({ question: "one", value: 3 })}\n{"question": "tw`)?.answered, 1);
  assert.equal(countAnswers('{"course": "ma'), null);
  assert.equal(countAnswers('{"questions": []}'), null);
});

test("handing in goes on as soon as all is saved", async () => {
  globalThis.tpieceUnsaved.set("client", "The first");
  const waits = [];
  const done = allSaved((count) => waits.push(count));
  globalThis.tpieceUnsaved.clear();
  document.dispatchEvent({ type: "tpiece-unsaved" });
  assert.deepEqual(await done, []);
  assert.deepEqual(waits, [1]);
});

test("what cannot be saved is named after a while", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  globalThis.tpieceUnsaved.set("client", "The first");
  const done = allSaved(() => {}, 5);
  mock.timers.tick(5);
  assert.deepEqual(await done, ["The first"]);
  mock.timers.reset();
});

test("a result is a page of its unit", () => {
  assert.ok(isResult(resultPath("rate")));
  assert.ok(!isResult("rate/rate.ipynb"));
});

test("whatever was thrown says something, and the server's status where one replied", () => {
  assert.deepEqual([messageOf(new Error("Gone.")), messageOf("plain"), messageOf(null)], ["Gone.", "plain", "null"]);
  const refused = Object.assign(new Error("Not here."), { response: { status: 404 } });
  assert.deepEqual([statusOf(refused), statusOf(new Error("No reply.")), statusOf(null)], [404, undefined, undefined]);
});

test("words come in a language that is here, else in English, whatever is asked for", () => {
  assert.deepEqual([wordsIn("es").language, wordsIn("xx").language, wordsIn().language], ["es", "en", "en"]);
  assert.notEqual(wordsIn("es").handIn, wordsIn("en").handIn);
  assert.equal(wordsIn("xx").locale, "en-GB");
});

test("each word that is filled in has its values, in every language", () => {
  for (const language of ["en", "es"]) {
    const words = wordsIn(language);
    const said = [
      words.waiting(2), words.nextIn(5), words.some(1, 2), words.result.points(1, 2.5), words.attemptIn(2), words.attemptIn(null),
      words.result.needle([{ time: 0, pressure: 5 }, { time: 2, pressure: 20 }]), words.cause.noReply(500), words.failed.safe("f"),
    ];
    for (const text of said) assert.doesNotMatch(text, /[{}]|undefined|NaN/);
  }
});
