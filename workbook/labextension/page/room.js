// The learner's room: one page at a time, its address, and what takes the place of parts of
// JupyterLab that the server leaves out here (workbook/room/parts.toml).
import { Connection } from "./connection.js";
import { Home } from "./home.js";
import { lock } from "./lock.js";
import { isResult, Result, resultPath } from "./result.js";
import { Waiting } from "./waiting.js";

/** @import { App, Libraries, Panel, Plugin, Shell, Shown, Tracker } from "./lab.js" */

const NOTHING = {
  fresh: true, mainArea: null, downArea: null, leftArea: null, rightArea: null, topArea: null,
  relativeSizes: null,
};
const NO_KEYS = new Set(["KeyS", "KeyO", "KeyP"]); // the browser's own: save, open and print a page

// Says whether this page is the learner's room; the server decides.
/** @param {Libraries} lab */
export function inRoom(lab) {
  return lab.PageConfig?.getOption("tpieceRoom") === "yes";
}

export class Room {
  /** @type {App} */
  app;
  /** @type {Shell} */
  shell;
  /** @type {Tracker} */
  tracker;
  /** @type {{ autosave: boolean }} */
  manager;
  /** @type {Connection} */
  connection;

  /** @param {Libraries} lab */
  constructor(lab) {
    this.lab = lab;
    this.home = new Home(this, lab);
    /** @type {Map<string, Result>} */
    this.results = new Map();
    /** @type {Map<string, import("./page.js").Page>} */
    this.pages = new Map(); // those that are open, by path
    this.waiting = new Waiting(lab, {
      came: (unit) => this.came(unit),
      over: (unit) => this.handingOf(unit)?.waitedLong(),
    });
  }

  /** @returns {Plugin[]} */
  plugins() {
    const instead = [layout, windows, connectionLost, dialogs].map((make) => make(this.lab));
    return [...instead, this.plugin()];
  }

  /** @returns {Plugin} */
  plugin() {
    const { lab } = this;
    return {
      id: "tpiece-workbook:room",
      description: "Shows a learner one page at a time, each at an address of its own.",
      autoStart: true,
      requires: [lab.ILabShell, lab.INotebookTracker, lab.IDocumentManager],
      /**
       * @param {App} app
       * @param {Shell} shell
       * @param {Tracker} tracker
       * @param {{ autosave: boolean }} manager
       */
      activate: (app, shell, tracker, manager) => {
        Object.assign(this, { app, shell, tracker, manager });
        document.body.classList.add("tpiece-room");
        keepKeys();
        this.keepHistory();
        this.connection = new Connection(this, lab);
        tracker.widgetAdded.connect((_, panel) => {
          void lock(panel);
          this.connection.follow(panel);
        });
        void app.restored.then(() => this.open());
      },
    };
  }

  // --- what is in front, and its address

  async open() {
    this.manager.autosave = false; // what matters is in the answers file
    bare(this.shell);
    history.replaceState({ room: this.path }, "", this.addressOf(this.path)); // the key leaves it
    this.shell.add(this.home.widget, "main", { activate: false });
    if (this.path) void this.home.renew();
    await this.show(this.path, false);
    this.shell.currentChanged.connect((_, { newValue }) => this.followed(newValue));
  }

  // JupyterLab writes addresses by itself, Back included: only ours may pass.
  keepHistory() {
    for (const name of /** @type {const} */ (["pushState", "replaceState"])) {
      const real = history[name].bind(history);
      history[name] = (/** @type {{ room?: string } | null} */ state, /** @type {string} */ title, /** @type {string} */ url) => {
        if (state?.room !== undefined) real(state, title, url);
      };
    }
    addEventListener("popstate", (event) => {
      event.stopImmediatePropagation();
      void this.show(this.path, false);
    }, true);
  }

  get path() {
    const found = decodeURIComponent(location.pathname).match(/\/doc(?:\/workspaces\/[^/]+)?\/tree\/(.*)$/);
    return found ? found[1] : "";
  }

  /** @param {string} path */
  addressOf(path) {
    const { URLExt, PageConfig } = this.lab;
    const tree = path ? URLExt.join("tree", URLExt.encodeParts(path)) : "";
    return URLExt.join(PageConfig.getBaseUrl(), "doc", tree);
  }

  /** @param {string} path */
  async show(path, push = true) {
    if (push) this.push(path);
    if (!path) return this.showHome();
    if (isResult(path)) return this.showResult(path);
    const panel = await this.app.commands.execute("docmanager:open", { path, factory: "Notebook" });
    return panel ? this.named(/** @type {Panel} */ (panel)) : undefined;
  }

  async showHome() {
    this.shell.activateById(this.home.widget.id);
    await this.home.renew();
    document.title = this.home.title;
  }

  // What came back is a page of its own.
  /** @param {string} path */
  async showResult(path) {
    if (!this.home.told) await this.home.renew(); // it names the lessons
    const result = this.results.get(path) ?? new Result(this, this.lab, path);
    if (!this.results.has(path)) {
      this.results.set(path, result);
      this.shell.add(result.widget, "main");
    }
    await result.renew();
    this.shell.activateById(result.widget.id);
    result.widget.node.scrollTop = 0;
    document.title = `${result.title} · ${this.home.title}`;
  }

  // The result of a unit is there: it is shown wherever it belongs, and by itself to who waits.
  /** @param {string} unit */
  async came(unit) {
    const page = this.pages.get(pageOf(unit));
    if (this.home.widget.isVisible) await this.home.renew();
    await page?.marked?.renew();
    await this.results.get(resultPath(unit))?.renew();
    await page?.handing.cameBack();
  }

  /** @param {string} unit */
  handingOf(unit) {
    return this.pages.get(pageOf(unit))?.handing;
  }

  // Goes to a question of an exercise; with a second, to its run at the bench then.
  /**
   * @param {string} unit
   * @param {string} question
   * @param {number} [at]
   */
  async toQuestion(unit, question, at) {
    const path = pageOf(unit);
    await this.show(path);
    await this.pages.get(path)?.marked?.toQuestion(question, at);
  }

  // Names, not names of files: for the window and for a screen reader.
  /** @param {Panel} panel */
  async named(panel) {
    await panel.context.ready;
    const heading = headingOf(panel);
    panel.node.setAttribute("aria-label", heading || this.home.title);
    document.title = [heading, this.home.title].filter(Boolean).join(" · ");
  }

  // Returns a link to a page of the course, or with no path to its home.
  /**
   * @param {string} path
   * @param {string} label
   */
  link(path, label, className = "") {
    const link = document.createElement("a");
    link.href = this.addressOf(path);
    link.textContent = label;
    link.className = className;
    link.setAttribute("data-lm-suppress-shortcuts", "true");
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) return; // a window of its own
      event.preventDefault();
      void this.show(path);
    });
    return link;
  }

  /** @param {string} path */
  push(path) {
    if (path !== this.path) history.pushState({ room: path }, "", this.addressOf(path));
  }

  // A link on a page opens another page by JupyterLab's own means: the address follows.
  /** @param {Shown | null} widget */
  followed(widget) {
    const path = widget === this.home.widget ? "" : widget?.context?.path;
    if (path === undefined) return;
    this.push(path);
    if (path && !this.results.has(path)) void this.named(/** @type {Panel} */ (widget));
    void this.pages.get(path)?.marked?.renew();
    this.waiting.again();
  }
}

/** @param {string} unit */
function pageOf(unit) {
  return `${unit}/${unit}.ipynb`;
}

/** @param {Panel} panel */
function headingOf(panel) {
  const texts = panel.model.sharedModel.cells.map((cell) => cell.getSource());
  return texts.join("\n").match(/^# (.+)$/m)?.[1].trim() ?? "";
}

// JupyterLab's own restores yesterday's arrangement, and without any nothing opens.
/**
 * @param {Libraries} lab
 * @returns {Plugin}
 */
function layout(lab) {
  return {
    id: "tpiece-workbook:layout",
    description: "Restores no arrangement and keeps none.",
    autoStart: true,
    requires: [lab.ILabShell],
    /**
     * @param {App} app
     * @param {Shell} shell
     */
    activate: (app, shell) => {
      const keeper = { fetch: async () => NOTHING, save: async () => {} };
      void app.started.then(() => shell.restoreLayout("single-document", keeper, {}));
    },
  };
}

// JupyterLab's own sends a second window to another address.
/**
 * @param {Libraries} lab
 * @returns {Plugin}
 */
function windows(lab) {
  return {
    id: "tpiece-workbook:windows",
    description: "Lets every window of a page have the page's one address.",
    autoStart: true,
    provides: lab.IWindowResolver,
    activate: () => {
      // Without a name of its own, a window would take fright at a workshop opened beside it.
      void new lab.WindowResolver().resolve(`room-${Math.random()}`);
      return { name: "room" };
    },
  };
}

/**
 * @param {Libraries} lab
 * @returns {Plugin}
 */
function connectionLost(lab) {
  return {
    id: "tpiece-workbook:connection-lost",
    description: "Leaves it to the page to say that nothing replies.",
    autoStart: true,
    provides: lab.IConnectionLost,
    activate: () => async () => void document.dispatchEvent(new Event("tpiece-no-reply")),
  };
}

// Nothing on a page is ever unsaved, so closing one asks nothing.
/**
 * @param {Libraries} lab
 * @returns {Plugin}
 */
function dialogs(lab) {
  return {
    id: "tpiece-workbook:dialogs",
    description: "Never asks whether to save a page.",
    autoStart: true,
    provides: lab.IDocumentManagerDialogs,
    activate: () => ({
      confirmClose: async () => ({ shouldClose: true, ignoreSave: true, doNotAskAgain: false }),
      saveBeforeClose: async () => ({ shouldClose: true, ignoreSave: true }),
      rename: async () => null,
    }),
  };
}

// The shell without what is around a page.
/** @param {Shell} shell */
function bare(shell) {
  shell.mode = "single-document";
  shell.collapseLeft();
  shell.collapseRight();
  const around = new Set(["jp-top-panel", "jp-menu-panel", "jp-bottom-panel", "jp-skiplink"]);
  for (const part of shell.layout) if (around.has(part.id)) part.hide();
}

function keepKeys() {
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && !event.altKey && NO_KEYS.has(event.code))
      event.preventDefault();
  }, true);
}
