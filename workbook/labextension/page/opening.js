// Runs a page when it opens, and again when its kernel has started afresh.

/** @import { KernelChange, Lab, NotebookModel, Panel } from "./lab.js" */

/** @typedef {"preparing" | "renewing" | "restarting" | "ready" | "unprepared" | "stopped"} State */
const SETTLE_MS = 300; // JupyterLab's own "restart and run all" begins within this time
/** @type {WeakSet<object>} */
const followed = new WeakSet(); // documents; two views of one document run it once

export class Opening {
  /**
   * @param {Panel} panel
   * @param {Lab} lab
   * @param {(state: State) => void} tell
   */
  constructor(panel, lab, tell) {
    this.panel = panel;
    this.session = panel.sessionContext;
    this.actions = lab.NotebookActions;
    this.tell = tell;
    this.due = true;
    this.held = false; // another window runs the page
    this.checking = false;
    this.runByOthers = false;
    this.before = { dirty: false, text: "" };
    /** @type {string | null} */
    this.process = null; // the kernel's own word for the process that last ran this page
  }

  begin() {
    if (followed.has(this.panel.context)) {
      this.tell("ready");
      return;
    }
    followed.add(this.panel.context);
    this.remember(false);
    this.tell("preparing");
    this.session.statusChanged.connect((_, status) => this.onStatus(status));
    this.session.kernelChanged.connect((_, change) => this.onKernel(change));
    /**
     * @param {unknown} _
     * @param {{ notebook: unknown }} scheduled
     */
    const noticed = (_, { notebook }) => {
      if (notebook === this.panel.content) this.runByOthers = true;
    };
    this.actions.executionScheduled.connect(noticed);
    const cameBack = () => void this.lookForRestart();
    addEventListener("focus", cameBack);
    this.panel.disposed.connect(() => {
      this.actions.executionScheduled.disconnect(noticed);
      removeEventListener("focus", cameBack);
    });
    void this.session.ready.then(() => (this.kernel ? this.check() : this.tell("stopped")));
  }

  get kernel() {
    return this.session.session?.kernel ?? null;
  }

  async again() {
    this.becomeDue();
    try {
      await this.start();
    } catch {
      // JupyterLab has not heard yet that the server let the page go: let it ask, then try anew.
      await this.session.sessionManager.refreshRunning();
      await this.start();
    }
  }

  async start() {
    if (this.alive) return this.session.restartKernel();
    const name = this.session.prevKernelName || this.session.kernelPreference.name;
    return this.session.changeKernel({ name });
  }

  // Whether the kernel is there to run the page.
  get alive() {
    return Boolean(this.kernel && this.kernel.status !== "dead");
  }

  // Runs the page here after another window ran it; once, though the kernel is new to this one.
  takeOver() {
    this.held = false;
    if (!this.alive) return this.again();
    if (!this.due) return this.renew();
    this.tell("preparing");
    return this.check();
  }

  // Runs the page again in the kernel it has.
  renew() {
    this.remember(this.panel.model.dirty);
    this.tell("renewing");
    return this.run();
  }

  /** @param {State} state */
  becomeDue(state = "preparing") {
    if (!this.due) this.remember(this.panel.model.dirty);
    this.due = true;
    this.runByOthers = false;
    this.tell(state);
  }

  /** @param {KernelChange} change */
  onKernel({ oldValue, newValue }) {
    if (!newValue && !oldValue) return; // none yet: it is still to come
    if (!newValue) this.tell("stopped");
    else if (oldValue !== newValue) this.becomeDue();
    void this.check();
  }

  /** @param {string} status */
  onStatus(status) {
    if (status === "restarting") this.becomeDue();
    if (status === "autorestarting") this.becomeDue("restarting"); // it died, and nobody asked
    if (status === "dead") this.tell("stopped");
    if (status === "starting" && !this.due) this.restartedElsewhere();
    void this.check();
  }

  // Another window restarted the kernel; JupyterLab hears no more of it until it asks.
  restartedElsewhere() {
    this.becomeDue();
    void this.kernel?.reconnect();
  }

  // Word of a restart can be lost, for the new kernel may speak before the server listens. So when
  // a person comes back to this window, ask which process answers.
  async lookForRestart() {
    if (this.due || !this.alive) return; // busy may be old word, too
    const process = await this.processNow();
    if (process && process !== this.process && !this.due) this.restartedElsewhere();
  }

  async processNow() {
    try {
      return (await this.kernel?.requestKernelInfo())?.header.session ?? null;
    } catch {
      return null; // the kernel went away meanwhile, which JupyterLab tells of by itself
    }
  }

  get idle() {
    return this.session.isReady && this.kernel?.status === "idle";
  }

  async check() {
    if (this.panel.isDisposed || !this.due || this.held || this.checking || !this.idle) return;
    this.checking = true;
    await new Promise((resolve) => setTimeout(resolve, SETTLE_MS));
    this.process = await this.processNow();
    this.checking = false;
    if (this.panel.isDisposed || !this.due || !this.idle) return;
    this.due = false;
    if (this.runByOthers) this.tell("ready");
    else await this.run();
  }

  // Only what a person changes counts: without this, closing a page asks whether to save it,
  // because starting and running it rewrites its outputs.
  /** @param {boolean} dirty */
  remember(dirty) {
    this.before = { dirty, text: text(this.panel.model) };
  }

  async run() {
    const { content, model } = this.panel;
    const fine = await this.actions.runCells(content, content.widgets, this.session);
    if (this.panel.isDisposed || this.due) return;
    if (!this.before.dirty && this.before.text === text(model)) model.dirty = false;
    this.tell(fine ? "ready" : "unprepared");
  }
}

/** @param {NotebookModel} model */
function text(model) {
  return model.sharedModel.cells.map((cell) => cell.getSource()).join("\n\n");
}
