// "New attempt or practice": asks first, lets the kernel begin it, and runs the page again.
import { allSaved, answersPath, countAnswers } from "./answers.js";
import { messageOf, statusOf } from "./build.js";
import { ask } from "./dialog.js";

/** @import { Lab, Panel, Words } from "./lab.js" */

/** @typedef {{ attempt: number, answered: number, total?: number, left?: number | null }} Sheet */
export class NewAttempt {
  /**
   * @param {Panel} panel
   * @param {Lab} lab
   * @param {Words} words
   * @param {import("./opening.js").Opening} opening
   * @param {{ say(text: string): void, practising(on: boolean): void }} tell
   */
  constructor(panel, lab, words, opening, tell) {
    this.panel = panel;
    this.lab = lab;
    this.words = words;
    this.opening = opening;
    this.tell = tell;
    this.busy = false;
  }

  start() {
    return this.once(async () => {
      if (await this.isUnsaved()) return;
      const sheet = await this.read();
      const chosen = await this.choose({ ...sheet, left: await this.left() });
      if (chosen === "attempt") await this.open("unit.begin_attempt()", false);
      if (chosen === "practice") await this.open("unit.practise()", true);
    });
  }

  back() {
    return this.once(() => this.open("", false));
  }

  /** @param {() => Promise<void>} does */
  async once(does) {
    if (this.busy) return;
    this.busy = true;
    try {
      await does();
    } catch (error) {
      await this.ask({ before: [messageOf(error), this.words.again.failed] });
    } finally {
      this.busy = false;
    }
  }

  /** @param {Partial<import("./dialog.js").Parts> & { before: string[] }} parts */
  ask(parts) {
    return ask(this.lab, this.words, { title: this.words.again.title, ...parts });
  }

  async isUnsaved() {
    const list = await allSaved((count) => this.tell.say(this.words.waiting(count)));
    const { unsaved, afterwards } = this.words.again;
    if (list.length) await this.ask({ before: [unsaved], list, after: afterwards });
    return list.length > 0;
  }

  // Before the first answer there is no file: that is attempt 1, with nothing answered.
  /** @returns {Promise<Sheet>} */
  async read() {
    const file = answersPath(this.panel.context.path);
    const options = { type: "file", format: "text", content: true };
    const contents = this.lab.app.serviceManager.contents;
    try {
      const sheet = countAnswers((await contents.get(file, options)).content);
      if (sheet) return sheet;
    } catch (error) {
      const status = statusOf(error);
      if (status === 404) return { attempt: 1, answered: 0 };
      throw new Error(status !== undefined ? this.words.cause.unreadable(file) : this.words.cause.noServer);
    }
    throw new Error(this.words.cause.unreadable(file));
  }

  /** @param {Sheet} sheet */
  async choose({ attempt, answered, total = 0, left }) {
    const { text, nothing, last, start, practise } = this.words.again;
    const cancel = this.words.goBack;
    if (!answered || left === 0) {
      const parts = left === 0 ? { title: practise, before: last(attempt) } : { before: nothing(attempt) };
      const said = await this.ask({ ...parts, buttons: { cancel, accept: practise }, careful: true });
      return said ? "practice" : "";
    }
    const buttons = { cancel, accept: start(attempt + 1), other: practise };
    const said = await this.ask({ before: text(attempt, answered, total), buttons, careful: true });
    if (said === "other") return "practice";
    return said ? "attempt" : "";
  }

  /**
   * @param {string} code
   * @param {boolean} practice
   */
  async open(code, practice) {
    if (code) await this.execute(code);
    this.tell.practising(practice);
    await this.opening.renew();
  }

  // Returns how many attempts are left; null where the course sets no limit, or nobody can tell.
  /** @returns {Promise<number | null>} */
  async left() {
    const { kernel } = this.opening;
    if (!kernel) return null;
    let said = "";
    try {
      const code = "print(unit.attempts_left())";
      const asked = kernel.requestExecute({ code, store_history: false, stop_on_error: false });
      asked.onIOPub = ({ content }) => (said += content.name === "stdout" ? content.text : "");
      await asked.done;
    } catch {
      return null;
    }
    return /^\d+$/.test(said.trim()) ? Number(said) : null;
  }

  // The kernel says in a sentence why it did not.
  /** @param {string} code */
  async execute(code) {
    const kernel = this.opening.kernel;
    if (!kernel) throw new Error(this.words.stopped);
    const { content } = await kernel.requestExecute({ code, store_history: false }).done;
    if (content.status === "ok") return;
    const started = content.ename !== "NameError" && content.evalue;
    throw new Error(started ? content.evalue : this.words.unprepared);
  }
}
