// One open workbook page: its bar above the notebook, its code hidden or shown.
import { homeLink, siteOf } from "./atsite.js";
import { HandIn } from "./handin.js";
import { Marked } from "./marked.js";
import { NewAttempt } from "./attempt.js";
import { Opening } from "./opening.js";
import { watchOthers } from "./windows.js";
import { wordsIn } from "./words.js";

/** @import { Lab, Notebook, Panel, Widget, Words } from "./lab.js" */

const HIDE = "tpiece-hide-code";
const OPENING = "tpiece-opening";
const LONG = 30; // characters; what is longer has a row of its own on a telephone
const DRAWN_MS = 5000; // how long a page waits for its controls to be drawn
const LOOK_MS = 30;
const WIDGET = ".jp-OutputArea-output.lm-Panel"; // an output that a widget draws itself into
const DRAWN = ".tpiece, [data-tpiece-later]"; // that it has, or will once something is asked of it
const UNDER_WAY = new Set(["preparing", "renewing", "restarting"]);

/** @typedef {{ kind?: string, language?: string }} About what a page says of itself */
export class Page {
  /** @type {HTMLButtonElement} */
  handInButton;
  /** @type {HTMLButtonElement} */
  codeButton;
  /** @type {HTMLButtonElement} */
  againButton;
  /** @type {HTMLButtonElement} */
  attemptButton;
  /** @type {HTMLButtonElement} */
  backButton;
  /** @type {HTMLButtonElement} */
  hereButton;
  /** @type {HTMLButtonElement} */
  endButton;
  /** @type {HTMLElement} */
  status;
  /** @type {boolean} */
  aside;
  /** @type {boolean} */
  under;
  /** @type {boolean} */
  inPractice;
  /** @type {import("./opening.js").State} */
  state;

  /**
   * @param {Panel} panel
   * @param {About} about
   * @param {Lab} lab
   */
  constructor(panel, about, lab) {
    this.panel = panel;
    this.room = lab.room;
    this.isExercise = about.kind === "exercise";
    this.words = wordsIn(about.language);
    this.codeHidden = true;
    this.opening = new Opening(panel, lab, (state) => this.showState(state));
    this.handing = new HandIn(panel, lab, this.words, (text) => this.say(text));
    this.attempts = new NewAttempt(panel, lab, this.words, this.opening, {
      say: (/** @type {string} */ text) => this.say(text),
      practising: (on) => this.showPractice(on),
    });
    this.handing.onAgain = () => this.newAttempt();
    this.marked = lab.room && this.isExercise ? new Marked(panel, lab.room, lab, this.words) : null;
    this.addBar(lab);
    this.addEnd();
    panel.addClass("tpiece-page");
    panel.toggleClass(OPENING, Boolean(this.room)); // questions appear with their headings
    speak(panel.content.node, this.words);
    keepAllOfIt(panel.content);
    this.applyCode();
    watchOthers(panel, () => this.standAside(true));
    this.opening.begin();
  }

  // A bar of our own: the notebook's toolbar tucks buttons away when the window is narrow.
  /** @param {Lab} lab */
  addBar(lab) {
    this.handInButton = button(this.words.handIn, () => this.handIn(), "tpiece-primary");
    this.codeButton = button(this.words.showCode, () => this.toggleCode());
    this.againButton = button(this.words.startAgain, () => this.startAgain());
    this.attemptButton = button(this.words.attempt, () => this.newAttempt());
    this.backButton = button(this.words.backToMine, () => this.attempts.back(), "tpiece-primary");
    this.handInButton.hidden = !this.isExercise;
    this.attemptButton.hidden = !this.isExercise;
    this.hereButton = button(this.words.goOnHere, () => this.goOnHere(), "tpiece-primary");
    this.backButton.hidden = true;
    this.hereButton.hidden = true;
    this.againButton.hidden = true;
    this.codeButton.hidden = Boolean(lab.room); // no page is edited there
    this.status = element("span", "tpiece-status");
    this.status.setAttribute("role", "status");
    this.status.tabIndex = -1;
    const row = element("div", "tpiece-bar-row");
    const { handInButton, backButton, attemptButton, codeButton, againButton, status } = this;
    if (this.room) row.append(this.room.link("", this.words.home, "tpiece-home"));
    row.append(this.hereButton, handInButton, backButton, attemptButton, codeButton, againButton, status);
    if (siteOf(lab)) row.append(homeLink(lab, this.words.home));
    const bar = new lab.Widget({ node: element("div", "tpiece-bar") });
    bar.node.setAttribute("role", "group");
    bar.node.setAttribute("aria-label", this.words.bar);
    speak(bar.node, this.words);
    bar.node.append(row);
    this.panel.contentHeader.addWidget(bar);
    keepHeight(bar, row);
  }

  // Whoever has answered the last question hands in there, without the way back to the top.
  addEnd() {
    this.endButton = button(this.words.handIn, () => this.handIn(), "tpiece-primary");
    this.endButton.hidden = !this.isExercise;
    const end = element("div", "tpiece-end");
    speak(end, this.words);
    end.append(this.endButton);
    void this.room?.home.loaded.then(() => end.append(...this.waysOn()));
    // What happens outside a cell would make the notebook take the focus to one.
    for (const each of ["keydown", "focusin", "focusout"])
      end.addEventListener(each, (event) => event.stopPropagation());
    this.panel.content.outerNode.append(end);
  }

  // Where to go from the end of a page: on to the exercise, or back to the course.
  waysOn() {
    const { room } = this;
    if (!room) return [];
    const next = room.home.after(this.panel.context.path);
    const on = next ? [room.link(next.path, next.title, "tpiece-button tpiece-primary")] : [];
    return [...on, room.link("", this.words.home, "tpiece-home")];
  }

  /** @param {string} text */
  say(text) {
    this.status.textContent = text;
    this.status.classList.toggle("tpiece-long", text.length > LONG);
  }

  // The older of two windows shows what it last showed, and takes no answer.
  /** @param {boolean} on */
  standAside(on) {
    this.aside = on;
    this.opening.held = on;
    this.panel.content.node.inert = on;
    this.hereButton.hidden = !on;
    for (const each of [this.handInButton, this.attemptButton, this.endButton])
      each.hidden = on || this.inPractice || !this.isExercise;
    if (on) this.say(this.words.aside);
  }

  goOnHere() {
    this.standAside(false);
    this.status.focus();
    return this.opening.takeOver();
  }

  /** @param {import("./opening.js").State} state */
  showState(state) {
    if (this.aside) return;
    this.state = state;
    this.under = UNDER_WAY.has(state);
    const coming = state === "ready" && this.panel.hasClass(OPENING);
    if (!this.under) void this.reveal(coming);
    const broken = state === "unprepared" || state === "stopped";
    // Hiding a button that has the focus would drop the focus to the top of the window.
    if (!broken && document.activeElement === this.againButton) this.lastButton.focus();
    this.againButton.hidden = !broken;
    // A kernel that has started afresh knows of no practice.
    if (this.inPractice && state !== "ready" && state !== "renewing") this.showPractice(false);
    if (!coming) this.sayState();
    if (state === "ready" && this.isExercise) void this.countAttempts();
    if (state === "ready") void this.marked?.renew();
  }

  sayState() {
    const practice = this.inPractice && this.state === "ready";
    this.say(practice ? this.words.practice : this.words[this.state]);
  }

  // A page that has run is shown once its controls are drawn: none pushes down what is being read.
  // It is `ready` no sooner.
  /** @param {boolean} ready */
  async reveal(ready) {
    const latest = performance.now() + DRAWN_MS;
    while (undrawn(this.panel.node) && performance.now() < latest) {
      await new Promise((next) => setTimeout(next, LOOK_MS));
    }
    await laidOut();
    if (this.under) return;
    this.panel.removeClass(OPENING);
    if (ready && this.state === "ready" && !this.aside) this.sayState();
  }

  async countAttempts() {
    this.attemptButton.textContent = this.words.attemptIn(await this.attempts.left());
  }

  // While practising, nothing on the page is handed in; the button that had the focus keeps it.
  /** @param {boolean} on */
  showPractice(on) {
    const had = this.attemptButton.contains(document.activeElement) || this.inPractice;
    this.inPractice = on;
    this.backButton.hidden = !on;
    for (const each of [this.handInButton, this.attemptButton, this.endButton])
      each.hidden = on || !this.isExercise;
    if (had) (on ? this.backButton : this.attemptButton).focus();
  }

  // The button nearest to the one that goes; in a lesson the status alone is left.
  get lastButton() {
    const row = /** @type {HTMLElement} */ (this.status.parentElement);
    /** @type {NodeListOf<HTMLElement>} */
    const shown = row.querySelectorAll("button, a");
    return [...shown].findLast((each) => !each.hidden && each !== this.againButton) ?? this.status;
  }

  handIn() {
    return this.canHandIn ? this.handing.start() : undefined;
  }

  get canHandIn() {
    return this.isExercise && !this.inPractice && !this.aside;
  }

  newAttempt() {
    return this.canHandIn ? this.attempts.start() : undefined;
  }

  startAgain() {
    return this.opening.again();
  }

  toggleCode() {
    this.codeHidden = !this.codeHidden;
    this.applyCode();
  }

  applyCode() {
    this.panel.toggleClass(HIDE, this.codeHidden);
    this.panel.toolbar.setHidden(this.codeHidden);
    this.codeButton.textContent = this.codeHidden ? this.words.showCode : this.words.hideCode;
  }
}

// A control that is drawn may still find its size: by the second frame it has.
export function laidOut() {
  return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
}

// Whether a control of a page that has run is still to be drawn.
/** @param {HTMLElement} node */
function undrawn(node) {
  return [...node.querySelectorAll(WIDGET)].some((one) => !one.querySelector(DRAWN));
}

// A control that is scrolled out of sight must stay alive, or what it shows is lost.
// The mode "contentVisibility" keeps it alive, and JupyterLab 4.6 cannot leave it unharmed.
/** @param {Notebook} notebook */
function keepAllOfIt(notebook) {
  const config = notebook.notebookConfig;
  if (config.windowingMode === "contentVisibility" || config.windowingMode === "none") return;
  notebook.notebookConfig = { ...config, windowingMode: "none" };
}

// A screen reader must know which language it reads out.
/**
 * @param {HTMLElement} node
 * @param {Words} words
 */
function speak(node, words) {
  node.lang = words.language;
  node.dir = words.direction;
}

/**
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {string} className
 * @returns {HTMLElementTagNameMap[Name]}
 */
function element(name, className) {
  const node = document.createElement(name);
  node.className = className;
  return node;
}

/**
 * @param {string} label
 * @param {() => unknown} onClick
 */
function button(label, onClick, more = "") {
  const node = element("button", `tpiece-button ${more}`.trim());
  node.type = "button";
  node.textContent = label;
  node.setAttribute("data-lm-suppress-shortcuts", "true");
  node.addEventListener("click", () => void onClick());
  return node;
}

// JupyterLab gives a bar the height it asks for; a row that wraps must ask again.
/**
 * @param {Widget} bar
 * @param {HTMLElement} row
 */
function keepHeight(bar, row) {
  const watch = new ResizeObserver(() => {
    bar.node.style.minHeight = `${row.offsetHeight}px`;
    bar.parent?.fit();
  });
  watch.observe(row);
  bar.disposed.connect(() => watch.disconnect());
}
