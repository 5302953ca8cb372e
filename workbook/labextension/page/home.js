// The learner's home page: what to do next, the way through the course, what was handed in and
// what came back. The server tells names, counts and times (workbook/room/home.py).
import { askServer, element, whole } from "./build.js";
import { isResult, standingOf } from "./result.js";
import { wordsIn } from "./words.js";

/** @import { Back, ExercisePage, HomePage, HomeTold, HomeUnit, Libraries } from "./lab.js" */

const ID = "tpiece-home";

export class Home {
  /**
   * @param {import("./room.js").Room} room
   * @param {Libraries} lab
   */
  constructor(room, lab) {
    this.room = room;
    this.lab = lab;
    /** @type {HomeTold | null} */
    this.told = null;
    this.words = wordsIn();
    /** @type {Promise<void>} */
    this.loaded = new Promise((resolve) => (this.isLoaded = resolve)); // once, however it went
    this.widget = new lab.Widget();
    this.widget.id = ID;
    this.widget.addClass("tpiece-home-page");
    this.widget.title.label = this.words.home;
    this.widget.node.tabIndex = -1;
    this.widget.onActivateRequest = () => this.widget.node.focus({ preventScroll: true });
    this.main = element("div", "tpiece-home-main");
    this.widget.node.append(this.main);
  }

  get title() {
    return this.told?.course || this.words.course;
  }

  // The page that follows another in its unit: after a lesson its exercise.
  /** @param {string} path */
  after(path) {
    const unit = this.told?.units.find(({ lesson }) => lesson?.path === path);
    return unit?.exercise ?? null;
  }

  async renew() {
    try {
      this.told = (await askServer(this.lab, "home")) ?? this.told;
      if (this.told) this.words = wordsIn(this.told.language);
    } catch (error) {
      console.warn(error);
    }
    this.draw();
    this.isLoaded();
    this.lookForResults();
  }

  // What was handed in and is marked elsewhere comes by itself.
  lookForResults() {
    for (const { exercise } of this.told?.units ?? []) {
      if (exercise?.waits) this.room.waiting.begin(exercise.path.split("/")[0]);
    }
  }

  // The name of a page, by its path; nothing where the course has no such page.
  /** @param {string} path */
  titleOf(path) {
    if (!this.told) return "";
    return this.pages(this.told).find((page) => page.path === path)?.title ?? "";
  }

  draw() {
    const { words, told, main } = this;
    const page = this.widget.node;
    const top = page.scrollTop;
    this.widget.title.label = this.title;
    Object.assign(this.widget.node, { lang: words.language, dir: words.direction });
    document.documentElement.lang = words.language;
    const focused = document.activeElement;
    const at = focused instanceof HTMLAnchorElement && main.contains(focused) ? focused.href : "";
    const parts = told
      ? [this.head(told), this.next(told), this.way(told), this.more(told), this.foot()]
      : [element("h1", "", ...whole(this.title)), element("p", "", words.noCourse)];
    main.replaceChildren(...parts.filter((part) => part !== null));
    page.scrollTop = top;
    const again = at && [...main.querySelectorAll("a")].find(({ href }) => href === at);
    if (again) again.focus({ preventScroll: true }); // who was on a link stays there
  }

  /** @param {HomeTold} told */
  head(told) {
    const { words } = this;
    const due = told.due ? words.dueOn(this.day(told.due)) : "";
    const kicker = [told.learner, due].filter(Boolean).join(" · ");
    return element("header", "", element("p", "tpiece-soft", kicker), element("h1", "", ...whole(this.title)));
  }

  /** @param {HomeTold} told */
  next(told) {
    const { words } = this;
    if (isResult(told.next)) return this.nextResult(told);
    const page = this.pages(told).find(({ path }) => path === told.next);
    if (!page) return element("p", "tpiece-lead", words.nothingNext);
    const when = page.minutes ? words.nextIn(page.minutes) : words.next;
    const go = this.link(page, page.answered ? words.goOn : words.begin, "tpiece-go");
    go.setAttribute("aria-label", `${go.textContent}: ${page.title}`);
    const said = element("div", "", element("p", "tpiece-soft", when),
      element("h2", "", ...whole(page.title)));
    return element("section", "tpiece-next", said, go);
  }

  // Something came back that could harm, or all is handed in and not all of it is ready.
  /** @param {HomeTold} told */
  nextResult(told) {
    const { words } = this;
    const page = told.units.map(({ exercise }) => exercise).find((e) => e?.result?.path === told.next);
    if (!page?.result) return null;
    const go = this.link(page.result, words.result.see, "tpiece-go");
    go.setAttribute("aria-label", `${words.result.see}: ${page.title}`);
    const said = element("div", "", element("p", "tpiece-soft", words.next),
      element("h2", "", ...whole(page.title)), element("p", "", page.result.says));
    return element("section", "tpiece-next", said, go);
  }

  /** @param {HomeTold} told */
  pages({ start, units, more }) {
    return [start, ...units.flatMap(({ lesson, exercise }) => [lesson, exercise]), ...more]
      .filter((page) => page !== null);
  }

  /** @param {HomeTold} told */
  way(told) {
    const list = element("ol", "tpiece-way", ...told.units.map((unit) => this.step(unit, told)));
    const laid = told.to_send && told.units.some(({ exercise }) => exercise?.handed_in);
    const where = laid ? element("p", "tpiece-soft", this.words.toSend(told.to_send)) : null;
    return element("section", "", element("h2", "", this.words.way), list, where);
  }

  /**
   * @param {HomeUnit} unit
   * @param {HomeTold} told
   */
  step({ number, name, lesson, exercise }, told) {
    const { words } = this;
    const now = [lesson, exercise, exercise?.result].some((page) => page && page.path === told.next);
    const over = exercise ? isOver(exercise) : lesson !== null && isThrough(lesson);
    const mark = element("span", `tpiece-number${over ? " is-over" : now ? " is-now" : ""}`,
      over ? "✓" : number);
    mark.setAttribute("aria-hidden", "true");
    const lines = [
      lesson && this.line(words.lesson, lesson, this.answered(lesson)),
      exercise && this.line(words.exercise, exercise, this.handed(exercise, told)),
      exercise?.result && this.result(exercise, exercise.result),
    ];
    const item = element("li", "", mark, element("div", "", element("h3", "", ...whole(name)), ...lines));
    if (now) item.setAttribute("aria-current", "step");
    return item;
  }

  /**
   * @param {string} kind
   * @param {HomePage} page
   * @param {string} state
   */
  line(kind, page, state) {
    const link = this.link(page, kind);
    link.setAttribute("aria-label", page.title);
    const rest = [page.minutes ? this.words.about(page.minutes) : "", state];
    const said = element("span", "tpiece-soft", rest.filter(Boolean).join(" · "));
    return element("p", "", link, said);
  }

  /** @param {HomePage} page */
  answered({ answered, asked, trouble }) {
    const { words } = this;
    if (trouble) return trouble;
    if (!answered) return words.notBegun;
    return answered < asked ? words.some(answered, asked) : words.allAnswered;
  }

  /**
   * @param {ExercisePage} page
   * @param {HomeTold} told
   */
  handed(page, told) {
    const { words } = this;
    if (page.handed_in) {
      const on = told.to_send ? words.laidOutOn : words.handedInOn;
      const at = on(this.day(page.handed_in));
      if (!page.changed) return at;
      // What was marked is not handed in again by being changed.
      return `${at} · ${page.result ? words.result.changed : words.changedSince}`;
    }
    const over = told.due && new Date(told.due) < new Date();
    return [this.answered(page), over ? words.overdue : ""].filter(Boolean).join(" · ");
  }

  // What came back: where it stands, what to do next, and the way to all of it.
  /**
   * @param {ExercisePage} page
   * @param {Back} back
   */
  result({ title }, back) {
    const { words } = this;
    if (back.trouble) return element("p", "tpiece-back", back.trouble);
    const link = this.link(back, words.result.see);
    link.setAttribute("aria-label", `${words.result.see}: ${title}`);
    const points = back.possible ? words.result.points(back.earned, back.possible) : "";
    const { earlier, better } = words.result;
    const rest = back.earlier ? earlier : back.better ? better : back.next;
    const soft = [points, rest].filter(Boolean).join(" · ");
    return element("p", "tpiece-back", link, standingOf(back, words), element("span", "tpiece-soft", soft));
  }

  /** @param {HomeTold} told */
  more({ start, more }) {
    const first = start ? [{ page: start, label: this.words.how }] : [];
    const list = [...first, ...more.map((page) => ({ page, label: page.title }))];
    const items = list.map(({ page, label }) => element("li", "", this.link(page, label)));
    if (!items.length) return null;
    return element("section", "", element("h2", "", this.words.more),
      element("ul", "tpiece-more", ...items));
  }

  foot() {
    return element("footer", "tpiece-soft", this.words.safety);
  }

  /**
   * @param {{ path: string }} page
   * @param {string} label
   */
  link({ path }, label, className = "") {
    return this.room.link(path, label, className);
  }

  /** @param {string} text */
  day(text) {
    /** @type {Intl.DateTimeFormatOptions} */
    const how = { weekday: "long", day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" };
    return new Date(text).toLocaleString(this.words.locale, how);
  }
}

// Handed in, and nothing that came back asks for more.
/** @param {ExercisePage} page */
function isOver({ handed_in: at, result: back }) {
  return Boolean(at) && (!back || back.standing === "ready");
}

/** @param {HomePage} page */
function isThrough(page) {
  return page.answered > 0 && page.answered >= page.asked;
}
