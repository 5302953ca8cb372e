// The plugin: finds workbook pages among the open notebooks and gives them their commands.
import { rememberInFront, siteOf } from "./atsite.js";
import { laidOut, Page } from "./page.js";
import { inRoom, Room } from "./room.js";
import { wordsIn } from "./words.js";

/** @import { App, Commands, Housed, Lab, Libraries, Palette, Panel, Plugin, Tracker } from "./lab.js" */

const NARROW = 900; // CSS pixels
const HAND_IN = "tpiece:hand-in";
const TOGGLE_CODE = "tpiece:toggle-code";
const START_AGAIN = "tpiece:start-again";
const COMING = "tpiece-coming"; // a page that has no bar yet: its words would move
const ATTEMPT = "tpiece:new-attempt";
let listed = false;

/**
 * @param {Libraries} lab
 * @param {string} here
 * @returns {Plugin[]}
 */
export function makePlugins(lab, here) {
  const room = inRoom(lab) ? new Room(lab) : null;
  return [pagePlugin({ ...lab, room }, here), ...(room ? room.plugins() : [])];
}

/**
 * @param {Housed} lab
 * @param {string} here
 * @returns {Plugin}
 */
function pagePlugin(lab, here) {
  return {
    id: "tpiece-workbook:page",
    description: "Opens workbook pages ready to use, hides their code and hands them in.",
    autoStart: true,
    requires: [lab.INotebookTracker],
    optional: [lab.ICommandPalette],
    /**
     * @param {App} app
     * @param {Tracker} tracker
     * @param {Palette | null} palette
     */
    activate: (app, tracker, palette) => {
      addStyle(`${here}style.css`);
      if (lab.room) addStyle(`${here}room.css`);
      /** @type {Map<Panel | null, Page>} */
      const pages = new Map();
      /** @param {Panel} panel */
      const open = (panel) => void openPage(panel, { ...lab, app, palette }, pages);
      addCommands(app, () => pages.get(tracker.currentWidget));
      tracker.forEach(open);
      tracker.widgetAdded.connect((_, panel) => open(panel));
      if (siteOf(lab)) rememberInFront(tracker);
    },
  };
}

/** @param {string} href */
function addStyle(href) {
  const link = document.createElement("link");
  link.rel = "stylesheet";
  link.href = href;
  document.head.append(link);
}

/**
 * @param {Panel} panel
 * @param {Lab} lab
 * @param {Map<Panel | null, Page>} pages
 */
async function openPage(panel, lab, pages) {
  panel.toggleClass(COMING, Boolean(lab.room));
  await panel.context.ready;
  furnish(panel, lab, pages);
  await laidOut();
  if (!panel.isDisposed) panel.removeClass(COMING);
}

/**
 * @param {Panel} panel
 * @param {Lab} lab
 * @param {Map<Panel | null, Page>} pages
 */
function furnish(panel, lab, pages) {
  const about = panel.isDisposed ? null : panel.model.sharedModel.getMetadata("tpiece");
  if (!about || typeof about !== "object" || pages.has(panel)) return;
  // In a narrow window the list of files would leave the page no room; it opens again by its tab.
  // A site has a page of its own that lists what there is.
  if (window.innerWidth < NARROW || siteOf(lab)) lab.app.shell.collapseLeft?.();
  const page = new Page(panel, about, lab);
  listCommands(lab.palette, page.words.category);
  pages.set(panel, page);
  lab.room?.pages.set(panel.context.path, page);
  panel.disposed.connect(() => {
    pages.delete(panel);
    lab.room?.pages.delete(panel.context.path);
  });
}

/**
 * @param {App} app
 * @param {() => Page | undefined} current
 */
function addCommands(app, current) {
  const withPage = (/** @type {(page: Page) => unknown} */ does) => {
    const page = current();
    return page && does(page);
  };
  /**
   * @param {string} id
   * @param {() => string} label
   * @param {(page: Page) => unknown} does
   * @param {() => boolean} isEnabled
   */
  const add = (id, label, does, isEnabled) =>
    app.commands.addCommand(id, { label, isEnabled, execute: () => withPage(does) });
  const words = () => current()?.words ?? wordsIn();
  const isPage = () => Boolean(current());
  const codeLabel = () => words()[current()?.codeHidden === false ? "hideCode" : "showCode"];
  const canHandIn = () => Boolean(current()?.canHandIn);
  add(HAND_IN, () => words().handIn, (page) => page.handIn(), canHandIn);
  add(TOGGLE_CODE, codeLabel, (page) => page.toggleCode(), isPage);
  add(START_AGAIN, () => words().startAgain, (page) => page.startAgain(), isPage);
  add(ATTEMPT, () => words().attempt, (page) => page.newAttempt(), canHandIn);
  addKey(app.commands);
}

// The palette is filled with the first page: only a page says in which language.
/**
 * @param {Palette | null} palette
 * @param {string} category
 */
function listCommands(palette, category) {
  if (listed) return;
  listed = true;
  const commands = [HAND_IN, ATTEMPT, TOGGLE_CODE, START_AGAIN];
  for (const command of commands) palette?.addItem({ command, category });
}

/** @param {Commands} commands */
function addKey(commands) {
  commands.addKeyBinding({ command: HAND_IN, keys: ["Alt Shift H"], selector: "body" });
  // Controls that keep their keys from JupyterLab keep this one from it too, so listen here.
  document.addEventListener("keydown", (event) => {
    const ours = event.altKey && event.shiftKey && event.code === "KeyH";
    const kept = event.target instanceof Element && event.target.closest("[data-lm-suppress-shortcuts]");
    if (!ours || !kept || !commands.isEnabled(HAND_IN)) return;
    event.preventDefault();
    void commands.execute(HAND_IN);
  }, true);
}
