// @ts-nocheck
// "New attempt or practice": asks first, lets the kernel begin it, and runs the page again.
import { allSaved, answersPath, countAnswers } from "./answers.js";
import { ask } from "./dialog.js";

export class NewAttempt {
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

  async once(does) {
    if (this.busy) return;
    this.busy = true;
    try {
      await does();
    } catch (error) {
      await this.ask({ before: [error.message || String(error), this.words.again.failed] });
    } finally {
      this.busy = false;
    }
  }

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
  async read() {
    const file = answersPath(this.panel.context.path);
    const options = { type: "file", format: "text", content: true };
    const contents = this.lab.app.serviceManager.contents;
    try {
      const sheet = countAnswers((await contents.get(file, options)).content);
      if (sheet) return sheet;
    } catch (error) {
      if (error.response?.status === 404) return { attempt: 1, answered: 0 };
      throw new Error(error.response ? this.words.cause.unreadable(file) : this.words.cause.noServer);
    }
    throw new Error(this.words.cause.unreadable(file));
  }

  async choose({ attempt, answered, total, left }) {
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

  async open(code, practice) {
    if (code) await this.execute(code);
    this.tell.practising(practice);
    await this.opening.renew();
  }

  // Returns how many attempts are left; null where the course sets no limit, or nobody can tell.
  async left() {
    const kernel = this.opening.kernel;
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
  async execute(code) {
    const kernel = this.opening.kernel;
    if (!kernel) throw new Error(this.words.stopped);
    const { content } = await kernel.requestExecute({ code, store_history: false }).done;
    if (content.status === "ok") return;
    const started = content.ename !== "NameError" && content.evalue;
    throw new Error(started ? content.evalue : this.words.unprepared);
  }
}
