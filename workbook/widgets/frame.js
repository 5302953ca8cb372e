// The frame all controls share: question, help, a figure, the control itself, state of saving,
// feedback.

import { button, element, focusable } from "./elements.js";
import { fill, speak } from "./speech.js";

/** @import { ControlTraits, Model, Shown, ShowFigure } from "./types.js" */

// A state without a mark of its own is a warning.
/** @type {Record<string, string>} */
const MARKS = { saved: "✓", back: "✓", kept: "✓", saving: "…", blank: "", untouched: "" };

export class Frame {
  /**
   * `group` says that the control is of several parts.
   *
   * @param {Model<ControlTraits>} model
   * @param {Element} el
   * @param {{ group: boolean, showFigure?: ShowFigure }} how
   */
  constructor(model, el, { group, showFigure }) {
    this.model = model;
    this.showFigure = showFigure;
    /** @type {import("./saving.js").Saver | null} */
    this.saver = null;
    /** @type {Shown | null} */
    this.shown = null;
    /** @type {string | undefined} */
    this.said = undefined;
    this.words = model.get("words");
    this.again = button(this.words.again, () => this.saver?.flush());
    this.again.hidden = true;
    this.id = `tpiece-${Math.random().toString(36).slice(2)}`;
    const { lang, dir = "ltr" } = this.words;
    speak(this.words);
    /** @type {HTMLElement} */
    this.root = element(group ? "fieldset" : "div", { class: "tpiece", lang, dir });
    this.body = element("div", { class: "tpiece-body" });
    this.status = focusable("span", { role: "status", class: "tpiece-saving", tabindex: "-1" });
    this.status.id = `${this.id}-s`;
    this.feedback = element("div", { class: "tpiece-feedback", "aria-live": "polite" });
    this.root.append(this.question(group), ...this.help(), ...this.figure(), this.body);
    this.root.append(this.line(), this.feedback);
    el.append(this.root);
    this.onFeedback = () => this.showFeedback();
    model.on("change:feedback", this.onFeedback);
    this.showFeedback();
  }

  /**
   * Come into sight and take the focus, where this control takes the place of another.
   *
   * @param {HTMLElement} first
   */
  arrive(first) {
    requestAnimationFrame(() => {
      this.root.scrollIntoView({ block: "start" });
      first.focus({ preventScroll: true });
    });
  }

  /** @param {boolean} group */
  question(group) {
    const label = element(group ? "legend" : "label", { class: "tpiece-label" });
    if (!group) label.setAttribute("for", this.id);
    label.textContent = this.model.get("label");
    return label;
  }

  help() {
    const text = this.model.get("help");
    if (!text) return [];
    if (this.root.matches("fieldset")) this.root.setAttribute("aria-describedby", `${this.id}-h`);
    return [element("p", { class: "tpiece-help", id: `${this.id}-h` }, text)];
  }

  // The picture a question is answered from.
  figure() {
    const figure = this.model.get("figure");
    if (!figure?.kind || !this.showFigure) return [];
    this.shown = this.showFigure(figure, this.words);
    return [this.shown.root];
  }

  line() {
    const line = element("div", { class: "tpiece-line" }, this.status, this.again);
    if (this.model.get("can_check")) {
      line.append(button(this.words.check, () => this.saver?.check()));
    }
    return line;
  }

  showFeedback() {
    const { heading, lines = [] } = this.model.get("feedback") ?? {};
    this.feedback.replaceChildren();
    if (!heading && !lines.length) return;
    const list = element("ul");
    for (const { met, says, source } of lines) {
      const mark = met ? `✓ ${this.words.met} ` : `▲ ${this.words.notMet} `;
      const item = element("li", {}, element("strong", {}, mark), says);
      if (source) item.append(element("small", {}, source));
      list.append(item);
    }
    if (heading) this.feedback.append(element("p", { class: "tpiece-heading" }, heading));
    this.feedback.append(list);
  }

  /**
   * A sentence that stays the same is not written again: a screen reader would repeat it.
   *
   * @param {string} state
   * @param {Record<string, unknown>} values
   */
  say(state, values = {}) {
    const text = fill(this.words[state], values);
    const refused = state === "refused";
    if (!refused && this.again === document.activeElement) this.status.focus(); // it hides now
    this.again.hidden = !refused;
    this.status.dataset.state = state;
    if (this.said === text) return;
    this.said = text;
    const mark = element("span", { "aria-hidden": "true" }, MARKS[state] ?? "▲");
    this.status.replaceChildren(...(mark.textContent ? [mark, " "] : []), text);
  }

  repeat() {
    this.status.replaceChildren(...[...this.status.childNodes].map((node) => node.cloneNode(true)));
  }

  dispose() {
    this.shown?.dispose?.();
    this.model.off("change:feedback", this.onFeedback);
  }
}
