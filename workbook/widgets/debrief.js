// After a case: first what the learner says of it, on the own course; then, beside an expert's, each
// moment to look at, its second in the picture, and the same baby again from any second.

import { courseClock, CoursePicture } from "./course_picture.js";
import { button, element, focusable } from "./elements.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";
import { fill } from "./speech.js";

/** @import { DebriefSaid, DebriefTraits, Model } from "./types.js" */

const DEBRIEF = { pause: 800 }; // milliseconds without a change before it is saved

class DebriefControl {
  /** @type {HTMLElement} */
  second;
  /** @type {HTMLSelectElement} */
  act;
  /** @type {HTMLInputElement} */
  well;
  /** @type {import("./course_picture.js").Courses | null} */
  told;
  /** @type {HTMLElement | undefined} */
  restart;

  /**
   * @param {Model<DebriefTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.model = model;
    this.frame = new Frame(model, el, { group: true });
    this.words = this.frame.words;
    this.locked = model.get("read_only");
    /** @type {DebriefSaid} */
    this.said = { at: null, act: "", well: "" };
    this.picture = new CoursePicture(this.frame.id, (time) => this.went(time));
    this.form = this.makeForm();
    this.own = element("p", { class: "tpiece-debrief-own", hidden: true });
    this.list = element("ol", { class: "tpiece-debrief-moments" });
    this.frame.body.append(this.picture.root, this.form, this.own);
    this.frame.feedback.after(this.list, ...this.again());
    this.saver = new Saver(model, this.frame, (value) => this.take(value), "untouched");
    this.take(/** @type {DebriefSaid | undefined} */ (model.get("saved")?.value));
    model.on("change:feedback", (this.onTold = () => this.reveal()));
    this.reveal();
    if (model.get("arrives")) this.frame.arrive(this.picture.slider);
  }

  // --- what the learner says

  makeForm() {
    const { words, model } = this;
    this.second = element("strong", {}, words.debriefNoSecond);
    const second = element("p", { class: "tpiece-debrief-second" }, element("span", {}, words.debriefSecond), this.second);
    const acts = model.get("acts").map(({ id, text }) => element("option", { value: id }, text));
    this.act = focusable("select", { class: "tpiece-field" }, element("option", { value: "" }, words.debriefChoose), ...acts);
    this.act.addEventListener("change", () => this.offer({ act: this.act.value }));
    this.well = focusable("input", { type: "text", class: "tpiece-field", autocomplete: "off", maxlength: String(model.get("longest")) });
    this.well.addEventListener("input", () => this.offer({ well: this.well.value }, DEBRIEF.pause));
    this.well.addEventListener("change", () => this.saver.flush());
    /**
     * @param {string} says
     * @param {Element} input
     */
    const field = (says, input) => element("label", {}, element("span", {}, says), input);
    return element("div", { class: "tpiece-debrief-form" },
      field(words.debriefWell, this.well), second, field(words.debriefAct, this.act));
  }

  /** @param {Partial<DebriefSaid>} part */
  offer(part, pause = 0) {
    if (this.locked || this.told) return;
    Object.assign(this.said, part);
    this.saver.offer({ format: "tpiece-debrief", version: 1, ...this.said }, pause);
  }

  // Before the findings a second that a hand goes to is the one it chooses.
  /** @param {number} time */
  went(time) {
    if (this.told) return this.nameSecond();
    this.second.textContent = fill(this.words.courseAt, { time: courseClock(time) });
    this.offer({ at: time }, DEBRIEF.pause);
  }

  /** @param {Partial<DebriefSaid> | undefined} value */
  take(value) {
    if (!value) return;
    this.said = { at: value.at ?? null, act: value.act ?? "", well: value.well ?? "" };
    const { at, act, well } = this.said;
    this.act.value = act;
    if (this.well !== document.activeElement) this.well.value = well;
    if (at === null) return;
    this.second.textContent = fill(this.words.courseAt, { time: courseClock(at) });
    this.picture.set(at);
  }

  // --- what is found

  reveal() {
    const { words } = this;
    this.told = this.model.get("feedback")?.compare ?? null;
    const course = this.model.get("course");
    this.picture.show(this.told ?? course);
    this.form.hidden = Boolean(this.told);
    this.own.hidden = !this.told;
    const shut = this.locked || Boolean(this.told);
    for (const input of [this.act, this.well]) input.disabled = shut;
    this.own.textContent = this.told ? this.ownWords() : "";
    const moments = this.told?.moments ?? [];
    this.list.replaceChildren(...moments.map(({ at, says }) => {
      const go = button(fill(words.courseGo, { time: courseClock(at) }), () => this.go(at));
      go.setAttribute("aria-label", `${go.textContent}: ${says}`);
      return element("li", {}, element("span", {}, says), go);
    }));
    this.list.hidden = !moments.length;
    if (this.restart) this.restart.hidden = !this.told;
    this.nameSecond();
  }

  ownWords() {
    const { words, said, act } = this;
    const text = act.selectedOptions[0]?.textContent ?? "";
    const time = said.at === null ? "" : fill(words.courseAt, { time: courseClock(said.at) });
    return [fill(words.debriefSaidWell, { well: said.well }), fill(words.debriefSaid, { time, act: text })].join(" ").trim();
  }

  /** @param {number} at */
  go(at) {
    this.picture.set(at);
    this.nameSecond();
    this.picture.root.scrollIntoView({ block: "nearest" });
    this.picture.slider.focus({ preventScroll: true });
  }

  // The same baby once more, from the second that the picture stands at.
  again() {
    if (!this.model.get("can_again")) return [];
    this.goAgain = button("", () => this.model.send({ kind: "again", at: this.from }));
    this.restart = element("p", { class: "tpiece-debrief-again" }, this.goAgain);
    return [this.restart];
  }

  // An expert's course may go on for longer than the own one.
  get from() {
    return Math.min(this.picture.time, this.model.get("course").own.end);
  }

  nameSecond() {
    if (!this.goAgain) return;
    const says = fill(this.words.debriefAgain, { time: courseClock(this.from) });
    this.goAgain.textContent = this.goAgain.title = says;
  }

  dispose() {
    this.model.off("change:feedback", this.onTold);
    this.picture.dispose();
    this.saver.dispose();
    this.frame.dispose();
  }
}

/** @type {import("./types.js").Render<DebriefTraits>} */
function render({ model, el }) {
  const debrief = new DebriefControl(model, el);
  return () => debrief.dispose();
}

export default { render };
