// "Save and hand in": wait, save, count, ask, submit, and say what became of it.
import { allSaved, answersPath, countAnswers } from "./answers.js";
import { fileName, saveAs, sendTo, siteOf } from "./atsite.js";
import { ask } from "./dialog.js";
import { WORDS } from "./words.js";

const CAUSES = [
  [/not available on Windows/i, WORDS.cause.windows],
  [/Inbound directory|Unwritable directory|write permissions|own the directory/i, WORDS.cause.folder],
  [/Permission denied|No space left|Read-only file system/i, WORDS.cause.folder],
  [/Assignment not found/i, WORDS.cause.notReleased],
];

// Why nothing was handed in: one sentence, and whether trying again may help.
class NotHandedIn extends Error {
  constructor(cause, retry = true) {
    super(cause);
    this.advice = retry ? WORDS.failed.retry : WORDS.failed.send;
  }
}

export class HandIn {
  constructor(panel, lab, say) {
    this.panel = panel;
    this.lab = lab;
    this.say = say;
    this.contents = lab.app.serviceManager.contents;
    this.busy = false;
  }

  get file() {
    return answersPath(this.panel.context.path);
  }

  async start() {
    if (this.busy) return;
    this.busy = true;
    this.say(WORDS.handingIn);
    try {
      await this.steps();
    } catch (error) {
      await this.tellFailure(error);
    } finally {
      this.busy = false;
    }
  }

  async steps() {
    const left = await allSaved((count) => this.say(WORDS.waiting(count)));
    if (left.length) return this.tellUnsaved(left);
    this.say(WORDS.handingIn);
    await this.save();
    const sheet = await this.read();
    if (sheet.missing.length && !(await this.confirm(sheet))) {
      this.say(WORDS.notHandedIn);
      return undefined;
    }
    if (siteOf(this.lab)) return this.giveFile(sheet);
    await this.submit(sheet.course);
    return this.tellDone(sheet);
  }

  async save() {
    try {
      await this.panel.context.save();
    } catch (error) {
      console.warn(error);
      throw new NotHandedIn(WORDS.cause.pageNotSaved);
    }
  }

  async read() {
    let model;
    try {
      model = await this.contents.get(this.file, { type: "file", format: "text", content: true });
    } catch (error) {
      if (error.response?.status === 404) return this.nothingYet();
      throw new NotHandedIn(error.response ? WORDS.cause.unreadable(this.file) : WORDS.cause.noServer);
    }
    const sheet = countAnswers(model.content);
    if (!sheet) throw new NotHandedIn(WORDS.cause.unreadable(this.file), false);
    return { ...sheet, text: model.content };
  }

  nothingYet() {
    throw Object.assign(new NotHandedIn(WORDS.cause.nothing), { nothingToKeep: true });
  }

  async submit(course) {
    const unit = this.panel.context.localPath.split("/").at(-2);
    if (!unit) throw new NotHandedIn(WORDS.cause.notInUnit);
    const settings = this.lab.ServerConnection.makeSettings();
    const query = new URLSearchParams({ course_id: course, assignment_id: unit });
    const url = `${this.lab.URLExt.join(settings.baseUrl, "assignments/submit")}?${query}`;
    const reply = await this.post(url, settings);
    if (reply.success !== true) throw causeOf(String(reply.value ?? ""));
  }

  async post(url, settings) {
    const response = await this.lab.ServerConnection.makeRequest(url, { method: "POST" }, settings)
      .catch(() => {
        throw new NotHandedIn(WORDS.cause.noServer);
      });
    if (response.status === 404) throw new NotHandedIn(WORDS.cause.noService, false);
    const reply = response.ok ? await response.json().catch(() => null) : null;
    if (!reply) throw new NotHandedIn(WORDS.cause.noReply(response.status));
    return reply;
  }

  confirm({ answered, total, missing }) {
    const { title, text, after } = WORDS.unanswered;
    const buttons = { cancel: WORDS.goBack, accept: WORDS.handInAnyway };
    return ask(this.lab, { title, before: text(answered, total), list: missing, after, buttons });
  }

  tellUnsaved(labels) {
    const { title, text, after } = WORDS.unsaved;
    this.say(WORDS.notHandedIn);
    return ask(this.lab, { title, before: text(), list: labels, after });
  }

  tellDone({ answered, total }) {
    const now = new Date();
    const time = now.toLocaleTimeString(WORDS.locale, { hour: "2-digit", minute: "2-digit" });
    const date = now.toLocaleDateString(WORDS.locale, { dateStyle: "long" });
    this.say(WORDS.handedInAt(time));
    const { title, text } = WORDS.done;
    return ask(this.lab, { title, before: text(time, date, answered, total) });
  }

  giveFile({ answered, total, learner, text }) {
    const name = fileName(this.file, learner);
    saveAs(name, text);
    const time = new Date().toLocaleTimeString(WORDS.locale, { hour: "2-digit", minute: "2-digit" });
    this.say(WORDS.downloadedAt(time));
    const { title, text: words } = WORDS.given;
    return ask(this.lab, { title, before: words(name, answered, total, sendTo(this.lab)) });
  }

  async tellFailure(error) {
    this.say(WORDS.notHandedIn);
    const { title, safe, retry } = WORDS.failed;
    if (error.nothingToKeep) return ask(this.lab, { title, before: [error.message] });
    const known = error instanceof NotHandedIn;
    if (!known) console.error(error);
    const cause = known ? error.message : WORDS.cause.other(error.message ?? error);
    const before = [cause, safe(this.file), known ? error.advice : retry];
    const buttons = { accept: WORDS.close, other: WORDS.download };
    if ((await ask(this.lab, { title, before, buttons })) === "other") await this.download();
    return undefined;
  }

  async download() {
    if (siteOf(this.lab)) {
      const options = { type: "file", format: "text", content: true };
      return saveAs(fileName(this.file), (await this.contents.get(this.file, options)).content);
    }
    const link = document.createElement("a");
    link.href = await this.contents.getDownloadUrl(this.file);
    link.download = this.file.split("/").at(-1);
    link.click();
    return undefined;
  }
}

// nbgrader replies with a whole traceback; its last line is the reason.
function causeOf(traceback) {
  const last = traceback.trim().split("\n").at(-1).replace(/^[\w.]+(Error|Exception): /, "");
  const plain = CAUSES.find(([pattern]) => pattern.test(last))?.[1];
  return new NotHandedIn(plain ?? WORDS.cause.other(last), plain !== WORDS.cause.windows);
}
