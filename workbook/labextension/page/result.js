// What came back of a unit, as a page of its own in the room: where the learner stands, what to do
// next, each question. The server tells it (workbook/room/shown.py).
import { askServer, element, whole } from "./build.js";
import { questionOf } from "./found.js";
import { wordsIn } from "./words.js";

/** @import { Libraries, Place, Question, Told, Trouble, Words } from "./lab.js" */

const ENDING = "/result";

/** @param {string} path */
export function isResult(path) {
  return path.endsWith(ENDING);
}

/** @param {string} unit */
export function resultPath(unit) {
  return `${unit}${ENDING}`;
}

/**
 * @param {Libraries} lab
 * @param {string} unit
 * @returns {Promise<Told | Trouble | null>}
 */
export async function askResult(lab, unit) {
  const told = await askServer(lab, "result", { unit });
  return told && { ...told, runs: told.runs ?? {} };
}

export class Result {
  /**
   * @param {import("./room.js").Room} room
   * @param {Libraries} lab
   * @param {string} path
   */
  constructor(room, lab, path) {
    this.room = room;
    this.lab = lab;
    this.unit = path.slice(0, -ENDING.length);
    this.widget = new lab.Widget();
    this.widget.id = `tpiece-result-${this.unit}`;
    this.widget.addClass("tpiece-home-page");
    this.widget.addClass("tpiece-result-page");
    Object.assign(this.widget, { context: { path } }); // what tells the address of whatever is in front
    this.widget.node.tabIndex = -1;
    this.widget.onActivateRequest = () => this.widget.node.focus({ preventScroll: true });
    this.main = element("main", "tpiece-home-main");
    this.widget.node.append(this.main);
    this.words = wordsIn();
    /** @type {Told | Trouble | null} */
    this.told = null;
  }

  get title() {
    const title = this.told && "title" in this.told ? this.told.title : "";
    return [this.words.result.yours, title].filter(Boolean).join(" · ");
  }

  get notYet() {
    const { comes, waits } = this.words.result;
    return this.room.waiting.has(this.unit) ? comes : waits;
  }

  async renew() {
    try {
      this.told = await askResult(this.lab, this.unit);
    } catch (error) {
      console.warn(error);
      this.told = { trouble: this.words.noCourse };
    }
    this.words = wordsIn(this.told?.language ?? this.room.home.told?.language);
    this.widget.title.label = this.title;
    Object.assign(this.widget.node, { lang: this.words.language, dir: this.words.direction });
    document.documentElement.lang = this.words.language;
    const { words } = this;
    const home = element("p", "", this.room.link("", words.home));
    const { told } = this;
    const parts = !told || "trouble" in told
      ? [element("h1", "", words.result.yours), element("p", "tpiece-lead", told?.trouble ?? this.notYet), home]
      : [this.head(told), this.next(told), this.notes(told), this.again(told), this.right(told), this.foot(home, told)];
    this.main.replaceChildren(...parts.filter((part) => part !== null));
  }

  /** @param {Told} told */
  head(told) {
    const { words } = this;
    const at = [words.result.yours, told.handed_in && words.handedInOn(this.day(told.handed_in))];
    return element("header", "",
      element("p", "tpiece-soft", at.filter(Boolean).join(" · ")),
      element("h1", "", ...whole(told.title)),
      element("p", "tpiece-stands", standingOf(told, words), words.result.points(told.earned, told.possible)),
      element("p", "tpiece-lead", told.says),
      noteOn(told, words) && element("p", "tpiece-soft", noteOn(told, words)));
  }

  /** @param {Told} told */
  next(told) {
    const { words } = this;
    const said = element("div", "", element("h2", "", words.result.doNext), element("p", "", told.next));
    const links = told.read.map((place) => this.lesson(place, "tpiece-go"));
    if (!links.length && told.standing !== "ready") links.push(this.exercise(told, "tpiece-go"));
    return element("section", "tpiece-next", said, ...links.slice(0, 1));
  }

  /** @param {Told} told */
  notes({ notes }) {
    const items = notes.map((text) => element("p", "", text));
    return items.length ? element("div", "tpiece-soft tpiece-notes", ...items) : null;
  }

  /** @param {Told} told */
  again(told) {
    const { words } = this;
    const again = told.questions.filter(({ found }) => found.some(({ met }) => !met));
    if (!again.length) return element("p", "tpiece-lead", words.result.allRight);
    return element("section", "", element("h2", "", words.result.again), ...again.map((q) => this.question(q, told)));
  }

  /** @param {Told} told */
  right(told) {
    const { words } = this;
    const right = told.questions.filter(({ found }) => found.every(({ met }) => met));
    if (!right.length) return null;
    const fold = element("details", "tpiece-right",
      element("summary", "", words.result.right(right.length)));
    fold.append(...right.map((q) => this.question(q, told)));
    return fold;
  }

  /**
   * @param {Question} asked
   * @param {Told} told
   */
  question(asked, told) {
    const { words } = this;
    const on = told.attempt_now === told.attempt;
    /** @type {import("./found.js").Go} */
    const go = told.same ? (at) => this.room.toQuestion(this.unit, asked.id, at) : null;
    const shown = questionOf(asked, words, {
      go, run: told.runs[asked.id], places: (read) => placesOf(read, this.room, words),
    });
    const back = on ? [this.toQuestion(asked)] : [];
    return element("article", "tpiece-question",
      element("h3", "", element("span", "", ...whole(asked.asks)),
        element("span", "tpiece-points", words.result.points(asked.earned, asked.possible))),
      ...shown, ...back);
  }

  /** @param {Question} question */
  toQuestion({ id, asks }) {
    const label = this.words.result.toQuestion;
    const node = element("button", "tpiece-button", label);
    node.type = "button";
    node.setAttribute("aria-label", `${label}: ${asks}`);
    node.setAttribute("data-lm-suppress-shortcuts", "true");
    node.addEventListener("click", () => this.room.toQuestion(this.unit, id));
    return node;
  }

  /** @param {Told} told */
  exercise({ title }, className = "") {
    return this.room.link(`${this.unit}/${this.unit}.ipynb`, title, className);
  }

  /** @param {Place} place */
  lesson({ page, heading }, className = "") {
    return this.room.link(page, this.room.home.titleOf(page) || heading, className);
  }

  /**
   * @param {HTMLElement} home
   * @param {Told} told
   */
  foot(home, told) {
    const links = element("p", "tpiece-links", home.firstChild, " ", this.exercise(told));
    return element("footer", "tpiece-soft", links, element("p", "", this.words.safety));
  }

  /** @param {string} text */
  day(text) {
    /** @type {Intl.DateTimeFormatOptions} */
    const how = { weekday: "long", day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" };
    return new Date(text).toLocaleString(this.words.locale, how);
  }
}

// Where a learner stands: by a sign, a word and a colour.
/**
 * @param {Pick<Told, "standing">} told
 * @param {Words} words
 */
export function standingOf({ standing }, words) {
  const sign = { ready: "✓", "not-yet": "○", unsafe: "!", unmarked: "?" }[standing];
  const mark = element("span", "", sign);
  mark.setAttribute("aria-hidden", "true");
  return element("span", `tpiece-standing is-${standing}`, mark, words.result.standing[standing]);
}

// What is said beside a result of other answers than those on the page; nothing for the same.
/**
 * @param {Pick<Told, "same" | "better">} told
 * @param {Words} words
 */
export function noteOn({ same, better }, words) {
  return better ? words.result.better : same ? "" : words.result.changed;
}

// Where to read: a link to the lesson, and the heading there.
/**
 * @param {Place[]} read
 * @param {import("./room.js").Room} room
 * @param {Words} words
 */
export function placesOf(read, room, words) {
  return read.flatMap(({ page, heading }, n) => {
    const link = room.link(page, room.home.titleOf(page) || words.lesson);
    return [n ? "; " : "", link, `, “${heading}”`];
  });
}
