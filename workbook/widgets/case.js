// A case from birth to stabilised, played live: a baby, a clock, a T-piece under one hand, and
// decisions. What is hidden of the baby never comes to this page.

import { BenchDial, BenchHold, benchListenKeys, benchTurnAround } from "./bench_controls.js";
import { benchWord } from "./bench_drawing.js";
import { CaseActs } from "./case_acts.js";
import { CaseLog } from "./case_log.js";
import { CaseRun } from "./case_run.js";
import { brief, CaseSees, caseTime } from "./case_sees.js";
import { drawCase } from "./case_stage.js";
import { button, element } from "./elements.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";
import { TrialTabs } from "./trial_places.js";

/** @import { CaseRecord, CaseTraits, Model } from "./types.js" */

// While a case goes on Space is the hole, wherever the focus is, for no number needs a space: a button
// is pressed by Enter.
const CASE_SLEPT = 10_000; // milliseconds between two pictures that no busy machine takes
const CASE_OWN_SPACE = "select, summary, a, textarea";

class LiveCase extends CaseRun {
  /** @type {TrialTabs} */
  tabs;
  /** @type {HTMLElement} */
  prompt;
  /** @type {HTMLButtonElement} */
  halt;
  /** @type {HTMLButtonElement} */
  slower;
  /** @type {HTMLButtonElement} */
  end;
  /** @type {HTMLButtonElement} */
  again;
  /** @type {HTMLElement} */
  says;
  /** @type {HTMLElement} */
  savedSays;
  /** @type {AbortController} */
  leaving;
  /** @type {string | undefined} */
  locked;
  /** @type {boolean} */
  sureEnd;
  /** @type {boolean} */
  sureAgain;
  /** @type {boolean} */
  practice;

  /**
   * @param {Model<CaseTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    super();
    this.model = model;
    this.frame = new Frame(model, el, { group: true });
    this.words = this.frame.words;
    this.dials = model.get("dials");
    this.limit = model.get("limit");
    this.acts = model.get("acts");
    this.lines = model.get("lines");
    this.told = model.get("told");
    this.closed = model.get("read_only");
    this.practice = model.get("mode") === "practice";
    this.overSays = this.practice ? "caseOverPractice" : "caseOver";
    this.makeRun(model);
    this.build();
    this.listen();
    this.saver = new Saver(model, this.frame, (value) => this.take(value));
    const { acts, at } = model.get("begins");
    this.stand(acts, at);
    this.tell(at ? "caseAgainFrom" : "caseReady", { time: caseTime(at) });
    this.take(/** @type {CaseRecord | undefined} */ (model.get("saved")?.value));
    this.refresh();
    this.draw(performance.now());
    if (at) this.run(); // how things stand at that second
    if (model.get("arrives")) this.frame.arrive(this.start);
  }

  build() {
    const { words, dials, model } = this;
    this.log = new CaseLog(words);
    this.sees = new CaseSees(words, model.get("window"));
    this.turned = Object.entries(dials).map(([id, dial]) => {
      return new BenchDial(words, id, dial, (position, stamp) => this.turn(id, position, stamp));
    });
    const own = Object.fromEntries(this.turned.map((one) => [one.id, one]));
    this.given = new CaseActs(words, this, own, (id, what) => this.do(id, what));
    this.tabs = new TrialTabs(words.caseAct, this.given.panels, () => {});
    this.prompt = element("p", { class: "tpiece-case-prompt", "aria-live": "polite" });
    this.prompt.hidden = true;
    this.says = element("p", { class: "tpiece-case-says", "aria-live": "polite" });
    const shown = { dials, gaugeTop: model.get("gauge_top"), chest: model.get("chest"), told: this.told };
    this.picture = drawCase(words, shown, {
      sees: this.sees.root, tabs: this.tabs, log: this.log.list, hand: this.buildHand(),
      keys: this.buildKeys(), prompt: element("div", { class: "tpiece-case-line" }, this.prompt, this.says),
    });
    this.frame.body.append(this.picture.root, this.buildRun());
    benchTurnAround(this.picture.root, (id) => own[id]);
  }

  buildHand() {
    const { words } = this;
    this.hold = new BenchHold(words, (held, stamp) => this.cover(held, stamp));
    const hints = [["keyed", words.benchHold], ["touched", words.caseHold]]; // by what there is to hold it with
    this.hold.button.replaceChildren(...hints.map(([by, says]) => element("span", { class: `tpiece-case-${by}` }, says)));
    this.start = button(words.caseBegin, () => this.begin());
    this.start.classList.add("tpiece-trial-begin");
    return element("div", { class: "tpiece-bench-hand tpiece-trial-hand" }, this.start, this.hold.root);
  }

  buildKeys() {
    const { words } = this;
    this.halt = button(words.casePause, () => this.pause("casePaused"));
    this.slower = brief(words, "caseSlow", () => this.setSlow(!this.slow));
    this.end = brief(words, "caseEnd", () => this.over());
    return element("div", { class: "tpiece-case-run-keys" }, this.halt, this.slower, this.sees.heart.key, this.end);
  }

  buildRun() {
    const { words } = this;
    this.savedSays = element("p", { class: "tpiece-bench-saved" });
    this.again = button(words.caseAgain, () => this.startAgain());
    return element("div", { class: "tpiece-trial-run" }, this.sees.told, this.again, this.savedSays);
  }

  listen() {
    this.leaving = new AbortController();
    const { signal } = this.leaving;
    benchListenKeys(this.frame.body, this.hold, () => this.readAloud(), signal, CASE_OWN_SPACE);
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") this.pause("caseHidden");
    }, { signal });
    addEventListener("blur", ({ timeStamp }) => this.loseHold(timeStamp), { signal });
  }

  // --- what is chosen

  /** @param {boolean} slow */
  setSlow(slow) {
    this.slow = slow;
    this.clock.setPace(slow ? 0.5 : 1, performance.now());
    this.refresh();
  }

  // Asked twice: nothing can be done after it.
  over() {
    if (!["on", "ready"].includes(this.phase) || !this.rows.length) return undefined;
    if (!this.sureEnd) {
      this.sureEnd = true;
      return this.tell("caseSureEnd");
    }
    this.sureEnd = false;
    return this.finish();
  }

  startAgain() {
    if (this.rows.length && this.phase !== "over" && !this.sureAgain) {
      this.sureAgain = true;
      return this.tell("caseSureAgain");
    }
    this.sureAgain = false;
    this.forget();
    this.prompts("");
    this.savedSays.textContent = ""; // it spoke of the run before
    const { acts, at } = this.model.get("begins");
    this.stand(acts, at);
    this.tell(at ? "caseAgainFrom" : "caseReady", { time: caseTime(at) });
    this.refresh();
    this.run();
    return this.start.focus();
  }

  // A saved case: one that broke off goes on from where it stood, one that ended has ended.
  /** @param {CaseRecord | undefined} record */
  take(record) {
    if (!record) return;
    const { acts, duration, ended } = record;
    this.savedSays.textContent = benchWord(this.words, "caseSaved", { count: acts.length, time: caseTime(duration) });
    if (this.rows.length > this.model.get("begins").acts.length || this.phase !== "ready") return;
    this.stand(acts, duration);
    if (this.rows.filter(([, id]) => ["occlude", "release"].includes(id)).at(-1)?.[1] === "occlude") {
      this.rows.push([duration, "release"]);
    }
    if (ended === "whole") this.phase = "over";
    this.tell(ended === "whole" ? this.overSays : "caseHalf", { time: caseTime(duration) });
    this.refresh();
    this.run();
  }

  // --- what is shown

  readAloud() {
    if (this.phase !== "on") return;
    const value = String(Math.round(this.player.view.manometer * 2) / 2);
    this.tell("benchReading", { value });
  }

  /** @param {string} prompt */
  prompts(prompt) {
    const text = ["over", "ready"].includes(this.phase) ? "" : prompt;
    if (this.prompt.textContent !== text) this.prompt.textContent = text;
    this.prompt.hidden = !text;
  }

  /**
   * @param {string} word
   * @param {Record<string, unknown>} values
   */
  tell(word, values = {}) {
    const text = word ? benchWord(this.words, word, values) : "";
    if (this.says.textContent !== text) this.says.textContent = text;
  }

  refresh() {
    const { phase, practice, words } = this;
    this.start.hidden = phase !== "ready";
    this.start.setAttribute("aria-disabled", String(Boolean(this.closed)));
    this.start.textContent = this.start.title = this.rows.length ? words.caseGo : words.caseBegin;
    this.hold.root.hidden = phase === "ready";
    this.halt.hidden = !practice || phase !== "on";
    this.slower.hidden = !practice || phase === "over";
    this.slower.setAttribute("aria-pressed", String(Boolean(this.slow)));
    this.end.hidden = phase === "over" || this.closed || !this.rows.length;
    this.again.hidden = !practice || this.closed || (phase === "ready" && !this.rows.length);
    this.picture.root.dataset.phase = phase;
    this.locked = undefined;
    this.locks();
  }

  // Only what changes is written: this is looked at with every picture.
  locks() {
    const busy = this.phase !== "on" || Boolean(this.busy());
    const state = `${this.phase} ${busy} ${this.pressed}`;
    if (state === this.locked) return;
    this.locked = state;
    this.given.lock((act) => this.off(act), (one) => this.whyLater(one.key.textContent ?? ""));
    for (const one of [...this.turned, this.hold]) if (one.locked !== busy) one.lock(busy);
    this.picture.root.toggleAttribute("data-busy", this.phase === "on" && busy);
  }

  // Why a number that was typed is not taken yet.
  /** @param {string} says */
  whyLater(says) {
    const own = this.phase === "on" && this.busy();
    return own ? benchWord(this.words, "caseLater", { what: own.text, says }) : this.words.caseStands;
  }

  /** @param {number} stamp */
  tick(stamp) {
    this.wake(stamp);
    this.goOn(stamp);
    this.player.advance(this.now(stamp));
    this.draw(stamp);
    return this.phase === "on" || this.steps.asked;
  }

  // A machine that slept has drawn nothing meanwhile: the case goes on from the last picture.
  /** @param {number} stamp */
  wake(stamp) {
    const slept = this.phase === "on" && stamp - this.drawnAt > CASE_SLEPT;
    if (slept) {
      this.clock.setTime(this.now(this.drawnAt));
      this.pause("caseHidden");
    }
    this.drawnAt = stamp;
  }

  dispose() {
    this.keep();
    this.frames.stop();
    for (const dial of this.turned) dial.letGo();
    this.forget();
    this.leaving.abort();
    this.sees.heart.dispose();
    this.picture.dispose();
    this.steps.dispose();
    this.saver.dispose();
    this.frame.dispose();
  }
}

/** @type {import("./types.js").Render<CaseTraits>} */
function render({ model, el }) {
  const live = new LiveCase(model, el);
  return () => live.dispose();
}

export default { render };
