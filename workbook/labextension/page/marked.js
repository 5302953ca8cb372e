// The result in the exercise itself: where the learner stands above the page, and below each
// question what was found there.
import { element } from "./build.js";
import { questionOf } from "./found.js";
import { askResult, noteOn, placesOf, resultPath, standingOf } from "./result.js";

/** @import { Libraries, Panel, Question, Told, Trouble, Words } from "./lab.js" */

const WAIT_MS = 30_000; // how long a question may take to be there after its page opened
const LOOK_MS = 150;

export class Marked {
  /**
   * @param {Panel} panel
   * @param {import("./room.js").Room} room
   * @param {Libraries} lab
   * @param {Words} words
   */
  constructor(panel, room, lab, words) {
    this.panel = panel;
    this.room = room;
    this.lab = lab;
    this.words = words;
    /** @type {string | undefined} */
    this.shown = undefined;
    this.unit = panel.context.localPath.split("/").at(-2) ?? "";
    this.top = element("aside", "tpiece-marked-top");
    this.top.hidden = true;
    /** @type {HTMLElement[]} */
    this.below = [];
    Object.assign(this.top, { lang: words.language, dir: words.direction });
    keepFocus(this.top);
    panel.content.outerNode.prepend(this.top);
  }

  async renew() {
    /** @type {Told | Trouble | null} */
    let told = null;
    try {
      told = await askResult(this.lab, this.unit);
    } catch (error) {
      console.warn(error); // the page works without it
    }
    if (this.panel.isDisposed || !this.isNew(told)) return;
    for (const each of this.below.splice(0)) each.remove();
    this.top.hidden = !told || "trouble" in told;
    if (!told || "trouble" in told) return;
    this.showTop(told);
    if (told.attempt_now === told.attempt) told.questions.forEach((each) => this.showBelow(each, told));
  }

  // What is there stays as a learner opened and closed it, unless another result came.
  /** @param {Told | Trouble | null} told */
  isNew(told) {
    const there = this.below.every((each) => each.isConnected);
    const text = JSON.stringify(told);
    const same = there && this.shown === text;
    this.shown = text;
    return !same;
  }

  /** @param {Told} told */
  showTop(told) {
    const { result } = this.words;
    const link = this.room.link(resultPath(this.unit), result.see, "tpiece-button");
    this.top.setAttribute("aria-label", result.yours);
    this.top.replaceChildren(
      element("p", "tpiece-stands", standingOf(told, this.words), result.points(told.earned, told.possible)),
      element("p", "", told.says, ` ${noteOn(told, this.words)}`.trimEnd()),
      element("p", "", link));
  }

  /**
   * @param {Question} question
   * @param {Told} told
   */
  showBelow(question, told) {
    const cell = this.cellOf(question.id);
    if (!cell) return;
    const { result } = this.words;
    const missed = question.found.some(({ met }) => !met);
    const head = element("summary", "", missed ? "○ " : "✓ ", result.here,
      " ", result.points(question.earned, question.possible));
    const node = element("details", "tpiece-marked", head, ...questionOf(question, this.words, {
      go: told.same ? (at) => this.seek(question.id, at) : null,
      run: told.runs[question.id],
      places: (read) => placesOf(read, this.room, this.words),
      plain: true,
    }));
    node.open = missed;
    Object.assign(node, { lang: this.words.language, dir: this.words.direction });
    keepFocus(node);
    cell.node.append(node);
    this.below.push(node);
  }

  /** @param {string} question */
  cellOf(question) {
    const asks = `unit.ask("${question}")`;
    return this.panel.content.widgets.find((cell) =>
      cell.model.type === "code" && cell.model.sharedModel.getSource().includes(asks));
  }

  /** @param {string} question */
  controlOf(question) {
    return /** @type {HTMLElement | null | undefined} */ (this.cellOf(question)?.node.querySelector(".tpiece"));
  }

  // Shows a question; with a second, the run at the bench then.
  /**
   * @param {string} question
   * @param {number} [at]
   */
  async toQuestion(question, at) {
    const control = await this.there(question);
    if (!control) return;
    control.scrollIntoView({ block: "start" });
    if (at === undefined) {
      control.tabIndex = -1;
      control.focus({ preventScroll: true });
    } else {
      this.seek(question, at);
    }
  }

  /**
   * @param {string} question
   * @param {number} at
   */
  seek(question, at) {
    this.controlOf(question)?.dispatchEvent(new CustomEvent("tpiece-seek", { detail: at }));
  }

  /** @param {string} question */
  async there(question) {
    const end = performance.now() + WAIT_MS;
    while (performance.now() < end && !this.panel.isDisposed) {
      const control = this.controlOf(question);
      if (control && !this.panel.hasClass("tpiece-opening")) return control;
      await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
    }
    return null;
  }
}

// What happens outside a cell's own parts would make the notebook take the focus to the cell.
/** @param {HTMLElement} node */
function keepFocus(node) {
  for (const each of ["keydown", "focusin", "focusout", "mousedown", "click"])
    node.addEventListener(each, (event) => event.stopPropagation());
}
