// Hold and release: what a hand does on the aperture, stamped with the events' own times.

import { Alarm } from "./alarm.js";
import { button, element, focusable, switchBox } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { intervalFigure } from "./intervals.js";
import { Metronome } from "./metronome.js";
import { noteSettled, noteUnsaved, Saver } from "./saving.js";
import { Aperture, Sound } from "./sound.js";
import { fill } from "./speech.js";

/** @import { Model, Render, TapRow, TapsRecord, TapsTraits } from "./types.js" */

const MOST = 2500; // events; more would not fit one line of the answers file
const LEAD = { beats: 3, beat: 1000 }; // beats that are not counted; milliseconds without metronome
const LATE = 60; // milliseconds for an event that came in time and is handled after the end

class Taps {
  /**
   * @param {Model<TapsTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.model = model;
    /** @type {TapRow[]} */
    this.events = [];
    /** @type {string | null} what holds: a pointer, a key, a click */
    this.held = null;
    this.count = this.zero = this.beat = 0;
    this.halved = false;
    this.leaving = new AbortController();
    /** @type {number | undefined} */
    this.ending = undefined;
    this.frameId = 0;
    this.frame = new Frame(model, el, { group: true, showFigure });
    this.words = this.frame.words;
    this.locked = model.get("read_only");
    this.seconds = model.get("duration");
    this.sound = new Sound();
    this.phase = "idle"; // then "lead" and "count"
    this.fresh = true; // no attempt yet: a press on the big button may begin it
    const [metronome, alarm] = [model.get("metronome"), model.get("distraction")];
    this.metronome = metronome?.rate ? new Metronome(metronome, this.words, this.sound) : null;
    this.alarm = alarm?.options ? new Alarm(alarm, this.words, this.sound) : null;
    this.told = element("p", { class: "tpiece-told", "aria-live": "polite" });
    this.last = element("p", { class: "tpiece-last" });
    this.picture = element("div");
    this.start = button(this.words.tapsStart, () =>
      this.phase === "idle" ? this.begin() : this.abandon(),
    );
    this.clock = element("span", { role: "timer", "aria-live": "off", class: "tpiece-clock" });
    this.aperture = new Aperture(this.words);
    this.counted = element("span", { class: "tpiece-counted" });
    this.hold = focusable("button", { type: "button", class: "tpiece-hold" }, this.words.tapsHold);
    this.build();
    this.listen();
    this.saver = new Saver(model, this.frame, (value) => this.show(value));
    this.show(/** @type {TapsRecord | undefined} */ (model.get("saved")?.value));
    this.onPicture = () => this.drawPicture();
    model.on("change:picture", this.onPicture);
    this.drawPicture();
  }

  build() {
    this.frame.body.classList.add("tpiece-taps");
    /** @type {(Element | undefined)[]} */
    const parts = [this.how(), ...this.switches(), this.controls(), this.metronome?.root];
    parts.push(this.readout(), this.alarm?.root, this.holder(), this.told, this.last, this.picture);
    this.frame.body.append(...parts.filter((part) => part !== undefined));
    this.enter("idle");
  }

  how() {
    const text = fill(this.words.tapsHow, { seconds: this.seconds });
    return element("p", { class: "tpiece-help", id: `${this.frame.id}-how` }, text);
  }

  switches() {
    const alarms = this.alarm?.settings.sound;
    if (!this.metronome && !alarms) return [];
    const name = this.metronome ? this.words.metronome : this.words.rhythmSound;
    const sound = switchBox(this.words.metronomeSound, true, (on) => this.sound.switch(on));
    const boxes = [sound, ...(this.metronome?.switches() ?? [])];
    const title = this.metronome ? [element("span", { class: "tpiece-switches-title" }, name)] : [];
    const group = { role: "group", "aria-label": name, class: "tpiece-switches" };
    return [element("div", group, ...title, ...boxes)];
  }

  controls() {
    return element("div", { class: "tpiece-line" }, this.start, this.clock);
  }

  readout() {
    return element("div", { class: "tpiece-readout" }, this.aperture.root, this.counted);
  }

  holder() {
    this.hold.setAttribute("aria-describedby", `${this.frame.id}-how`);
    return this.hold;
  }

  // --- what the hand does

  listen() {
    const { hold } = this;
    hold.addEventListener("pointerdown", (event) => this.pointed(event));
    hold.addEventListener("pointerup", (event) => this.up(`pointer ${event.pointerId}`, event));
    for (const kind of /** @type {const} */ (["pointercancel", "lostpointercapture"])) {
      hold.addEventListener(kind, (event) => this.lose(`pointer ${event.pointerId}`, event));
    }
    hold.addEventListener("contextmenu", (event) => event.preventDefault());
    hold.addEventListener("keydown", (event) => this.keyed(event));
    hold.addEventListener("click", (event) => this.clicked(event));
    this.frame.root.addEventListener("keydown", (event) => this.alarm?.keyed(event));
    const { signal } = this.leaving;
    document.addEventListener("keyup", (event) => this.keyUp(event), { signal });
    document.addEventListener("visibilitychange", (event) => this.hide(event), { signal });
    addEventListener("blur", (event) => this.lose(this.held, event), { signal });
  }

  /** @param {PointerEvent} event */
  pointed(event) {
    if (event.button) return;
    this.hold.setPointerCapture(event.pointerId);
    this.down(`pointer ${event.pointerId}`, event);
  }

  /** @param {KeyboardEvent} event */
  keyed(event) {
    if (![" ", "Enter"].includes(event.key)) return;
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    if (!event.repeat) this.down(`key ${event.key}`, event);
  }

  /** @param {KeyboardEvent} event */
  keyUp(event) {
    if (event.target === this.hold && event.key === " ") event.preventDefault();
    this.up(`key ${event.key}`, event);
  }

  /**
   * A click without a pointer comes from a helping device that cannot hold: it holds or lets go.
   *
   * @param {MouseEvent} event
   */
  clicked(event) {
    if (event.detail) return;
    if (this.held === "click") this.up("click", event);
    else this.down("click", event);
  }

  /** @param {Event} event */
  hide(event) {
    if (document.visibilityState === "hidden") this.lose(this.held, event);
  }

  /**
   * @param {string} by
   * @param {Event} event
   */
  down(by, event) {
    if (this.locked || this.held) return;
    if (this.phase === "idle") return this.fresh ? this.begin() : this.tell("tapsOver");
    const t = this.stamp(event);
    if (t < 0) return this.tell("tapsEarly");
    if (t > this.seconds) return;
    if (this.events.length > MOST - 2) return this.tell("tapsFull", { count: MOST });
    this.held = by;
    this.count += 1;
    this.note(t, "press");
  }

  /**
   * @param {string} by
   * @param {Event} event
   * @param {"release" | "blur"} kind
   */
  up(by, event, kind = "release") {
    if (!this.held || this.held !== by) return;
    this.held = null;
    const t = this.stamp(event);
    if (t <= this.seconds) this.note(t, kind);
  }

  /**
   * @param {string | null} by
   * @param {Event} event
   */
  lose(by, event) {
    if (!by || this.held !== by) return;
    this.up(by, event, "blur");
    this.tell("tapsLost");
  }

  /**
   * Seconds since the count began, to a tenth of a millisecond, by the event's own clock.
   *
   * @param {Event} event
   */
  stamp(event) {
    return Math.round((event.timeStamp - this.zero) * 10) / 10000;
  }

  /**
   * @param {number} t
   * @param {TapRow[1]} kind
   */
  note(t, kind) {
    this.events.push([t, kind]);
    this.refresh();
  }

  // --- the attempt

  begin() {
    if (this.locked) return;
    this.sound.wake();
    const beat = this.metronome?.beat ?? LEAD.beat;
    Object.assign(this, { beat, events: [], count: 0, held: null, halved: false, fresh: false });
    this.zero = performance.now() + LEAD.beats * beat;
    this.metronome?.start(this.zero, LEAD.beats);
    this.alarm?.start((event) => this.stamp(event), () => this.hold.focus());
    noteUnsaved(this.saver.client, this.model.get("label"));
    this.enter("lead");
    this.tell("tapsReadySaid");
    this.hold.focus();
    const wait = LEAD.beats * beat + this.seconds * 1000 + LATE;
    this.ending = setTimeout(() => this.finish(), wait);
    this.tick();
  }

  tick() {
    const now = performance.now();
    const t = (now - this.zero) / 1000;
    if (this.phase === "lead" && t >= 0) {
      this.enter("count");
      this.tell("tapsGo");
    }
    this.metronome?.show(now);
    if (t < this.seconds) this.alarm?.show(t);
    if (!this.halved && t >= this.seconds / 2) {
      this.halved = true;
      this.tell("tapsHalf");
    }
    this.time(t);
    this.frameId = requestAnimationFrame(() => this.tick());
  }

  /** @param {number} t */
  time(t) {
    const lead = Math.max(1, Math.ceil((-t * 1000) / this.beat));
    const left = Math.max(0, Math.ceil(this.seconds - t));
    const text = t < 0
      ? fill(this.words.tapsReady, { count: Math.min(LEAD.beats, lead) })
      : fill(this.words.tapsLeft, { seconds: left });
    if (this.clock.textContent !== text) this.clock.textContent = text;
  }

  finish() {
    const empty = !this.events.length;
    const answered = this.alarm?.given ?? {};
    this.settle();
    this.tell(empty ? "tapsNone" : "tapsEnd");
    if (empty) return this.forget();
    const { events, seconds: duration } = this;
    /** @type {TapsRecord} */
    const value = { format: "tpiece-taps", version: 1, duration, events, ...answered };
    this.show(value);
    this.saver.offer(value);
  }

  abandon() {
    this.settle();
    this.tell("tapsStopped");
    this.forget();
  }

  // Nothing of this attempt is on its way; an earlier one may still be.
  forget() {
    if (!this.saver.waiting) noteSettled(this.saver.client);
  }

  settle() {
    clearTimeout(this.ending);
    cancelAnimationFrame(this.frameId);
    this.held = null;
    this.metronome?.rest();
    this.alarm?.reset();
    this.sound.hush();
    this.enter("idle");
  }

  // --- what is shown

  /** @param {"idle" | "lead" | "count"} phase */
  enter(phase) {
    this.phase = phase;
    this.frame.body.dataset.phase = phase;
    const { tapsStart, tapsAgain, tapsStop } = this.words;
    const text = phase !== "idle" ? tapsStop : this.fresh ? tapsStart : tapsAgain;
    this.start.textContent = this.start.title = text;
    for (const key of [this.start, this.hold]) {
      key.setAttribute("aria-disabled", String(this.locked));
    }
    if (phase === "idle") this.clock.textContent = "";
    this.last.hidden = phase !== "idle";
    this.picture.hidden = phase !== "idle";
    this.refresh();
  }

  refresh() {
    this.aperture.show(Boolean(this.held));
    this.hold.setAttribute("aria-pressed", String(Boolean(this.held)));
    this.counted.textContent = fill(this.words.tapsCount, { count: this.count ?? 0 });
  }

  /**
   * @param {string} word
   * @param {Record<string, unknown>} values
   */
  tell(word, values = {}) {
    const text = fill(this.words[word], values);
    if (this.told.textContent !== text) this.told.textContent = text;
  }

  /** @param {TapsRecord | undefined} value a saved record, where there is one */
  show(value) {
    if (!Array.isArray(value?.events)) return;
    const count = value.events.filter(([, kind]) => kind === "press").length;
    this.last.textContent = fill(this.words.tapsLast, { count, seconds: value.duration });
    this.fresh = false;
    if (this.phase !== "idle") return;
    this.count = count;
    this.enter("idle");
  }

  drawPicture() {
    const picture = this.model.get("picture");
    const some = picture?.intervals?.length;
    this.picture.replaceChildren(...(some ? [intervalFigure(picture, this.words)] : []));
  }

  dispose() {
    clearTimeout(this.ending);
    cancelAnimationFrame(this.frameId);
    this.leaving.abort();
    this.sound.close();
    this.model.off("change:picture", this.onPicture);
    this.saver.dispose();
    this.frame.dispose();
  }
}

/** @type {Render<TapsTraits>} */
function render({ model, el }) {
  const taps = new Taps(model, el);
  return () => taps.dispose();
}

export default { render };
