// The live bench: the picture, the hands' controls and the run, played and kept by the player.

import { BenchDial, BenchHold, benchListenKeys, benchTurnAround } from "./bench_controls.js";
import { BenchJoined } from "./bench_joined.js";
import { benchNext } from "./bench_kernel.js";
import { drawBench } from "./bench_picture.js";
import { BenchClock, BenchRun } from "./bench_run.js";
import { BenchSound } from "./bench_sound.js";
import {
  benchInflations, BenchLog, BenchNumbers, benchReads, benchRestVolume,
} from "./bench_told.js";
import { benchRadios, BenchTransport } from "./bench_transport.js";
import { benchViewChoice } from "./bench_views.js";
import { button, element, focusable, switchBox } from "./elements.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";
import { fill } from "./speech.js";

/** @import { BenchTraits, HandsRecord, Model, PlayView } from "./types.js" */

const BENCH_IDLE = 60_000; // milliseconds without a touch, after which a run waits
const BENCH_NUMBERS = 250; // milliseconds between two readings as text

export class LiveBench extends BenchRun {
  /** @type {import("./types.js").Radios} */
  ends;
  /** @type {{ dispose(): void } | null} */
  compare;
  /** @type {HTMLElement} */
  said;
  /** @type {BenchNumbers} */
  numbers;
  /** @type {boolean | undefined} */
  locked;
  /** @type {number | undefined} */
  counted;
  /** @type {IntersectionObserver | undefined} */
  sight;
  /** @type {number | undefined} */
  comes;

  /**
   * @param {Model<BenchTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    super();
    this.model = model;
    this.frame = new Frame(model, el, { group: true });
    this.words = this.frame.words;
    this.dials = model.get("dials");
    this.outlets = model.get("outlets");
    this.offers = model.get("offers");
    this.educator = model.get("educator");
    this.limit = model.get("limit");
    this.most = model.get("most");
    this.plays = model.get("plays");
    this.closed = model.get("read_only");
    this.clock = new BenchClock();
    this.wasLate = this.first = this.volume = false;
    this.makePlayer(this.most);
    this.build();
    this.listen();
    this.saver = new Saver(model, this.frame, (value) => this.take(value));
    this.take(/** @type {HandsRecord | undefined} */ (model.get("saved")?.value));
    this.refresh();
    this.transport.tell("benchReady");
    this.draw();
    if (this.plays) this.beginInSight();
  }

  joined() {
    return new BenchJoined(this.model.get("parts"));
  }

  // --- building

  build() {
    const { words, dials } = this;
    const [gaugeTop, chest] = [this.model.get("gauge_top"), this.model.get("chest")];
    const room = Boolean(this.educator.lungs);
    const educator = room ? this.educator : null;
    const volumes = this.offers.includes("volume");
    this.picture = drawBench(words, { dials, gaugeTop, educator, chest, volumes });
    const goal = this.model.get("goal");
    if (goal) this.frame.body.append(element("p", { class: "tpiece-bench-goal" }, goal));
    this.frame.body.append(this.picture.root);
    this.hold = new BenchHold(words, (held, stamp) => {
      return this.touch(held ? "occlude" : "release", undefined, stamp);
    });
    this.place("hold", this.hold.root);
    this.buildDials(room);
    this.buildOutlet();
    this.transport = new BenchTransport(words, this, this);
    this.place("transport", this.transport.root);
    this.place("views", benchViewChoice(words, (name) => (this.picture.look(name), this.run())));
    this.place("more", ...this.more(room));
    this.compare = this.makeCompare();
    benchTurnAround(this.picture.root, (id) => this.turned.find((one) => one.id === id));
  }

  /**
   * @param {string} name
   * @param {...Node} nodes
   */
  place(name, ...nodes) {
    (this.picture.root.querySelector(`.tpiece-bench-slot-${name}`) ?? this.frame.body).append(...nodes);
  }

  /** @param {boolean} room */
  buildDials(room) {
    this.turned = Object.entries(this.dials)
      .filter(([id]) => !(room && id === "leak"))
      .map(([id, dial]) => new BenchDial(this.words, id, dial, (position, stamp) => {
        return this.touch(id, position, stamp);
      }));
    for (const one of this.turned) {
      this.place(one.id, one.root);
      for (const kind of ["focusin", "pointerenter"]) {
        one.root.addEventListener(kind, () => this.foresee(one.id, 1));
      }
    }
  }

  buildOutlet() {
    /** @type {Record<string, string>} */
    const kinds = { capped: "cap", open: "open", lung: "connect" };
    this.ends = benchRadios(this.words.benchOutletLegend, this.outlets, (id, stamp) => {
      this.touch(kinds[id], undefined, stamp);
    });
    if (this.outlets.length > 1) this.place("outlet", this.ends.root);
  }

  /** @param {boolean} room */
  more(room) {
    const { words, offers, dials, outlets } = this;
    this.said = element("span", { role: "status", class: "tpiece-bench-reading" });
    const read = button(words.benchRead, () => this.read());
    this.sound = new BenchSound(words, words.benchMaskOn === words.benchTubeIn);
    /** @type {HTMLElement[]} */
    const parts = [element("div", { class: "tpiece-bench-keys" }, read, this.sound.key, this.said)];
    parts.push(this.sound.hears);
    this.log = new BenchLog(words, dials, outlets, this.model.get("gauge_top"));
    this.numbers = new BenchNumbers(words, this.model.get("gauge_top"));
    if (offers.includes("volume")) {
      parts.push(switchBox(words.benchShowVolume, false, (on) => ((this.volume = on), this.run())));
    }
    if (offers.includes("numbers")) parts.push(this.fold(words.benchNumbers, this.numbers.root));
    if (offers.includes("log")) parts.push(this.fold(words.benchLog, this.log.list, true));
    return room ? [...this.makeRoom(), ...parts] : parts;
  }

  // Only a bench with feedback has the comparison, only one in front of a room the room's panel.
  /** @returns {{ dispose(): void } | null} */
  makeCompare() {
    return null;
  }

  /** @returns {Element[]} */
  makeRoom() {
    return [];
  }

  /**
   * @param {string} title
   * @param {Node} node
   */
  fold(title, node, open = false) {
    const details = element("details", { class: "tpiece-bench-fold", open });
    details.append(focusable("summary", {}, title), node);
    return details;
  }

  listen() {
    this.leaving = new AbortController();
    const { signal } = this.leaving;
    this.frame.root.addEventListener("tpiece-seek", (event) => this.seek(/** @type {CustomEvent<number>} */ (event).detail), { signal });
    benchListenKeys(this.frame.body, this.hold, () => this.read(), signal);
    document.addEventListener("visibilitychange", ({ timeStamp }) => {
      if (document.visibilityState === "hidden") this.hide(timeStamp);
    }, { signal });
    addEventListener("blur", ({ timeStamp }) => this.loseHold(timeStamp), { signal });
    this.frame.root.addEventListener("focusout", ({ relatedTarget }) => {
      if (relatedTarget instanceof Node && !this.frame.root.contains(relatedTarget)) this.keep();
    });
    // A check is for the run as it is.
    this.frame.again.parentElement?.addEventListener("click", () => this.keep(), { capture: true });
  }

  // --- hands

  // Do one thing; returns whether the bench took it.
  /**
   * @param {string} kind
   * @param {number | string | undefined} position
   * @param {number} stamp
   */
  touch(kind, position, stamp) {
    if (this.closed || this.replaying || this.over) return this.refuse();
    const waits = this.begun && !this.clock.running;
    if (!(waits && kind === "release")) this.clock.go(stamp);
    const done = this.player.touch(kind, position, this.clock.at(stamp));
    if (!done) return this.refuse();
    this.touched = performance.now();
    this.first = true;
    this.sound.wake();
    this.transport.tell("");
    this.sure = false;
    this.noteTouch();
    this.soon();
    this.refresh();
    this.run();
    return true;
  }

  refuse() {
    if (this.player.full) this.transport.tell("benchFull", { most: this.most });
    for (const dial of this.turned) dial.restore();
    this.ends.show(this.player.setting.outlet);
    return false;
  }

  noteTouch() {
    const event = this.player.events[this.player.events.length - 1];
    this.log.note(event, this.player.before(event));
    if (!(event.kind in this.dials)) return;
    this.foresee(event.kind, Math.sign(Number(event.position) - event.before.setting.positions[event.kind]));
  }

  // Ask early for where a control may be turned next: its click is then shown in the next frame.
  /**
   * @param {string} id
   * @param {number} step
   */
  foresee(id, step) {
    const { setting, known } = this.player;
    const next = benchNext(setting, id, this.dials[id].clicks, step);
    this.kernel.foresee(next, (key) => known.has(key));
  }

  /** @param {number} stamp */
  loseHold(stamp) {
    this.hold.keyed = null;
    if (this.hold.lose(stamp)) this.transport.tell("benchLost");
  }

  read() {
    this.said.textContent = "";
    const value = benchReads(this.words, this.model.get("gauge_top"), this.player.view.manometer);
    requestAnimationFrame(() => {
      this.said.textContent = fill(this.words.benchReading, { value });
    });
  }

  // --- what is shown

  refresh() {
    const { player, replaying, over, begun } = this;
    const some = begun || Boolean(this.savedRun);
    const running = this.clock.running;
    if (!running) this.sound.hush();
    this.transport.show({ running, replaying: Boolean(replaying), begun, some, over });
    this.transport.off(this.transport.use, this.closed || replaying || !player.events.length);
    const other = this.unsaved && Boolean(this.savedRun) && !this.mayKeep;
    this.transport.showSaved(this.savedRun, other);
    const locked = Boolean(this.closed || replaying);
    if (locked === this.locked) return;
    this.locked = locked;
    for (const one of [...this.turned, this.hold, this.ends]) one.lock(locked);
  }

  /** @param {number} stamp */
  tick(stamp) {
    const now = this.clock.at(stamp);
    if (this.replaying && now >= this.replaying.duration) {
      this.finishReplay(this.replaying.duration);
    } else if (now >= this.limit && this.clock.running) {
      this.finish();
    }
    this.advance(Math.min(this.clock.at(stamp), this.limit));
    const { first } = this;
    this.first = false;
    this.draw(first);
    this.kernel.retry();
    this.watch(stamp);
    return first || this.clock.running || this.kernel.waiting.size || this.log.pending.length;
  }

  /** @param {number} now */
  advance(now) {
    const before = this.player.events.length;
    this.player.advance(now);
    if (!this.replaying) return;
    for (const event of this.player.events.slice(before)) {
      this.log.note(event, this.player.before(event));
    }
  }

  /** @param {number} stamp */
  watch(stamp) {
    const idle = stamp - this.touched > BENCH_IDLE && !this.replaying && !this.player.held;
    if (idle) this.pause(stamp, "benchIdle");
    const late = this.kernel.late && this.player.waits;
    if (late !== this.wasLate) this.transport.tell(late ? "benchLate" : "");
    this.wasLate = late;
  }

  // The first picture after a touch is of needle, chest, hole and what is turned: what the hand waits
  // for comes as soon as it can; gas, valves, strip, words and numbers a frame later.
  /** @param {boolean} first */
  draw(first = false) {
    const { player, weight } = this;
    const seen = player.view;
    const view = { ...seen, running: this.clock.running, comes: this.comes, restVolume: benchRestVolume(player, seen), weight };
    this.picture.show({ ...view, first });
    if (first) return;
    this.hold.show(view.held);
    this.sound.show(view);
    this.picture.strip(player.history, { now: view.time, volume: Boolean(this.volume) });
    for (const dial of this.turned) dial.show(view.positions[dial.id]);
    this.ends.show(view.outlet);
    this.transport.time(view.time);
    this.log.tick(view.manometer);
    this.showNumbers(view);
  }

  /** @param {PlayView} view */
  showNumbers({ manometer }) {
    const now = performance.now();
    if (now - (this.counted ?? -Infinity) < BENCH_NUMBERS) return;
    this.counted = now;
    this.numbers.show(manometer, benchInflations(this.player));
  }

  // A bench to play with is alive as soon as it is seen; who wants no motion begins it by hand.
  beginInSight() {
    this.frame.root.dataset.plays = "";
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) return;
    this.sight = new IntersectionObserver(([{ isIntersecting }]) => {
      if (isIntersecting && !this.clock.running) this.goOn();
    }, { threshold: 0.2 });
    this.sight.observe(this.picture.root);
  }

  dispose() {
    this.sight?.disconnect();
    this.compare?.dispose();
    this.sound.dispose();
    super.dispose();
  }
}

/**
 * @param {new (model: Model<BenchTraits>, el: Element) => { dispose(): void }} Kind
 * @returns {{ render: import("./types.js").Render<BenchTraits> }}
 */
export function benchShows(Kind) {
  return {
    render({ model, el }) {
      const bench = new Kind(model, el);
      return () => bench.dispose();
    },
  };
}

export default benchShows(LiveBench);
