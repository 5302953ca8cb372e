// The bench's strip: pressure over the last seconds, scrolling, with what the thumb did below it;
// the volume in a second strip on request. Only paths change from frame to frame.

import { benchPut, benchSvg, benchWord } from "./bench_drawing.js";
import { element } from "./elements.js";
import { numeral } from "./speech.js";

/** @import { PlayPoint, StripOptions, Words } from "./types.js" */

/**
 * @typedef {"pressure" | "volume"} TrackKind
 * @typedef {{ from: number, to: number, open: boolean }} Span
 */
const BENCH_TOPS = { pressure: [20, 40, 80, 160], volume: [10, 20, 40, 80, 160, 320] };
// Pixels around a strip; in front of a room the words on its left are larger.
const BENCH_FINE = 0.1; // pixels by which a point may lie beside the line that leaves it out
const BENCH_BOX = { left: 70, room: 84, right: 12, top: 24, foot: 46, bare: 12 };

/**
 * @param {number[]} steps
 * @param {number} most
 */
function benchTop(steps, most) {
  return steps.find((step) => step >= most) ?? steps[steps.length - 1];
}

// The points of the last seconds, and the one before them, so that the line begins at the edge.
/**
 * @param {PlayPoint[]} history
 * @param {number} since
 */
export function benchRecent(history, since) {
  let low = 0;
  let high = history.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (history[middle].time < since) low = middle + 1;
    else high = middle;
  }
  return Math.max(0, low - 1);
}

// The line through the points, without those that lie on it anyway: what is left out is off by less
// than an eye can see, and a line drawn sixty times a second has a tenth of its points.
/**
 * @param {PlayPoint[]} history
 * @param {number} first
 * @param {(point: PlayPoint) => number} read
 * @param {(time: number) => number} x
 * @param {(value: number) => number} y
 */
function benchPath(history, first, read, x, y) {
  if (history.length - first < 2) return "";
  /** @type {string[]} */
  const kept = [];
  /**
   * @param {number} at
   * @param {number} up
   */
  const keep = (at, up) => kept.push(`${at.toFixed(1)},${up.toFixed(1)}`);
  let [fromX, fromY] = [x(history[first].time), y(read(history[first]))];
  let [lastX, lastY, low, high] = [fromX, fromY, -Infinity, Infinity];
  keep(fromX, fromY);
  for (let n = first + 1; n < history.length; n += 1) {
    const [nextX, nextY] = [x(history[n].time), y(read(history[n]))];
    const slope = (nextY - fromY) / (nextX - fromX);
    if (!(slope >= low && slope <= high)) {
      keep(lastX, lastY);
      [fromX, fromY, low, high] = [lastX, lastY, -Infinity, Infinity];
    }
    const wide = nextX - fromX;
    low = Math.max(low, (nextY - BENCH_FINE - fromY) / wide);
    high = Math.min(high, (nextY + BENCH_FINE - fromY) / wide);
    [lastX, lastY] = [nextX, nextY];
  }
  keep(lastX, lastY);
  return `M${kept.join("L")}`;
}

/**
 * @param {PlayPoint[]} history
 * @param {number} first
 */
function benchSpans(history, first) {
  /** @type {Span[]} */
  const spans = [];
  for (let n = first; n < history.length; n += 1) {
    const { time, held } = history[n];
    const last = spans.at(-1);
    if (held && last?.open) last.to = time;
    else if (held) spans.push({ from: time, to: time, open: true });
    else if (last?.open) Object.assign(last, { to: time, open: false });
  }
  return spans;
}

// One strip of a kind, "pressure" or "volume"; `foot` gives it the time and the thumb's bars.
export class BenchTrack {
  /**
   * @param {Words} words
   * @param {TrackKind} kind
   * @param {boolean} foot
   */
  constructor(words, kind, foot) {
    this.words = words;
    this.kind = kind;
    this.foot = foot;
    this.limit = Infinity;
    this.top = this.width = this.height = this.left = 0;
    /** @type {number | null} */
    this.from = null;
    /** @type {[PlayPoint[], StripOptions] | undefined} */
    this.last = undefined;
    this.line = benchSvg("path", { class: `tpiece-bench-curve tpiece-bench-curve-${kind}` });
    this.grid = benchSvg("g", { class: "tpiece-bench-grid" });
    this.seconds = benchSvg("g", { class: "tpiece-bench-seconds" });
    this.bars = benchSvg("g", { class: "tpiece-bench-bars" });
    this.title = benchSvg("text", { x: 4, y: 12, class: "tpiece-bench-title" });
    this.title.append(benchWord(words, kind === "volume" ? "benchVolume" : "benchPressure"));
    this.fixed = benchSvg("g");
    this.still = globalThis.matchMedia("(prefers-reduced-motion: reduce)");
    this.clip = element("div", { class: "tpiece-bench-track" });
    this.paper = benchSvg("g", {}, this.seconds, this.bars);
    /** @type {Map<number, Element>} */
    this.marks = new Map();
    const inside = [this.title, this.grid, this.paper, this.line, this.fixed];
    this.svg = benchSvg("svg", { "aria-hidden": "true" }, ...inside);
    this.clip.append(this.svg);
    new ResizeObserver(([{ contentRect: box }]) => this.size(box.width, box.height))
      .observe(this.clip);
  }

  get floor() {
    return this.height - (this.foot ? BENCH_BOX.foot : BENCH_BOX.bare);
  }

  /**
   * @param {number} width
   * @param {number} height
   */
  size(width, height) {
    Object.assign(this, { width, height, top: 0, from: null });
    this.marks.clear();
    this.seconds.replaceChildren();
    this.svg.setAttribute("viewBox", `0 0 ${Math.max(1, width)} ${Math.max(1, height)}`);
    this.left = this.svg.closest("[data-educator]") ? BENCH_BOX.room : BENCH_BOX.left;
    this.fixed.replaceChildren();
    if (this.foot) this.label();
    if (this.last) this.draw(...this.last);
  }

  // What the two rows below the curve are: the thumb's bars, and the time.
  label() {
    // A second at the edge is written about its mark: the word beside it leaves room.
    const rows = [{ word: "benchOccluded", room: 6, y: this.floor + 20.5 }, { word: "benchTime", room: 14, y: this.height - 6 }];
    for (const { word, room, y } of rows) {
      const text = benchSvg("text", { x: this.left - room, y, class: "tpiece-bench-end" });
      text.append(benchWord(this.words, word));
      this.fixed.append(text);
    }
  }

  /**
   * @param {PlayPoint[]} history
   * @param {StripOptions} options
   */
  draw(history, { seconds = 10, now = history.at(-1)?.time ?? 0 } = {}) {
    this.last = [history, { seconds, now }];
    if (this.width < 80 || this.floor <= BENCH_BOX.top) return; // no room for a curve
    const since = this.since(now, seconds);
    const first = benchRecent(history, since);
    const name = this.kind === "volume" ? "volume" : "manometer";
    /** @param {PlayPoint} at */
    const read = (at) => Math.min(at[name], this.limit);
    this.scale(benchRange(history, first, name).high, now);
    const wide = this.width - this.left - BENCH_BOX.right;
    const x = (/** @type {number} */ time) => this.left + (Math.max(0, time - since) / seconds) * wide;
    const y = (/** @type {number} */ value) => this.floor - (value / this.top) * (this.floor - BENCH_BOX.top);
    this.line.setAttribute("d", benchPath(history, first, read, x, y));
    const step = wide / seconds;
    this.paper.setAttribute("transform", `translate(${(this.left - since * step).toFixed(2)} 0)`);
    this.times(Math.ceil(since), Math.ceil(seconds), step);
    if (this.foot) this.held(benchSpans(history, first), since, step);
  }

  // With reduced motion the paper does not scroll: it is moved on by half its length at a time.
  /**
   * @param {number} now
   * @param {number} seconds
   */
  since(now, seconds) {
    if (!this.still.matches) return now - seconds;
    return Math.max(0, Math.ceil((2 * now) / seconds - 2) * (seconds / 2));
  }

  // The scale steps; it does not follow every wiggle.
  /**
   * @param {number} most
   * @param {number} [_now]
   */
  scale(most, _now) {
    const top = benchTop(BENCH_TOPS[this.kind], most);
    if (top === this.top) return;
    this.top = top;
    this.clip.dataset.top = String(top);
    this.grid.replaceChildren(...[0, 1, 2, 3, 4].flatMap((n) => this.level(n / 4)));
  }

  /** @param {number} share */
  level(share) {
    const y = this.floor - share * (this.floor - BENCH_BOX.top);
    const end = this.width - BENCH_BOX.right;
    const rule = benchSvg("path", { d: `M${this.left},${y}H${end}` });
    if (share === 0) rule.setAttribute("class", "tpiece-bench-floor");
    const [half, room] = [Number.isInteger(share * 2), (this.floor - BENCH_BOX.top) / 4 > 17];
    if (!half && !room) return [rule];
    const text = benchSvg("text", { x: this.left - 6, y: y + 4.5 }, numeral(share * this.top));
    return [rule, text];
  }

  // A mark at every whole second lies on the paper, as the thumb's bars do, and moves along with it:
  // each second one goes and one comes. Words that stay are not laid out again.
  /**
   * @param {number} from
   * @param {number} count
   * @param {number} step
   */
  times(from, count, step) {
    if (from === this.from) return;
    this.from = from;
    for (const [at, mark] of this.marks) {
      if (at >= from && at < from + count) continue;
      mark.remove();
      this.marks.delete(at);
    }
    for (let at = Math.max(0, from); at < from + count; at += 1) {
      if (this.marks.has(at)) continue;
      const mark = this.mark(at, step);
      this.marks.set(at, mark);
      this.seconds.append(mark);
    }
  }

  /**
   * @param {number} at
   * @param {number} step
   */
  mark(at, step) {
    const x = (at * step).toFixed(1);
    /** @type {Element[]} */
    const parts = [benchSvg("path", { d: `M${x},${BENCH_BOX.top}V${this.floor + 5}` })];
    const named = this.foot && Number.isInteger(at / (step < 30 ? 2 : 1));
    if (named) parts.push(benchSvg("text", { x, y: this.height - 6 }, String(at)));
    return benchSvg("g", {}, ...parts);
  }

  /**
   * @param {Span[]} spans
   * @param {number} since
   * @param {number} step
   */
  held(spans, since, step) {
    while (this.bars.childNodes.length > spans.length) this.bars.lastChild?.remove();
    while (this.bars.childNodes.length < spans.length) {
      this.bars.append(benchSvg("rect", { rx: 3, height: 17 }));
    }
    spans.forEach(({ from, to }, n) => {
      const [left, right] = [from, to].map((time) => Math.max(since, time) * step);
      const place = { x: left, y: this.floor + 7, width: Math.max(2, right - left) };
      for (const [key, value] of Object.entries(place)) benchPut(this.bars.children[n], key, value.toFixed(1));
    });
  }
}

/** @param {Words} words */
export function benchStrip(words, pressure = new BenchTrack(words, "pressure", true)) {
  /** @type {Partial<Record<TrackKind, BenchTrack>> & { pressure: BenchTrack }} */
  const tracks = { pressure };
  const root = element("div", { class: "tpiece-bench-strip", role: "img" }, tracks.pressure.clip);
  const tell = benchTwin(words, root);
  /**
   * @param {PlayPoint[]} history
   * @param {StripOptions} options
   */
  function draw(history, options = {}) {
    const volume = options.volume ? (tracks.volume ??= new BenchTrack(words, "volume", false)) : null;
    if (volume && !volume.clip.isConnected) root.prepend(volume.clip);
    if (!volume) tracks.volume?.clip.remove();
    tracks.pressure.draw(history, options);
    volume?.draw(history, options);
    tell(history, options);
  }
  tell([], {});
  return { root, draw };
}

// The strip in words, for who cannot see it: written once a second, read when asked for.
/**
 * @param {Words} words
 * @param {Element} root
 */
function benchTwin(words, root) {
  /** @type {string | null} */
  let told = null;
  /**
   * @param {PlayPoint[]} history
   * @param {StripOptions} options
   */
  return (history, { seconds = 10, now = history.at(-1)?.time ?? 0, volume = false }) => {
    const at = `${Math.floor(now)} ${history.length > 0} ${volume}`;
    if (at === told) return;
    told = at;
    const first = benchRecent(history, now - seconds);
    const count = benchSpans(history, first).length;
    /** @param {"manometer" | "volume"} name */
    const range = (name) => {
      const { low, high } = benchRange(history, first, name);
      return { low: Math.round(low), high: Math.round(high) };
    };
    const says = [benchWord(words, "benchStrip", { seconds, count, ...range("manometer") })];
    if (volume) says.push(benchWord(words, "benchStripVolume", range("volume")));
    root.setAttribute("aria-label", says.join(" "));
  };
}

/**
 * @param {PlayPoint[]} history
 * @param {number} first
 * @param {"manometer" | "volume"} name
 */
export function benchRange(history, first, name) {
  if (!history.length) return { low: 0, high: 0 };
  let [low, high] = [Infinity, -Infinity];
  for (let n = first; n < history.length; n += 1) {
    low = Math.min(low, history[n][name]);
    high = Math.max(high, history[n][name]);
  }
  return { low, high };
}
