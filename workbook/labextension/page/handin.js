// "Save and hand in": wait until all is saved, count, ask, submit, and say what became of it.
import { allSaved, answersPath, countAnswers } from "./answers.js";
import { fileName, saveAs, sendTo, siteOf } from "./atsite.js";
import { askServer, messageOf, statusOf } from "./build.js";
import { ask } from "./dialog.js";
import { askResult, resultPath } from "./result.js";

/** @import { Lab, Panel, Words } from "./lab.js" */

/**
 * @typedef {NonNullable<ReturnType<typeof countAnswers>> & { text: string }} Sheet
 * @typedef {Parameters<typeof ask>[2]} Parts
 */
const BACK_MS = 5000; // how long a page waits for its answers to be put back
/** @type {[RegExp, "windows" | "folder" | "notReleased"][]} */
const CAUSES = [
  [/not available on Windows/i, "windows"],
  [/Inbound directory|Unwritable directory|write permissions|own the directory/i, "folder"],
  [/Permission denied|No space left|Read-only file system/i, "folder"],
  [/Assignment not found/i, "notReleased"],
];

// Why nothing was handed in: one sentence, and whether trying again may help.
class NotHandedIn extends Error {
  /** @param {string} cause */
  constructor(cause, retry = true) {
    super(cause);
    /** @type {"retry" | "send"} */
    this.advice = retry ? "retry" : "send";
  }
}

class NothingYet extends NotHandedIn {}

export class HandIn {
  /**
   * @param {Panel} panel
   * @param {Lab} lab
   * @param {Words} words
   * @param {(text: string) => void} say
   */
  constructor(panel, lab, words, say) {
    this.panel = panel;
    this.lab = lab;
    this.words = words;
    this.say = say;
    this.contents = lab.app.serviceManager.contents;
    this.busy = false;
    /** @type {(() => unknown) | null} */
    this.onAgain = null; // begins a new attempt
    /** @type {Date | null} */
    this.awaits = null; // when was handed in what is marked elsewhere
  }

  get file() {
    return answersPath(this.panel.context.path);
  }

  async start() {
    if (this.busy) return;
    this.busy = true;
    this.awaits = null;
    this.say(this.words.handingIn);
    try {
      await this.steps();
    } catch (error) {
      await this.tellFailure(error);
    } finally {
      this.busy = false;
    }
  }

  async steps() {
    const left = await allSaved((count) => this.say(this.words.waiting(count)));
    if (left.length) return this.tellUnsaved(left);
    this.say(this.words.handingIn);
    const sheet = await this.read();
    if (sheet.attempt > 1 && !sheet.answered) this.nothingYet();
    const changed = await this.changed(sheet);
    if (changed.length) return this.tellMarked(sheet, changed);
    if (sheet.missing.length && !(await this.confirm(sheet))) {
      this.say(this.words.notHandedIn);
      return undefined;
    }
    if (siteOf(this.lab)) return this.giveFile(sheet);
    const file = await this.layOut();
    if (!file) await this.submit(sheet.course);
    const { marked, waits } = await this.mark();
    this.say(this.words[file ? "laidOutAt" : "handedInAt"](this.timeOf(new Date())));
    if (file) return this.tellFile(sheet, file, marked);
    if (!this.lab.room || !(marked || waits)) return this.tellDone(sheet, marked);
    return marked ? this.showResult() : this.awaitResult();
  }

  // What its result has answered is over; what was not answered then may still be handed in.
  /**
   * @param {Sheet} sheet
   * @returns {Promise<string[]>}
   */
  async changed({ attempt }) {
    if (siteOf(this.lab) || !this.unit) return [];
    const told = await askResult(this.lab, this.unit).catch(() => null);
    if (!told || "trouble" in told || told.attempt !== attempt) return [];
    return told.questions.filter(({ id }) => told.changed.includes(id)).map(({ asks }) => asks);
  }

  /**
   * @param {Sheet} sheet
   * @param {string[]} list
   */
  async tellMarked({ attempt }, list) {
    this.say(this.words.notHandedIn);
    const { title, text, after } = this.words.marked;
    const buttons = { cancel: this.words.close, accept: this.words.attempt };
    if (await this.ask({ title, before: [text(attempt)], list, after, buttons })) this.onAgain?.();
  }

  get unit() {
    return this.panel.context.localPath.split("/").at(-2) ?? "";
  }

  // A course that came as a file has no way to its educator: the answers are laid out to be sent.
  async layOut() {
    const told = await askServer(this.lab, "send", { unit: this.unit }, "POST").catch((error) => {
      throw new NotHandedIn(this.words.cause.other(error.message));
    });
    return told?.file ? told : null;
  }

  // Marked at once where the course says so and this machine may; else the coordinator does it.
  async mark() {
    try {
      return (await askServer(this.lab, "result", { unit: this.unit }, "POST")) ?? {};
    } catch (error) {
      console.error(error); // it is handed in all the same
      return {};
    }
  }

  // On a hub it is marked elsewhere, and soon.
  awaitResult() {
    this.awaits = new Date();
    this.say(this.words.result.comes);
    this.lab.room?.waiting.begin(this.unit);
  }

  waitedLong() {
    if (this.awaits) this.say(this.words.result.waits);
    this.awaits = null;
  }

  // Shown by itself only to who has stayed on the page and changed nothing since.
  async cameBack() {
    if (!this.awaits || this.busy) return;
    this.say(this.words.handedInAt(this.timeOf(this.awaits)));
    this.awaits = null;
    const told = await askResult(this.lab, this.unit).catch(() => null);
    const stays = this.panel.isVisible && !document.querySelector(".jp-Dialog");
    if (stays && told && !("trouble" in told) && (told.same || told.better)) await this.showResult();
  }

  showResult() {
    return this.lab.room?.show(resultPath(this.unit));
  }

  /**
   * @param {boolean} again
   * @returns {Promise<Sheet>}
   */
  async read(again = true) {
    let model;
    try {
      model = await this.contents.get(this.file, { type: "file", format: "text", content: true });
    } catch (error) {
      const status = statusOf(error);
      if (status === 404) return again ? this.readBack() : this.nothingYet();
      const { unreadable, noServer } = this.words.cause;
      throw new NotHandedIn(status !== undefined ? unreadable(this.file) : noServer);
    }
    const sheet = countAnswers(model.content);
    if (!sheet) throw new NotHandedIn(this.words.cause.unreadable(this.file), false);
    return { ...sheet, text: model.content };
  }

  // No file: nothing was answered, or it was removed. The page's kernel still knows, and puts back
  // what was there.
  async readBack() {
    const kernel = this.panel.sessionContext.session?.kernel;
    const code = "unit.file.sheet()";
    const asked = kernel?.requestExecute({ code, silent: true, store_history: false }).done;
    await Promise.race([asked, new Promise((resolve) => setTimeout(resolve, BACK_MS))]);
    return this.read(false);
  }

  /** @returns {never} */
  nothingYet() {
    throw new NothingYet(this.words.cause.nothing);
  }

  /** @param {string} course */
  async submit(course) {
    const { unit } = this;
    if (!unit) throw new NotHandedIn(this.words.cause.notInUnit);
    const settings = this.lab.ServerConnection.makeSettings();
    const query = new URLSearchParams({ course_id: course, assignment_id: unit });
    const url = `${this.lab.URLExt.join(settings.baseUrl, "assignments/submit")}?${query}`;
    const reply = await this.post(url, settings);
    if (reply.success !== true) throw causeOf(String(reply.value ?? ""), this.words);
  }

  /**
   * @param {string} url
   * @param {{ baseUrl: string }} settings
   */
  async post(url, settings) {
    const response = await this.lab.ServerConnection.makeRequest(url, { method: "POST" }, settings)
      .catch(() => {
        throw new NotHandedIn(this.words.cause.noServer);
      });
    if (response.status === 404) throw new NotHandedIn(this.words.cause.noService, false);
    const reply = response.ok ? await response.json().catch(() => null) : null;
    if (!reply) throw new NotHandedIn(this.words.cause.noReply(response.status));
    return reply;
  }

  /** @param {Parts} parts */
  ask(parts) {
    return ask(this.lab, this.words, parts);
  }

  /** @param {Sheet} sheet */
  confirm({ answered, total, missing }) {
    const { title, text, after } = this.words.unanswered;
    const buttons = { cancel: this.words.goBack, accept: this.words.handInAnyway };
    return this.ask({ title, before: text(answered, total), list: missing, after, buttons });
  }

  /** @param {string[]} labels */
  tellUnsaved(labels) {
    const { title, text, after } = this.words.unsaved;
    this.say(this.words.notHandedIn);
    return this.ask({ title, before: text(), list: labels, after });
  }

  /** @param {Date} moment */
  timeOf(moment) {
    return moment.toLocaleTimeString(this.words.locale, { hour: "2-digit", minute: "2-digit" });
  }

  /**
   * @param {Sheet} sheet
   * @param {unknown} marked
   */
  tellDone({ answered, total }, marked) {
    const now = new Date();
    const time = this.timeOf(now);
    const date = now.toLocaleDateString(this.words.locale, { dateStyle: "long" });
    const { title, text } = this.words.done;
    const waits = marked ? [] : [this.words.result.waits];
    return this.ask({ title, before: [...text(time, date, answered, total), ...waits] });
  }

  // The file lies beside the course's pages; what was marked is seen from here, too.
  /**
   * @param {Sheet} sheet
   * @param {{ file: string, folder: string }} laid
   * @param {unknown} marked
   */
  async tellFile({ answered, total }, { file, folder }, marked) {
    const { title, laid } = this.words.given;
    const see = marked && this.lab.room;
    const buttons = see ? { accept: this.words.result.see, cancel: this.words.close } : {};
    const [sends, counts, again] = laid(file, folder, answered, total);
    const before = [sends, counts, ...(marked ? [] : [again, this.words.result.waits])];
    if ((await this.ask({ title, before, buttons })) === true && see) await this.showResult();
  }

  /** @param {Sheet} sheet */
  giveFile({ answered, total, learner, text }) {
    const name = fileName(this.file, learner);
    saveAs(name, text);
    const time = this.timeOf(new Date());
    this.say(this.words.downloadedAt(time));
    const { title, text: words } = this.words.given;
    return this.ask({ title, before: words(name, answered, total, sendTo(this.lab)) });
  }

  /** @param {unknown} error */
  async tellFailure(error) {
    this.say(this.words.notHandedIn);
    const { title, safe, ...advice } = this.words.failed;
    if (error instanceof NothingYet) return this.ask({ title, before: [error.message] });
    const known = error instanceof NotHandedIn;
    if (!known) console.error(error);
    const cause = known ? error.message : this.words.cause.other(messageOf(error));
    const before = [cause, safe(this.file), advice[known ? error.advice : "retry"]];
    const buttons = { accept: this.words.close, other: this.words.download };
    if ((await this.ask({ title, before, buttons })) === "other") await this.download();
    return undefined;
  }

  async download() {
    if (siteOf(this.lab)) {
      const options = { type: "file", format: "text", content: true };
      return saveAs(fileName(this.file), (await this.contents.get(this.file, options)).content);
    }
    const link = document.createElement("a");
    link.href = await this.contents.getDownloadUrl(this.file);
    link.download = this.file.split("/").at(-1) ?? "";
    link.click();
    return undefined;
  }
}

// nbgrader replies with a whole traceback; its last line is the reason.
/**
 * @param {string} traceback
 * @param {Words} words
 */
function causeOf(traceback, words) {
  const last = (traceback.trim().split("\n").at(-1) ?? "").replace(/^[\w.]+(Error|Exception): /, "");
  const known = CAUSES.find(([pattern]) => pattern.test(last))?.[1];
  return new NotHandedIn(known ? words.cause[known] : words.cause.other(last), known !== "windows");
}
