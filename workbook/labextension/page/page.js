// One open workbook page: its bar above the notebook, its code hidden or shown.
import { homeLink, siteOf } from "./atsite.js";
import { HandIn } from "./handin.js";
import { NewAttempt } from "./attempt.js";
import { Opening } from "./opening.js";
import { wordsIn } from "./words.js";

const HIDE = "tpiece-hide-code";

export class Page {
  constructor(panel, about, lab) {
    this.panel = panel;
    this.isExercise = about.kind === "exercise";
    this.words = wordsIn(about.language);
    this.codeHidden = true;
    this.opening = new Opening(panel, lab, (state) => this.showState(state));
    this.handing = new HandIn(panel, lab, this.words, (text) => this.say(text));
    this.attempts = new NewAttempt(panel, lab, this.words, this.opening, {
      say: (text) => this.say(text),
      practising: (on) => this.showPractice(on),
    });
    this.addBar(lab);
    panel.addClass("tpiece-page");
    speak(panel.content.node, this.words);
    keepAllOfIt(panel.content);
    this.applyCode();
    this.opening.begin();
  }

  // A bar of our own: the notebook's toolbar tucks buttons away when the window is narrow.
  addBar(lab) {
    this.handInButton = button(this.words.handIn, () => this.handIn(), "tpiece-primary");
    this.codeButton = button(this.words.showCode, () => this.toggleCode());
    this.againButton = button(this.words.startAgain, () => this.startAgain());
    this.attemptButton = button(this.words.attempt, () => this.newAttempt());
    this.backButton = button(this.words.backToMine, () => this.attempts.back(), "tpiece-primary");
    this.handInButton.hidden = !this.isExercise;
    this.attemptButton.hidden = !this.isExercise;
    this.backButton.hidden = true;
    this.againButton.hidden = true;
    this.status = element("span", "tpiece-status");
    this.status.setAttribute("role", "status");
    const row = element("div", "tpiece-bar-row");
    const { handInButton, backButton, attemptButton, codeButton, againButton, status } = this;
    row.append(handInButton, backButton, attemptButton, codeButton, againButton, status);
    if (siteOf(lab)) row.append(homeLink(lab, this.words.home));
    const bar = new lab.Widget({ node: element("div", "tpiece-bar") });
    bar.node.setAttribute("role", "group");
    bar.node.setAttribute("aria-label", this.words.bar);
    speak(bar.node, this.words);
    bar.node.append(row);
    this.panel.contentHeader.addWidget(bar);
    keepHeight(bar, row);
  }

  say(text) {
    this.status.textContent = text;
  }

  showState(state) {
    const broken = state === "unprepared" || state === "stopped";
    // Hiding a button that has the focus would drop the focus to the top of the window.
    if (!broken && document.activeElement === this.againButton) this.codeButton.focus();
    this.againButton.hidden = !broken;
    // A kernel that has started afresh knows of no practice.
    if (this.inPractice && state !== "ready" && state !== "renewing") this.showPractice(false);
    const practice = this.inPractice && state === "ready";
    this.say(practice ? this.words.practice : this.words[state]);
    if (state === "ready" && this.isExercise) void this.countAttempts();
  }

  async countAttempts() {
    this.attemptButton.textContent = this.words.attemptIn(await this.attempts.left());
  }

  // While practising, nothing on the page is handed in; the button that had the focus keeps it.
  showPractice(on) {
    const had = this.attemptButton.contains(document.activeElement) || this.inPractice;
    this.inPractice = on;
    this.backButton.hidden = !on;
    this.handInButton.hidden = on || !this.isExercise;
    this.attemptButton.hidden = on || !this.isExercise;
    if (had) (on ? this.backButton : this.attemptButton).focus();
  }

  handIn() {
    return this.canHandIn ? this.handing.start() : undefined;
  }

  get canHandIn() {
    return this.isExercise && !this.inPractice;
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

// A control that is scrolled out of sight must stay alive, or what it shows is lost.
// The mode "contentVisibility" keeps it alive, and JupyterLab 4.6 cannot leave it unharmed.
function keepAllOfIt(notebook) {
  const config = notebook.notebookConfig;
  if (config.windowingMode === "contentVisibility" || config.windowingMode === "none") return;
  notebook.notebookConfig = { ...config, windowingMode: "none" };
}

// A screen reader must know which language it reads out.
function speak(node, words) {
  node.lang = words.language;
  node.dir = words.direction;
}

function element(name, className) {
  const node = document.createElement(name);
  node.className = className;
  return node;
}

function button(label, onClick, more = "") {
  const node = element("button", `tpiece-button ${more}`.trim());
  node.type = "button";
  node.textContent = label;
  node.setAttribute("data-lm-suppress-shortcuts", "true");
  node.addEventListener("click", () => void onClick());
  return node;
}

// JupyterLab gives a bar the height it asks for; a row that wraps must ask again.
function keepHeight(bar, row) {
  const watch = new ResizeObserver(() => {
    bar.node.style.minHeight = `${row.offsetHeight}px`;
    bar.parent?.fit();
  });
  watch.observe(row);
  bar.disposed.connect(() => watch.disconnect());
}
