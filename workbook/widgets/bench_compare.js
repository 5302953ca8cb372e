// After a run: its needle above an expert's of the same case, on one axis of time, with the moment of
// each finding marked. A mark, or the finding's own button, goes to that second in the picture.

import { benchShows, LiveBench } from "./bench.js";
import { benchSvg } from "./bench_drawing.js";
import { button, element } from "./elements.js";
import { fill, numeral } from "./speech.js";

/** @import { BenchTraits, Compared, Model, Needle, Words } from "./types.js" */

const COMPARE = { row: 92, gap: 26, left: 40, right: 14, foot: 24, step: 20 }; // pixels; cmH2O

class BenchCompare {
  // `go(at)` shows the learner's run at a second.
  /**
   * @param {Words} words
   * @param {(at: number) => void} go
   */
  constructor(words, go) {
    this.words = words;
    this.go = go;
    /** @type {Compared | undefined} */
    this.shown = undefined;
    /** @type {(() => void) | undefined} */
    this.leave = undefined;
    this.place = element("div", { class: "tpiece-compare-place" });
    this.root = element("figure", { class: "tpiece-compare", hidden: true });
    this.root.append(element("figcaption", {}, words.benchCompare), this.place);
    this.list = element("ol", { class: "tpiece-compare-moments" });
    this.root.append(this.list);
    this.watch = new ResizeObserver(([{ contentRect: { width } }]) => width > 0 && this.draw(width));
    this.watch.observe(this.place);
  }

  // Show what a control's feedback says, now and later.
  /** @param {Model<BenchTraits>} model */
  follow(model) {
    const tell = () => this.show(model.get("feedback")?.compare);
    model.on("change:feedback", tell);
    this.leave = () => model.off("change:feedback", tell);
    tell();
  }

  /** @param {Compared | undefined} compare */
  show(compare) {
    this.shown = compare;
    this.root.hidden = !compare;
    if (!compare) return;
    const { benchCompareGo } = this.words;
    this.list.replaceChildren(...compare.moments.map(({ at, says }) => {
      const go = button(fill(benchCompareGo, { time: at.toFixed(1) }), () => this.go(at));
      go.setAttribute("aria-label", `${go.textContent}: ${says}`);
      return element("li", {}, element("span", {}, says), " ", go);
    }));
    if (this.place.clientWidth) this.draw(this.place.clientWidth);
  }

  /** @param {number} width */
  draw(width) {
    if (!this.shown) return;
    const { own, expert, moments } = this.shown;
    const { row, gap, left, right, foot } = COMPARE;
    const height = 2 * (row + gap) + foot;
    const until = Math.max(own.time[own.time.length - 1], expert.time[expert.time.length - 1]);
    /** @param {number} time */
    const x = (time) => left + ((width - left - right) * time) / until;
    const top = COMPARE.step * Math.ceil(Math.max(1, ...own.pressure, ...expert.pressure) / COMPARE.step);
    const svg = benchSvg("svg", { viewBox: `0 0 ${width} ${height}`, height, role: "img" });
    svg.setAttribute("aria-label", `${this.says("benchCompareOwn", own)} ${this.says("benchCompareExpert", expert)}`);
    svg.append(this.times(until, x, height), this.row("benchCompareOwn", own, gap, { x, top, width }));
    svg.append(this.row("benchCompareExpert", expert, row + 2 * gap, { x, top, width }));
    moments.forEach(({ at }, n) => svg.append(this.mark(x(at), at, n + 1)));
    this.place.replaceChildren(svg);
  }

  /**
   * @param {string} who
   * @param {Needle} run
   * @param {number} from
   * @param {{ x: (time: number) => number, top: number, width: number }} scale
   */
  row(who, run, from, { x, top, width }) {
    const { row, left, right } = COMPARE;
    /** @param {number} value */
    const y = (value) => from + row - (row * value) / top;
    const levels = [0, top / 2, top].flatMap((n) => {
      const rule = benchSvg("path", { d: `M${left},${y(n)}H${width - right}`, class: "tpiece-compare-level" });
      return [rule, benchSvg("text", { x: left - 6, y: y(n) + 4, class: "tpiece-compare-end" }, numeral(n))];
    });
    const points = run.time.map((time, n) => `${x(time).toFixed(1)},${y(run.pressure[n]).toFixed(1)}`);
    const line = benchSvg("path", { d: `M${points.join("L")}`, class: `tpiece-compare-line ${who}` });
    const name = benchSvg("text", { x: left, y: from - 8, class: "tpiece-compare-name" }, this.words[who]);
    return benchSvg("g", {}, ...levels, line, name);
  }

  /**
   * @param {number} until
   * @param {(time: number) => number} x
   * @param {number} height
   */
  times(until, x, height) {
    const every = [1, 2, 5, 10, 20, 60, 120].find((step) => x(step) - x(0) > 34) ?? 300;
    const count = Math.floor(until / every);
    const marks = Array.from({ length: count + 1 }, (_, n) => n * every);
    const texts = marks.map((n) => benchSvg("text", { x: x(n), y: height - 6, class: "tpiece-compare-time" }, String(n)));
    return benchSvg("g", {}, ...texts);
  }

  // The mark of a finding on the own run; by keyboard the finding's button does the same.
  /**
   * @param {number} x
   * @param {number} at
   * @param {number} number
   */
  mark(x, at, number) {
    const { row, gap } = COMPARE;
    const line = benchSvg("path", { d: `M${x},${gap}V${gap + row}`, class: "tpiece-compare-mark" });
    const dot = benchSvg("circle", { cx: x, cy: gap - 10, r: 12, class: "tpiece-compare-dot" });
    const text = benchSvg("text", { x, y: gap - 5.5, class: "tpiece-compare-number" }, String(number));
    const felt = benchSvg("rect", { x: x - 12, y: 0, width: 24, height: gap + row, class: "tpiece-compare-felt" });
    const node = benchSvg("g", { class: "tpiece-compare-go" }, felt, line, dot, text);
    node.addEventListener("click", () => this.go(at));
    return node;
  }

  /**
   * @param {string} who
   * @param {Needle} run
   */
  says(who, { time, pressure }) {
    const [low, high] = [Math.round(Math.min(...pressure)), Math.round(Math.max(...pressure))];
    const seconds = Math.round(time[time.length - 1]);
    return fill(this.words.benchCompareSays, { who: this.words[who], seconds, low, high });
  }

  dispose() {
    this.leave?.();
    this.watch.disconnect();
  }
}

class ComparedBench extends LiveBench {
  makeCompare() {
    const compare = new BenchCompare(this.words, (at) => this.seek(at));
    this.frame.feedback.after(compare.root);
    compare.follow(this.model);
    return compare;
  }
}

export default benchShows(ComparedBench);
