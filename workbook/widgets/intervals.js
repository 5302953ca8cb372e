// Each interval against a band: a mark's form says whether it lies inside, above or below.

import { element } from "./elements.js";
import { axes, bandLines, drawn, fitted, framed, round, twin } from "./picture.js";
import { fill } from "./speech.js";

/** @import { Intervals, Words } from "./types.js" */

/**
 * @param {number} value
 * @param {{ low: number, high: number }} band
 */
function intervalPlace(value, { low, high }) {
  return value > high ? "Over" : value < low ? "Under" : "In";
}

/**
 * @param {number} x
 * @param {number} y
 * @param {string} place
 */
function intervalMark(x, y, place) {
  const kind = { class: `tpiece-point tpiece-point-${place.toLowerCase()}` };
  if (place === "In") return drawn("circle", { cx: x, cy: y, r: 5, ...kind });
  const up = place === "Over" ? -1 : 1;
  return drawn("path", { d: `M${x - 6},${y - 5 * up}h12L${x},${y + 6 * up}Z`, ...kind });
}

/**
 * @param {Intervals} picture
 * @param {Words} words
 */
function drawIntervals(picture, words) {
  const { low, high, intervals, unit } = picture;
  const most = Math.max(high, ...intervals);
  const y = { from: 0, to: most * 1.15, title: fill(words.intervalLength, { unit }) };
  const count = intervals.length;
  const x = { from: 0, to: count + 1, title: words.intervalsAxis, count };
  const says = fill(words.intervals, { count, low, high, unit });
  return fitted(says, 280, (width) => {
    const made = axes(width, 280, x, y);
    const { at, box } = made;
    const top = at.y(high);
    const band = { x: box.left, y: top, width: box.right - box.left, height: at.y(low) - top };
    const marks = intervals.map((value, n) =>
      intervalMark(at.x(n + 1), at.y(value), intervalPlace(value, picture)),
    );
    const area = drawn("rect", { ...band, class: "tpiece-band" });
    return [area, ...made.parts, ...bandLines(made, low, high), ...marks];
  });
}

/**
 * @param {Intervals} picture
 * @param {Words} words
 */
export function intervalFigure(picture, words) {
  const count = picture.intervals.length;
  const says = picture.says ?? fill(words.intervals, { count, ...picture });
  const rows = picture.intervals.map((value, n) => [
    n + 1,
    round(value, 2),
    words[`interval${intervalPlace(value, picture)}`],
  ]);
  const head = [words.intervalsAxis, fill(words.intervalLength, { ...picture }), words.intervalWhere];
  const key = `○ ${words.intervalIn}  ▲ ${words.intervalOver}  ▼ ${words.intervalUnder}`;
  const legend = element("p", { class: "tpiece-key-line" }, key);
  const drawing = drawIntervals(picture, words);
  return framed(picture.title, drawing, legend, twin(words, says, head, rows));
}
