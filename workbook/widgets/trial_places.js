// @ts-nocheck
// Where the hand is: the parts in a row of tabs, and for each what a hand can do there. Touching a
// part in the picture chooses it, too.

import { benchWord } from "./bench_drawing.js";
import { element, focusable } from "./elements.js";

// Which of the moves stand at which place, by the part a move names. What is always within reach of a
// hand at the baby stands in no tab.
const TRIAL_TABS = [
  { id: "supply", parts: ["supply", "blender"] },
  { id: "meter", parts: ["flow-meter"], dials: ["flow"] },
  { id: "box", parts: ["box"], dials: ["pip", "relief"] },
  { id: "hose", parts: ["hose"] },
  { id: "tee", parts: ["t"], dials: ["peep"] },
  { id: "mask", parts: ["mask", "head", "hand"] },
];
const TRIAL_WAYS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

export class TrialTabs {
  // `panels` is [{id, text, node}, ...]; `chosen(id)` is told where the hand goes.
  constructor(label, panels, chosen) {
    Object.assign(this, { panels, chosen, at: null });
    const name = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.label = element("p", { class: "tpiece-trial-ring", id: `${name}-l` }, label);
    this.row = element("div", { role: "tablist", class: "tpiece-trial-tabs", "aria-labelledby": this.label.id });
    this.tray = element("div", { class: "tpiece-trial-tray" });
    this.tabs = panels.map(({ id, text, node }) => {
      const tab = focusable("button", { type: "button", role: "tab", class: "tpiece-trial-tab", id: `${name}-${id}`, "data-tab": id }, text);
      const panel = element("div", { role: "tabpanel", class: "tpiece-trial-panel", id: `${name}-${id}-p` }, node);
      tab.setAttribute("aria-controls", panel.id);
      panel.setAttribute("aria-labelledby", tab.id);
      tab.addEventListener("click", () => this.choose(id));
      tab.addEventListener("keydown", (event) => this.step(event));
      this.row.append(tab);
      this.tray.append(panel);
      return { id, tab, panel };
    });
    this.choose(panels[0].id);
  }

  step(event) {
    const count = this.tabs.length;
    const now = this.tabs.findIndex(({ id }) => id === this.at);
    const ends = { Home: 0, End: count - 1 };
    const to = ends[event.key] ?? (event.key in TRIAL_WAYS ? (now + TRIAL_WAYS[event.key] + count) % count : null);
    if (to === null) return;
    event.preventDefault();
    this.choose(this.tabs[to].id);
    this.tabs[to].tab.focus();
  }

  choose(id) {
    if (id === this.at) return;
    this.at = id;
    for (const { id: each, tab, panel } of this.tabs) {
      const here = each === id;
      tab.setAttribute("aria-selected", String(here));
      tab.tabIndex = here ? 0 : -1;
      panel.hidden = !here;
    }
    this.chosen(id);
  }
}

// The panels of the parts; `make(move)` returns a move's button, `dials` are by their names.
export function trialPanels(words, moves, make, dials) {
  return TRIAL_TABS.map(({ id, parts, dials: own = [] }) => {
    const here = moves.filter(({ part, does }) => parts.includes(part) && !["outlet", "dial"].includes(does));
    const turned = own.filter((name) => dials[name]).map((name) => dials[name].root);
    if (!here.length && !turned.length) return null;
    const keys = element("div", { class: "tpiece-trial-keys" }, ...here.map(make));
    const rows = turned.length ? [element("div", { class: "tpiece-trial-dials" }, ...turned)] : [];
    return { id, text: benchWord(words, `trialAt_${id}`), node: element("div", {}, ...rows, keys) };
  }).filter(Boolean);
}
