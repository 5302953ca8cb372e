// A sentence with a number in it, and the picture that follows the number. What follows comes from
// the kernel, value by value; until it comes the old words stay, marked as old.

import { button, element } from "./elements.js";
import { SentenceNumber } from "./sentence_number.js";
import { SentencePicture } from "./sentence_picture.js";
import { fill, speak } from "./speech.js";

/** @import { Model, Render, SentenceTraits, StopTold } from "./types.js" */

const SENTENCE_POST = { again: 2000, late: 1500, rest: 600 }; // milliseconds

class LiveSentence {
  /** @type {string} */
  label;
  /** @type {import("./types.js").Stop[]} */
  stops;
  /** @type {SentenceNumber} */
  number;
  /** @type {Map<string, HTMLElement>} */
  answers;
  /** @type {HTMLElement} */
  line;
  /** @type {HTMLElement} */
  told;
  /** @type {HTMLElement} */
  late;
  /** @type {SentencePicture} */
  picture;
  /** @type {HTMLElement} */
  watch;
  /** @type {HTMLElement | undefined} */
  root;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  lateness;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  telling;
  /** @type {boolean} */
  seen;
  /** @type {boolean} */
  looks;

  /**
   * @param {Model<SentenceTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.model = model;
    this.el = el;
    /** @type {Map<number, StopTold>} */
    this.known = new Map();
    /** @type {Map<number, ReturnType<typeof setTimeout>>} */
    this.waiting = new Map();
    this.words = model.get("words");
    speak(this.words);
    model.on("msg:custom", (this.onMessage = (/** @type {StopTold} */ message) => this.hear(message)));
    model.on("change:first", (this.onFirst = () => this.build()));
    this.build();
    el.toggleAttribute("data-tpiece-later", !this.root); // the page need not wait for it
  }

  build() {
    const first = this.model.get("first");
    if (!first?.answers || this.root) return;
    const { model, words } = this;
    this.known.set(first.at, first);
    this.label = model.get("label");
    this.stops = model.get("stops");
    const { lang, dir = "ltr" } = words;
    this.number = new SentenceNumber(words, this.label, this.stops, model.get("at"), (at) => this.go(at));
    this.number.wrong = (says) => this.tell(says);
    /** @type {Map<string, HTMLElement>} */
    this.answers = new Map();
    this.line = element("p", { class: "tpiece-sentence-says" }, ...this.parts(model.get("says")));
    this.told = element("p", { class: "tpiece-unseen", role: "status" });
    this.late = element("p", { class: "tpiece-sentence-late" });
    this.picture = new SentencePicture(words, model.get("plays"), first, () => this.mark());
    this.watch = button(words.sentenceWatch, () => this.toggle());
    const side = element("div", {}, this.line, this.number.how, this.watch, this.late, this.told);
    this.root = element("div", { class: "tpiece tpiece-sentence", role: "group", lang, dir });
    this.root.setAttribute("aria-label", this.label);
    this.root.append(side, this.picture.root);
    this.el.append(this.root);
    this.number.input.addEventListener("focus", () => this.root?.scrollIntoView({ block: "nearest" }));
    for (const kind of ["pointerenter", "focusin"]) {
      this.root.addEventListener(kind, () => this.foresee(), { once: true });
    }
    if (this.picture.still.matches) this.watch.hidden = true;
    this.show(first);
  }

  // The sentence as nodes: words, the number, and what follows it.
  /** @param {string} says */
  parts(says) {
    return says.split(/(\{\w+\})/).map((part) => {
      const name = /^\{(\w+)\}$/.exec(part)?.[1];
      if (name === "drag") return this.number.root;
      if (!name) return part;
      const node = element("output", { class: "tpiece-sentence-answer" });
      this.answers.set(name, node);
      return node;
    });
  }

  /** @param {number} at */
  go(at) {
    this.picture.go(at);
    const known = this.known.get(at);
    if (known) {
      this.picture.learn(known, true);
      this.show(known);
    } else {
      this.line.setAttribute("aria-busy", "true");
      this.ask(at);
    }
    this.mark();
  }

  /** @param {StopTold} stop */
  show({ answers }) {
    this.line.removeAttribute("aria-busy");
    this.late.textContent = "";
    clearTimeout(this.lateness);
    for (const [name, node] of this.answers) node.textContent = answers[name] ?? "";
    if (this.seen) {
      clearTimeout(this.telling);
      this.telling = setTimeout(() => this.isWrong() || this.tell(this.whole(answers)), SENTENCE_POST.rest);
    }
    this.seen = true;
  }

  /** @param {StopTold["answers"]} answers */
  whole(answers) {
    return fill(this.model.get("says"), { ...answers, drag: this.stops[this.number.at].says });
  }

  // For a screen reader, once the number rests; an error for everybody.
  /** @param {string} says */
  tell(says) {
    this.told.textContent = says;
    this.told.classList.toggle("tpiece-unseen", !this.isWrong());
  }

  isWrong() {
    return this.number.input.getAttribute("aria-invalid") === "true";
  }

  toggle() {
    if (this.picture.running) this.picture.stop();
    else this.picture.watch();
    this.mark();
  }

  mark() {
    const { sentenceStop, sentenceWatch } = this.words;
    this.watch.textContent = this.watch.title = this.picture.running ? sentenceStop : sentenceWatch;
  }

  // --- the kernel

  /** @param {number} at */
  ask(at) {
    clearTimeout(this.lateness);
    this.lateness = setTimeout(() => (this.late.textContent = this.words.sentenceLate), SENTENCE_POST.late);
    this.send(at);
  }

  /** @param {number} at */
  send(at) {
    if (this.waiting.has(at) || this.known.has(at)) return;
    this.waiting.set(at, setTimeout(() => (this.waiting.delete(at), this.send(at)), SENTENCE_POST.again));
    try {
      this.model.send({ kind: "stop", at });
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // asked again later
    }
  }

  /** @param {StopTold} told */
  hear(told) {
    if (told.kind !== "stop" || !this.root || this.known.has(told.at)) return;
    clearTimeout(this.waiting.get(told.at));
    this.waiting.delete(told.at);
    this.known.set(told.at, told);
    const current = told.at === this.number.at;
    this.picture.learn(told, current);
    if (current) this.show(told);
    if (this.looks) this.foresee();
  }

  // Ask for the values nearest to where the number stands, one at a time.
  foresee() {
    this.looks = true;
    if (this.waiting.size) return;
    /** @param {number} n */
    const off = (n) => Math.abs(n - this.number.at);
    const unknown = [...this.stops.keys()].filter((n) => !this.known.has(n));
    if (unknown.length) this.send(unknown.reduce((best, n) => (off(n) < off(best) ? n : best)));
  }

  dispose() {
    for (const timer of [this.lateness, this.telling, ...this.waiting.values()]) clearTimeout(timer);
    this.model.off("msg:custom", this.onMessage);
    this.model.off("change:first", this.onFirst);
    this.picture?.dispose();
  }
}

/** @type {Render<SentenceTraits>} */
function render({ model, el }) {
  const sentence = new LiveSentence(model, el);
  return () => sentence.dispose();
}

export default { render };
