// Where the hand is: the parts in a row of tabs, and for each what a hand can do there. Touching a
// part in the picture chooses it, too.

import { benchWord } from "./bench_drawing.js";
import { element, focusable } from "./elements.js";

/** @import { Words } from "./types.js" */

// Which of the moves stand at which place, by the part a move names. What is always within reach of a
// hand at the baby stands in no tab.
/** @type {{ id: string, parts: string[], dials?: string[] }[]} */
const TRIAL_TABS = [
  { id: "supply", parts: ["supply", "blender"] },
  { id: "meter", parts: ["flow-meter"], dials: ["flow"] },
  { id: "box", parts: ["box"], dials: ["pip", "relief"] },
  { id: "hose", parts: ["hose"] },
  { id: "tee", parts: ["t"], dials: ["peep"] },
  { id: "mask", parts: ["mask", "head", "hand"] },
];
/** @type {Record<string, number>} */
const TRIAL_WAYS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/**
 * @typedef {{ id: string, text: string, node: Element }} Panel
 * @typedef {{ id: string, text: string, part: string, does: string, seconds: number }} Move
 */
export class TrialTabs {
  // `panels` is [{id, text, node}, ...]; `chosen(id)` is told where the hand goes.
  /**
   * @param {string} label
   * @param {Panel[]} panels
   * @param {(id: string) => void} chosen
   */
  constructor(label, panels, chosen) {
    this.panels = panels;
    this.chosen = chosen;
    /** @type {string | null} */
    this.at = null;
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

  /** @param {KeyboardEvent} event */
  step(event) {
    const count = this.tabs.length;
    const now = this.tabs.findIndex(({ id }) => id === this.at);
    /** @type {Record<string, number>} */
    const ends = { Home: 0, End: count - 1 };
    const to = ends[event.key] ?? (event.key in TRIAL_WAYS ? (now + TRIAL_WAYS[event.key] + count) % count : null);
    if (to === null) return;
    event.preventDefault();
    this.choose(this.tabs[to].id);
    this.tabs[to].tab.focus();
  }

  /** @param {string} id */
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
/**
 * @param {Words} words
 * @param {Move[]} moves
 * @param {(move: Move) => Element} make
 * @param {Record<string, { root: Element }>} dials
 * @returns {Panel[]}
 */
export function trialPanels(words, moves, make, dials) {
  /** @type {Panel[]} */
  const panels = [];
  for (const { id, parts, dials: own = [] } of TRIAL_TABS) {
    const here = moves.filter(({ part, does }) => parts.includes(part) && !["outlet", "dial"].includes(does));
    const turned = own.filter((name) => dials[name]).map((name) => dials[name].root);
    if (!here.length && !turned.length) continue;
    const keys = element("div", { class: "tpiece-trial-keys" }, ...here.map(make));
    const rows = turned.length ? [element("div", { class: "tpiece-trial-dials" }, ...turned)] : [];
    panels.push({ id, text: benchWord(words, `trialAt_${id}`), node: element("div", {}, ...rows, keys) });
  }
  return panels;
}
