// How an answer becomes "Saved": a numbered message, sent again until the kernel has
// acknowledged that very number.

import { clock } from "./speech.js";

const WAITS = [1000, 2000, 3000, 5000]; // milliseconds between tries, then every five seconds
const PLAIN_AFTER = 4; // tries before the page says plainly that nothing is saved yet
/** @import { ControlTraits, MaybeSaved, Model, Reply } from "./types.js" */
/** @typedef {{ seq: number, value: unknown }} Waiting an answer on its way, and its number */

// What the whole page has not saved yet: handing in waits for it, closing the page asks first.
const unsaved = (globalThis.tpieceUnsaved ??= new Map());
// Answers whose control went before they were saved, as when a kernel dies and the page runs
// itself again: the control that comes in its place takes them up.
const left = (globalThis.tpieceLeft ??= new Map());

if (!globalThis.tpieceGuard) {
  globalThis.tpieceGuard = (event) => {
    if (!globalThis.tpieceUnsaved?.size) return;
    event.preventDefault();
    event.returnValue = true; // older browsers ask only for this
  };
  addEventListener("beforeunload", globalThis.tpieceGuard);
}

/**
 * @param {string} client
 * @param {string} label
 */
export function noteUnsaved(client, label) {
  if (unsaved.get(client) === label) return;
  unsaved.set(client, label);
  document.dispatchEvent(new CustomEvent("tpiece-unsaved"));
}

/** @param {string} client */
export function noteSettled(client) {
  if (unsaved.delete(client)) document.dispatchEvent(new CustomEvent("tpiece-unsaved"));
}

/**
 * @param {unknown} one
 * @param {unknown} other
 */
export function same(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}

// One view's answer on its way to the kernel. `show` puts a saved answer into the control.
export class Saver {
  /**
   * @param {Model<ControlTraits>} model
   * @param {import("./frame.js").Frame} frame
   * @param {(value: any) => void} show each control knows the form of its own answers
   */
  constructor(model, frame, show, blank = "blank") {
    this.model = model;
    this.frame = frame;
    this.show = show;
    this.seq = this.tries = 0;
    /** @type {Waiting | null} */
    this.waiting = null;
    /** @type {Waiting | null} */
    this.refused = null;
    this.own = this.checking = false;
    this.client = globalThis.crypto?.randomUUID?.() ?? `c${Math.random()}`;
    frame.saver = this;
    this.onMessage = (/** @type {Reply} */ message) => this.hear(message);
    model.on("msg:custom", this.onMessage);
    model.on("change:saved", (this.onSaved = () => this.follow()));
    if (!this.sayKept(this.saved())) frame.say(blank);
    queueMicrotask(() => this.takeUp());
  }

  get place() {
    return `${this.model.get("question")}\n${this.model.get("label")}`;
  }

  takeUp() {
    const value = left.get(this.place);
    if (!left.delete(this.place) || this.model.get("read_only")) return;
    this.show(value);
    this.offer(value);
  }

  /** @returns {MaybeSaved} */
  saved() {
    return this.model.get("saved") ?? {};
  }

  /** @param {MaybeSaved} saved */
  sayKept({ number, at, back }) {
    if (number === undefined) return false;
    const kept = back ? "back" : "saved";
    this.frame.say(this.model.get("lasts") ? kept : "kept", { time: clock(at ?? "") });
    this.frame.status.dataset.number = String(number); // which line of the file holds it
    return true;
  }

  /**
   * Take a new answer. It counts as unsaved at once, and is sent after a pause without changes.
   *
   * @param {unknown} value
   */
  offer(value, pause = 0) {
    if (!this.waiting || this.tries) this.seq += 1; // a number never sent is used again
    Object.assign(this, { waiting: { seq: this.seq, value }, tries: 0, own: true, refused: null });
    noteUnsaved(this.client, this.model.get("label"));
    this.frame.say("saving");
    clearTimeout(this.timer);
    if (pause) this.timer = setTimeout(() => this.send(), pause);
    else this.send();
  }

  // Send now what waits for its pause, or once more what was refused.
  flush() {
    if (this.refused) this.offer(this.refused.value);
    else if (this.waiting && !this.tries) this.send();
  }

  send() {
    clearTimeout(this.timer);
    if (!this.waiting) return;
    const wait = WAITS[Math.min(this.tries, WAITS.length - 1)];
    this.timer = setTimeout(() => this.send(), wait);
    if (this.tries >= PLAIN_AFTER) this.frame.say("stuck");
    this.tries += 1;
    this.tell({ kind: "answer", client: this.client, ...this.waiting });
  }

  /** @param {object} message */
  tell(message) {
    try {
      this.model.send(message);
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // an answer is sent again later
    }
  }

  /** @param {Reply} message */
  hear({ kind, client, seq, ...told }) {
    if (client !== this.client || !this.waiting || (seq ?? 0) < this.waiting.seq) return;
    if (kind === "saved") {
      this.settle();
      this.sayKept(told);
      if (this.checking) this.check();
    } else if (kind === "refused") {
      const refused = this.waiting;
      this.withdraw("refused", told);
      this.refused = refused;
    }
  }

  settle() {
    Object.assign(this, { waiting: null, own: false });
    clearTimeout(this.timer);
    noteSettled(this.client);
  }

  /**
   * What stands in the control is not an answer that can be saved; it stays there all the same.
   *
   * @param {string} state
   * @param {Record<string, unknown>} values
   */
  withdraw(state, values = {}) {
    this.settle();
    Object.assign(this, { own: state !== "blank", refused: null, checking: false });
    this.frame.say(state, values);
  }

  // Another view of the same question saved an answer: show it, unless this one holds its own.
  follow() {
    const saved = this.saved();
    if (saved.client === this.client || saved.number === undefined) return;
    if (this.waiting) {
      if (!same(saved.value, this.waiting.value)) this.frame.say("elsewhere");
    } else if (this.own) {
      this.frame.say("elsewhereKept");
    } else {
      this.show(saved.value);
      this.sayKept(saved);
    }
  }

  // Feedback is for the answer on the page, so a check waits until that answer is saved.
  check() {
    this.checking = Boolean(this.waiting ?? this.refused);
    if (this.checking) this.flush();
    else if (this.own) this.frame.repeat();
    else this.tell({ kind: "check" });
  }

  dispose() {
    if (this.waiting) left.set(this.place, this.waiting.value);
    if (this.waiting) this.flush();
    clearTimeout(this.timer);
    noteSettled(this.client);
    this.model.off("msg:custom", this.onMessage);
    this.model.off("change:saved", this.onSaved);
  }
}
