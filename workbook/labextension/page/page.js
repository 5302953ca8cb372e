// One open workbook page: its bar above the notebook, its code hidden or shown.
import { homeLink, siteOf } from "./atsite.js";
import { HandIn } from "./handin.js";
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
    this.handInButton.hidden = !this.isExercise;
    this.againButton.hidden = true;
    this.status = element("span", "tpiece-status");
    this.status.setAttribute("role", "status");
    const row = element("div", "tpiece-bar-row");
    row.append(this.handInButton, this.codeButton, this.againButton, this.status);
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
    this.say(this.words[state]);
  }

  handIn() {
    return this.isExercise ? this.handing.start() : undefined;
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
