// A case from birth as one picture over a clock: heart rate, saturation, inflations with their chest,
// oxygen, what was on the face, what was done. One's own alone, or an expert's beside it by dash and
// name. The room's result shows the same file, so it imports nothing.

/**
 * @typedef {[time: number, value: number]} Point
 * @typedef {{ from: number, to: number, count: number, chest: string, pressure: number, says: string }} Run inflations that did the same
 * @typedef {[from: number, to: number, says: string, kind: string]} Span what was on the face
 * @typedef {{ from: number, to: number, helper: boolean, says: string }} Done
 * @typedef {{ end: number, shown: Point[][], counts: Point[], saturation: Point[][], inflations: Run[], oxygen: Point[], face: Span[], acts: Done[], story: [number, string][], heart?: Point[] }} Course times in s, rates a minute, percent, cmH2O
 * @typedef {{ words: Record<string, string>, edition: string, band: [number, number, number, number][], limit: number, own: Course, expert?: Course, moments?: { at: number, says: string }[] }} Courses
 * @typedef {"heart" | "saturation" | "oxygen"} Scaled what has a scale
 * @typedef {Scaled | "inflations" | "face" | "acts"} Row
 */
const COURSE = { left: 44, right: 14, top: 10, dots: 48, title: 32, foot: 32, minute: 60 }; // pixels; seconds
const COURSE_ROWS = /** @type {Record<Row, number>} */ (Object.fromEntries([
  ["heart", 104], ["saturation", 80], ["inflations", 66], ["oxygen", 50], ["face", 44], ["acts", 68],
])); // pixels
// Their heights without an expert's.
/** @type {Partial<Record<Row, number>>} */
const COURSE_ALONE = Object.fromEntries([["inflations", 34], ["face", 20], ["acts", 30]]);
const COURSE_TOPS = /** @type {Record<Scaled, number>} */ (
  Object.fromEntries([["heart", 200], ["saturation", 100], ["oxygen", 100]]));
const COURSE_ORDER = /** @type {Row[]} */ (Object.keys(COURSE_ROWS));
const COURSE_SCALED = /** @type {Scaled[]} */ (Object.keys(COURSE_TOPS));
const COURSE_NEAR = 3; // seconds for which a value still counts as shown, or an act as just done
const COURSE_SVG = "http://www.w3.org/2000/svg";

/**
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[Name]}
 */
function coursePart(name, attributes = {}, ...children) {
  const node = document.createElementNS(COURSE_SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/**
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, string>} attributes
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
function courseBox(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}

/**
 * @param {string} text
 * @param {Record<string, string | number>} values
 */
function courseFill(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? ""));
}

/** @param {number} time */
export function courseClock(time) {
  const whole = Math.floor(time);
  return `${Math.floor(whole / COURSE.minute)}:${String(whole % COURSE.minute).padStart(2, "0")}`;
}

export class CoursePicture {
  /** @type {Courses} */
  data;

  // `moved(time)` hears of each second that a hand goes to.
  /**
   * @param {string} id
   * @param {(time: number) => void} moved
   */
  constructor(id, moved = () => {}) {
    this.id = id;
    this.moved = moved;
    this.time = this.end = this.width = this.top = 0;
    this.high = COURSE_ROWS;
    /** @type {Record<string, string>} */
    this.words = {};
    /** @type {number | null} */
    this.held = null;
    /** @type {Element | undefined} */
    this.cursor = undefined;
    this.legend = courseBox("p", { class: "tpiece-course-legend" });
    this.place = courseBox("div", { class: "tpiece-course-place tpiece-ltr" });
    this.slider = courseBox("input", {
      type: "range", min: "0", step: "1", value: "0", class: "tpiece-course-slider", "data-lm-suppress-shortcuts": "true",
    });
    this.slider.addEventListener("input", () => this.by(Number(this.slider.value)));
    this.told = courseBox("div", { class: "tpiece-course-told", "aria-live": "polite", "aria-atomic": "true" });
    this.model = courseBox("p", { class: "tpiece-course-model" });
    this.fold = courseBox("details", { class: "tpiece-course-fold" });
    const slide = courseBox("div", { class: "tpiece-ltr" }, this.slider);
    this.root = courseBox("figure", { class: "tpiece-course" }, this.legend, this.place, slide, this.told, this.model, this.fold);
    this.watch = new ResizeObserver(([{ contentRect: { width } }]) => width > 0 && this.draw(width));
    this.watch.observe(this.place);
  }

  // Show a course: { words, edition, band, limit, own, expert?, moments? }.
  /** @param {Courses} data */
  show(data) {
    const { words, own, expert, edition } = data;
    Object.assign(this, { data, words });
    this.end = Math.max(own.end, expert?.end ?? 0);
    this.slider.max = String(Math.floor(this.end));
    this.slider.setAttribute("aria-label", words.courseCursor);
    const keys = [this.key("own", words.courseOwn), this.key("band", courseFill(words.courseBand, { edition }))];
    if (own.heart) keys.splice(1, 0, this.key("true", `${words.courseOwn}: ${words.courseTrue}`));
    if (expert) keys.splice(2, 0, this.key("expert", words.courseExpert));
    const chests = [["moves", words.courseChestMoves], ["little", words.courseChestLittle], ["still", words.courseChestStill]];
    keys.push(...chests.map(([kind, says]) => this.key(`run-${kind}`, says)));
    this.legend.replaceChildren(...keys);
    this.model.textContent = words.courseModel;
    this.inWords();
    if (this.place.clientWidth) this.draw(this.place.clientWidth);
    this.set(this.time);
  }

  /**
   * @param {string} kind
   * @param {string} says
   */
  key(kind, says) {
    const run = kind.startsWith("run-") || kind === "band";
    const mark = run
      ? coursePart("rect", { x: 1, y: 1, width: 32, height: 10, class: `tpiece-course-${kind}` })
      : coursePart("path", { d: "M0,6H34", class: `tpiece-course-line is-${kind}` });
    const sample = coursePart("svg", { viewBox: "0 0 34 12", width: 34, height: 12, "aria-hidden": "true" }, mark);
    return courseBox("span", {}, sample, says);
  }

  inWords() {
    const { words, data: { own, expert } } = this;
    /**
     * @param {Course} course
     * @param {string} name
     */
    const list = (course, name) => courseBox("div", {}, courseBox("p", { class: "tpiece-course-whose" }, name),
      courseBox("ol", {}, ...course.story.map(([time, says]) => courseBox("li", {}, `${courseClock(time)} ${says}`))));
    const lists = [list(own, words.courseOwn), ...(expert ? [list(expert, words.courseExpert)] : [])];
    const head = courseBox("summary", { "data-lm-suppress-shortcuts": "true" }, expert ? words.courseWords : words.courseWordsOwn);
    this.fold.replaceChildren(head, courseBox("div", { class: "tpiece-course-lists" }, ...lists));
  }

  // --- a second of it

  /** @param {number} time */
  by(time) {
    this.set(time);
    this.moved(this.time);
  }

  /** @param {number} time */
  set(time) {
    if (!this.data) return;
    this.time = Math.min(Math.max(0, Math.round(time)), Math.floor(this.end));
    this.slider.value = String(this.time);
    this.slider.setAttribute("aria-valuetext", courseFill(this.words.courseAt, { time: courseClock(this.time) }));
    this.cursor?.setAttribute("transform", `translate(${this.x(this.time).toFixed(1)})`);
    this.told.replaceChildren(this.table());
  }

  table() {
    const { words, time, data: { own, expert } } = this;
    const courses = expert ? [own, expert] : [own];
    const names = [words.courseOwn, words.courseExpert].slice(0, courses.length);
    /** @type {[string, (course: Course) => string][]} */
    const rows = [
      [words.courseRowHeart, (course) => this.heartShown(course)],
      [words.courseRowSaturation, (course) => this.onLine(course.saturation, " %")],
      [words.courseRowOxygen, ({ oxygen }) => `${this.last(oxygen)} %`],
      [words.courseRowFace, ({ face }) => this.within(face)?.[2] ?? words.courseNone],
      [words.courseRowInflations, (course) => this.inflated(course)],
      [words.courseRowDoing, (course) => this.doing(course)],
    ];
    if (own.heart) rows.splice(1, 0, [words.courseRowTrue, ({ heart = [] }) => String(this.last(heart))]);
    const head = courseBox("tr", {}, courseBox("th", { scope: "col" }, courseFill(words.courseAt, { time: courseClock(time) })),
      ...names.map((name) => courseBox("th", { scope: "col" }, name)));
    const body = rows.map(([name, says]) => courseBox("tr", {}, courseBox("th", { scope: "row" }, name),
      ...courses.map((course) => courseBox("td", {}, says(course)))));
    return courseBox("table", {}, courseBox("thead", {}, head), courseBox("tbody", {}, ...body));
  }

  /** @param {Point[]} points */
  last(points) {
    return points.findLast(([at]) => at <= this.time)?.[1] ?? points[0][1];
  }

  /** @param {Span[]} spans */
  within(spans) {
    return spans.findLast(([from]) => from <= this.time);
  }

  /**
   * @param {Point[][]} lines
   * @param {string} unit
   */
  onLine(lines, unit) {
    const near = lines.find((line) => line[0][0] <= this.time && line[line.length - 1][0] + COURSE_NEAR > this.time);
    return near ? `${this.last(near)}${unit}` : this.words.courseNothing;
  }

  /** @param {Course} course */
  heartShown({ shown, counts }) {
    const counted = counts.findLast(([at]) => at <= this.time && at + COURSE_NEAR > this.time);
    if (counted) return `${counted[1]} (${this.words.courseCounted})`;
    return this.onLine(shown, "");
  }

  /** @param {Course} course */
  inflated({ inflations }) {
    const run = inflations.findLast(({ from, to }) => from <= this.time && to + COURSE_NEAR > this.time);
    if (!run) return this.words.courseNone;
    return run.count ? `${run.pressure} cmH₂O, ${run.says}` : run.says;
  }

  /** @param {Course} course */
  doing({ acts }) {
    const now = acts.filter(({ from, to }) => from <= this.time && Math.max(to, from + COURSE_NEAR) > this.time);
    return now.map(({ says }) => says).join("; ") || this.words.courseNone;
  }

  // --- the drawing

  /** @param {number} time */
  x(time) {
    return COURSE.left + ((this.width - COURSE.left - COURSE.right) * time) / Math.max(this.end, 1);
  }

  /** @param {number} width */
  draw(width) {
    if (!this.data) return;
    this.width = width;
    const { words, data: { own, expert, moments = [] } } = this;
    this.top = moments.length ? COURSE.dots : COURSE.top;
    /** @type {Element[]} */
    const parts = [];
    const tops = { ...COURSE_ROWS };
    let from = this.top;
    this.high = { ...COURSE_ROWS, ...(expert ? {} : COURSE_ALONE) };
    for (const name of COURSE_ORDER) {
      tops[name] = from + COURSE.title;
      from = tops[name] + this.high[name];
    }
    const height = from + COURSE.foot;
    parts.push(this.axis(from, height));
    for (const name of COURSE_SCALED) parts.push(this.levels(tops[name], name));
    parts.push(...this.titles(tops), this.bands(tops.saturation), this.heart(tops.heart));
    parts.push(...this.pair("saturation", (course, kind) => this.line(tops.saturation, "saturation", course.saturation, kind)));
    parts.push(...this.pair("oxygen", (course, kind) => this.steps(tops.oxygen, course, kind)));
    [own, expert].forEach((course, n) => {
      if (course) parts.push(this.runs(tops.inflations, course, n), this.faces(tops.face, course, n), this.acts(tops.acts, course, n));
    });
    const free = [-Infinity, -Infinity]; // where each of two rows of numbers ends
    moments.forEach(({ at }, n) => parts.push(this.mark(at, n + 1, from, free)));
    this.cursor = coursePart("g", { class: "tpiece-course-cursor" }, coursePart("path", { d: `M0,${this.top}V${from}` }));
    const svg = coursePart("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img" }, ...parts, this.cursor);
    const who = expert ? `${words.courseOwn}, ${words.courseExpert}` : words.courseOwn;
    svg.setAttribute("aria-label", courseFill(words.courseSays, { who, end: courseClock(this.end) }));
    this.feel(svg);
    this.place.replaceChildren(svg);
    this.set(this.time);
  }

  /** @param {SVGSVGElement} svg */
  feel(svg) {
    /** @param {MouseEvent} event */
    const go = ({ clientX }) => {
      const box = svg.getBoundingClientRect();
      const share = (clientX - box.left - COURSE.left) / (this.width - COURSE.left - COURSE.right);
      this.by(share * this.end);
    };
    svg.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      svg.setPointerCapture(event.pointerId);
      this.held = event.pointerId;
      go(event);
    });
    svg.addEventListener("pointermove", (event) => this.held === event.pointerId && go(event));
    for (const kind of ["pointerup", "pointercancel"]) svg.addEventListener(kind, () => (this.held = null));
  }

  /**
   * @param {string} _
   * @param {(course: Course, kind: string) => Element} draws
   */
  pair(_, draws) {
    const { own, expert } = this.data;
    return [...(expert ? [draws(expert, "expert")] : []), draws(own, "own")];
  }

  /**
   * @param {number} x
   * @param {number} y
   * @param {string} says
   */
  text(x, y, says, kind = "") {
    return coursePart("text", { x, y, class: kind }, says);
  }

  /** @param {Record<Row, number>} tops */
  titles(tops) {
    const { words } = this;
    const names = { heart: "Heart", saturation: "Saturation", inflations: "Inflations", oxygen: "Oxygen", face: "Face", acts: "Acts" };
    return COURSE_ORDER.map((name) => {
      const top = tops[name];
      const what = words[`course${names[name]}`];
      const both = this.data.expert && COURSE_ALONE[name];
      return this.text(4, top - 9, both ? courseFill(words.coursePair, { what }) : what, "tpiece-course-name");
    });
  }

  /**
   * @param {number} foot
   * @param {number} height
   */
  axis(foot, height) {
    const every = [15, 30, 60, 120].find((step) => this.x(step) - this.x(0) > 40) ?? 300;
    const count = Math.floor(this.end / every);
    const times = Array.from({ length: count + 1 }, (_, n) => n * every);
    const lines = times.map((t) => `M${this.x(t).toFixed(1)},${this.top}V${foot}`).join("");
    const texts = times.map((t) => this.text(this.x(t), foot + 14, courseClock(t), "tpiece-course-middle"));
    const name = this.text(this.width - COURSE.right, height - 3, this.words.courseTime, "tpiece-course-end");
    return coursePart("g", {}, coursePart("path", { d: lines, class: "tpiece-course-level" }), ...texts, name);
  }

  /**
   * @param {number} top
   * @param {Scaled} name
   * @param {number} value
   */
  y(top, name, value) {
    return top + this.high[name] * (1 - Math.min(1, value / COURSE_TOPS[name]));
  }

  /**
   * @param {number} top
   * @param {Scaled} name
   */
  levels(top, name) {
    const high = COURSE_TOPS[name];
    return coursePart("g", {}, ...[0, high / 2, high].flatMap((value) => {
      const y = this.y(top, name, value);
      const d = `M${COURSE.left},${y}H${this.width - COURSE.right}`;
      return [coursePart("path", { d, class: "tpiece-course-level" }), this.text(COURSE.left - 6, y + 4, String(value), "tpiece-course-end")];
    }));
  }

  /**
   * @param {number} top
   * @param {Scaled} name
   * @param {Point[]} points
   */
  points(top, name, points) {
    return points.map(([t, value]) => `${this.x(t).toFixed(1)},${this.y(top, name, value).toFixed(1)}`);
  }

  /**
   * @param {number} top
   * @param {Scaled} name
   * @param {Point[][]} lines
   * @param {string} kind
   */
  line(top, name, lines, kind) {
    const d = lines.map((line) => `M${this.points(top, name, line).join("L")}h0.1`).join("");
    return coursePart("path", { d, class: `tpiece-course-line is-${kind}` });
  }

  /** @param {number} top */
  heart(top) {
    const { own, expert } = this.data;
    const parts = [this.line(top, "heart", own.shown, "own")];
    if (own.heart) parts.unshift(this.line(top, "heart", [own.heart], "true"));
    if (expert) parts.unshift(this.line(top, "heart", [expert.heart ?? []], "expert"));
    for (const [t, rate] of own.counts) {
      parts.push(coursePart("circle", { cx: this.x(t), cy: this.y(top, "heart", rate), r: 4, class: "tpiece-course-count" }));
    }
    return coursePart("g", {}, ...parts);
  }

  /** @param {number} top */
  bands(top) {
    return coursePart("g", {}, ...this.data.band.filter(([from]) => from < this.end).map(([from, to, low, high]) => {
      const [x, y] = [this.x(from), this.y(top, "saturation", high)];
      const width = this.x(Math.min(to, this.end)) - x;
      return coursePart("rect", { x, y, width, height: this.y(top, "saturation", low) - y, class: "tpiece-course-band" });
    }));
  }

  /**
   * @param {number} top
   * @param {Course} course
   * @param {string} kind
   */
  steps(top, { oxygen, end }, kind) {
    const d = oxygen.map(([t, value], n) => {
      const [x, y] = [this.x(t).toFixed(1), this.y(top, "oxygen", value).toFixed(1)];
      return n ? `H${x}V${y}` : `M${x},${y}`;
    }).join("");
    return coursePart("path", { d: `${d}H${this.x(end).toFixed(1)}`, class: `tpiece-course-line is-${kind}` });
  }

  // Own bars stand on the middle of their row, an expert's hang below it.
  /**
   * @param {number} top
   * @param {Course} course
   * @param {number} n
   */
  runs(top, { inflations }, n) {
    const half = COURSE_ROWS.inflations / 2;
    const [middle, most] = [top + half, Math.max(1, ...this.pressures())];
    const boxes = inflations.map(({ from, to, chest, pressure, count }) => {
      const tall = (count ? Math.max(0.12, pressure / most) : 1) * (half - 2);
      const [x, y] = [this.x(from), n ? middle + 1 : middle - 1 - tall];
      const width = Math.max(1.5, this.x(to) - x);
      return coursePart("rect", { x, y, width, height: tall, class: `tpiece-course-run-${chest}${n ? " is-expert" : ""}` });
    });
    const line = coursePart("path", { d: `M${COURSE.left},${middle}H${this.width - COURSE.right}`, class: "tpiece-course-level" });
    const scale = this.text(COURSE.left - 6, top + 9, String(most), "tpiece-course-end");
    return coursePart("g", {}, line, ...(n ? [] : [scale]), ...boxes);
  }

  pressures() {
    const { own, expert } = this.data;
    return [own, expert].flatMap((course) => (course ? course.inflations.map(({ pressure }) => pressure) : []));
  }

  /**
   * @param {number} top
   * @param {Course} course
   * @param {number} n
   */
  faces(top, { face }, n) {
    const [y, high] = [top + n * 22, 19];
    return coursePart("g", {}, ...face.filter(([, , , kind]) => kind).map(([from, to, says]) => {
      const [x, width] = [this.x(from), Math.max(2, this.x(to) - this.x(from))];
      const box = coursePart("rect", { x, y, width, height: high, class: `tpiece-course-face${n ? " is-expert" : ""}` });
      const room = width > 8 * says.length;
      return coursePart("g", {}, box, ...(room ? [this.text(x + 5, y + 14, says, "tpiece-course-small")] : []));
    }));
  }

  /**
   * @param {number} top
   * @param {Course} course
   * @param {number} n
   */
  acts(top, { acts }, n) {
    return coursePart("g", {}, ...acts.map(({ from, to, helper, says }) => {
      const y = top + n * 34 + (helper ? 16 : 0);
      const width = Math.max(2.5, this.x(to) - this.x(from));
      const kind = `tpiece-course-act${n ? " is-expert" : ""}`;
      return coursePart("rect", { x: this.x(from), y, width, height: 13, class: kind }, coursePart("title", {}, `${courseClock(from)} ${says}`));
    }));
  }

  // By keyboard the finding's own button does the same. Numbers close together stand in two rows.
  /**
   * @param {number} at
   * @param {number} number
   * @param {number} foot
   * @param {number[]} free
   */
  mark(at, number, foot, free) {
    const x = this.x(at);
    const row = free.findIndex((end) => x - 13 > end);
    const y = row === 1 ? 37 : 12;
    free[Math.max(0, row)] = x + 13;
    const line = coursePart("path", { d: `M${x},${y}V${foot}`, class: "tpiece-course-mark" });
    const dot = coursePart("circle", { cx: x, cy: y, r: 11, class: "tpiece-course-dot" });
    const node = coursePart("g", { class: "tpiece-course-goes" }, line, dot, this.text(x, y + 4.5, String(number), "tpiece-course-number"));
    node.addEventListener("pointerdown", (event) => {
      event.stopPropagation();
      this.by(at);
    });
    return node;
  }

  dispose() {
    this.watch.disconnect();
  }
}
