// A trial: something is wrong, and the hands find out what. Every move takes its seconds, is kept
// with its time, and is answered in words; what the model makes of it comes from the kernel.

import { BenchDial, BenchHold, benchListenKeys, benchTurnAround } from "./bench_controls.js";
import { benchWord } from "./bench_drawing.js";
import { BenchClock } from "./bench_run.js";
import { benchRestVolume } from "./bench_told.js";
import { button, element } from "./elements.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";
import { fill } from "./speech.js";
import { TrialFinding, trialUse } from "./trial_finding.js";
import { TrialHeart } from "./trial_heart.js";
import { TrialLog } from "./trial_log.js";
import { trialPanels, TrialTabs } from "./trial_places.js";
import { TRIAL_ENDS, TrialRun } from "./trial_run.js";
import { drawTrial, trialHeartSays } from "./trial_stage.js";

/** @import { Model, Move, TrialRecord, TrialTraits } from "./types.js" */

export class LiveTrial extends TrialRun {
  /** @type {Map<string, HTMLElement>} */
  keys;
  /** @type {HTMLButtonElement} */
  ends;
  /** @type {HTMLButtonElement} */
  again;
  /** @type {(message: import("./types.js").MoveTold & { kind: string, id: number }) => void} */
  onTold;

  /**
   * @param {Model<TrialTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    super();
    this.model = model;
    this.frame = new Frame(model, el, { group: true });
    this.words = this.frame.words;
    this.dials = model.get("dials");
    this.outlets = /** @type {{ id: import("./types.js").Outlet, text: string }[]} */ (model.get("outlets"));
    this.limit = model.get("limit");
    this.moves = model.get("moves");
    this.faults = model.get("faults");
    this.sure = model.get("sure");
    const law = model.get("heart_law");
    this.baby = Boolean(law.begins);
    this.closed = model.get("read_only");
    this.clock = new BenchClock();
    this.makePlayer(Infinity);
    this.heart = law.begins ? new TrialHeart(law) : null;
    this.build();
    this.listen();
    this.saver = new Saver(model, this.frame, (value) => this.take(value));
    this.take(/** @type {TrialRecord | undefined} */ (model.get("saved")?.value));
    this.clear();
  }

  // --- building

  build() {
    const { words, dials, outlets, moves, model } = this;
    /** @type {Map<string, HTMLElement>} */
    this.keys = new Map();
    this.log = new TrialLog(words, dials, outlets, model.get("gauge_top"), () => this.sees());
    this.turned = Object.entries(dials).map(([id, dial]) => {
      return new BenchDial(words, id, dial, (position, stamp) => this.turn(id, position, stamp));
    });
    const own = Object.fromEntries(this.turned.map((one) => [one.id, one]));
    const does = {
      name: (/** @type {string} */ id, /** @type {string} */ sure) => this.name(id, sure), mend: () => this.do("mend"),
      read: () => this.do("read"), use: () => this.use(),
    };
    const costs = Object.fromEntries(moves.map((move) => [move.id, this.costs(move)]));
    this.finding = new TrialFinding(words, this.faults, this.sure, does, costs);
    this.ends = trialUse(words, does);
    const panels = trialPanels(words, moves, (move) => this.key(move), own);
    panels.push({ id: "finding", text: words.trialAt_finding, node: this.finding.root });
    const parts = panels.map(({ id, text }) => ({ id, text }));
    this.tabs = new TrialTabs(words.trialPlaces, panels, (id) => this.picture?.scene.mark(id));
    const given = { dials, gaugeTop: model.get("gauge_top"), chest: model.get("chest"), baby: this.baby, alarm: model.get("alarm") };
    this.picture = drawTrial(words, given, {
      parts, tabs: this.tabs, log: this.log.list, hand: this.buildHand(),
      touch: (/** @type {string} */ id) => this.tabs.choose(id),
    });
    this.picture.scene.mark(this.tabs.at);
    const goal = model.get("goal");
    if (goal) this.frame.body.append(element("p", { class: "tpiece-bench-goal" }, goal));
    this.frame.body.append(this.picture.root, this.buildRun());
    benchTurnAround(this.picture.root, (id) => own[id]);
  }

  buildHand() {
    const { words, moves } = this;
    this.hold = new BenchHold(words, (held, stamp) => this.cover(held, stamp));
    this.begin = button(words.trialBegin, () => this.start());
    this.begin.classList.add("tpiece-trial-begin");
    const near = moves.filter(({ part, does }) => does === "outlet" || ["bag", "help"].includes(part));
    const keys = element("div", { class: "tpiece-trial-near" }, ...near.map((move) => this.near(move)));
    // In the order of keys: what begins, and the hole, come first.
    return element("div", { class: "tpiece-bench-hand tpiece-trial-hand" }, this.begin, this.hold.root, this.ends, keys);
  }

  buildRun() {
    const { words } = this;
    this.told = element("p", { class: "tpiece-bench-told", "aria-live": "polite" });
    this.savedSays = element("p", { class: "tpiece-bench-saved" });
    this.again = button(words.benchAgain, () => this.startAgain());
    return element("div", { class: "tpiece-trial-run" }, this.again, this.told, this.savedSays);
  }

  /** @param {Pick<Move, "seconds">} move */
  costs({ seconds }) {
    return seconds ? benchWord(this.words, "trialCosts", { seconds }) : "";
  }

  /** @param {Move} move */
  key(move) {
    const key = button("", () => this.do(move.id), move.text);
    key.dataset.move = move.id;
    const costs = element("span", { class: "tpiece-trial-costs" }, ` ${this.costs(move)}`);
    key.append(element("span", { class: "tpiece-trial-whole" }, move.text), costs);
    this.keys.set(move.id, key);
    return key;
  }

  // What is within reach of a hand at the baby: in little room by a short name.
  /** @param {Move} move */
  near(move) {
    const key = this.key(move);
    const brief = benchWord(this.words, `trialNear_${move.id === "open" && !this.baby ? "uncap" : move.id}`);
    key.prepend(element("span", { class: "tpiece-trial-brief", "aria-hidden": "true" }, brief));
    return key;
  }

  listen() {
    this.leaving = new AbortController();
    const { signal } = this.leaving;
    benchListenKeys(this.frame.body, this.hold, () => this.readAloud(), signal);
    document.addEventListener("visibilitychange", ({ timeStamp }) => {
      if (document.visibilityState === "hidden") this.hide(timeStamp);
    }, { signal });
    addEventListener("blur", ({ timeStamp }) => this.loseHold(timeStamp), { signal });
    this.onTold = (/** @type {import("./types.js").MoveTold & { kind: string, id: number }} */ message) => this.hear(message);
    this.model.on("msg:custom", this.onTold);
  }

  // --- what is shown

  heartSays() {
    return this.heart ? trialHeartSays(this.words, this.heart.rate, this.heart.falling) : "";
  }

  // What somebody sees who looks up from the gauge: the chest, and the heart rate.
  sees() {
    return { heart: this.heartSays(), chest: this.picture.scene.chestDid };
  }

  readAloud() {
    const { manometer } = this.player.view;
    const value = this.log.reads(manometer);
    if (this.phase === "on") this.log.say(this.now(), fill(this.words.benchReading, { value }), manometer);
  }

  refresh() {
    const { phase, busy, rows } = this;
    const locked = Boolean(phase !== "on" || busy);
    this.begin.hidden = phase !== "ready";
    this.hold.root.hidden = phase !== "on";
    this.ends.hidden = phase !== "over" || this.used;
    this.ends.setAttribute("aria-disabled", String(this.closed || !rows.length));
    this.begin.setAttribute("aria-disabled", String(Boolean(this.closed)));
    this.begin.textContent = this.begin.title = this.paused ? this.words.benchGo : this.words.trialBegin;
    this.again.hidden = this.closed || (phase === "ready" && !rows.length);
    for (const key of this.keys.values()) key.setAttribute("aria-disabled", String(locked));
    for (const [id, key] of this.keys) if (id in TRIAL_ENDS) key.setAttribute("aria-pressed", String(this.stands(id)));
    this.finding.show({ locked, bare: this.closed || this.used || !rows.length || Boolean(busy) });
    for (const one of [...this.turned, this.hold]) if (one.locked !== locked) one.lock(locked);
    this.picture.root.dataset.phase = phase;
    this.picture.root.toggleAttribute("data-busy", Boolean(busy));
  }

  /** @param {number} stamp */
  tick(stamp) {
    this.goOn(stamp);
    this.player.advance(Math.min(this.clock.at(stamp), this.limit));
    this.kernel.retry();
    this.askAgain(stamp);
    this.draw();
    return this.clock.running || this.busy || this.kernel.waiting.size || this.log.pending.length;
  }

  draw() {
    const { player, weight } = this;
    const view = { ...player.view, running: this.clock.running, bag: this.bagged, bagWorks: this.bagWorks };
    this.heart?.go(view, this.bagged && Boolean(this.bagWorks));
    this.picture.show({ ...view, restVolume: this.model.get("rest").right, before: benchRestVolume(player, view), weight });
    this.picture.strip(player.history, { now: view.time });
    for (const dial of this.turned) dial.show(view.positions[dial.id]);
    this.hold.show(view.held);
    this.log.tick(view.manometer);
    const busy = this.busy ? benchWord(this.words, "trialBusy", { what: this.busy.text }) : "";
    const { rate = null, falling = false } = this.heart ?? {};
    this.picture.head.show({ time: view.time, limit: this.limit, heart: rate, falling, busy });
  }

  dispose() {
    this.model.off("msg:custom", this.onTold);
    super.dispose();
  }
}

/** @type {import("./types.js").Render<TrialTraits>} */
function render({ model, el }) {
  const trial = new LiveTrial(model, el);
  return () => trial.dispose();
}

export default { render };
