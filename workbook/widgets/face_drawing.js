// A newborn's face from the front, drawn from its measures in mm, between two rulers.

import { drawn, round, twin, wrote } from "./picture.js";
import { fill } from "./speech.js";

/** @import { FaceGiven, Oval, Words } from "./types.js" */

/**
 * @typedef {{ left: number, right: number, top: number, foot: number, narrow: boolean }} View the part of the plane that is shown (mm)
 * @typedef {(n: number) => number} PlaceOf
 * @typedef {(across: number, down: number) => string} Spot
 */
export const RULER = 50; // pixels beside and below the picture
const ROOM = 5; // mm between the face, a mask beside it and the edge of the picture
const NUMBERS = 30; // pixels between two numbers of a ruler
export const NARROW = 420; // pixels; in a narrower picture the mask waits above the face

// The part of the plane that is shown: the face, and beside its chin, or above it, room for the
// largest mask.
/**
 * @param {FaceGiven} face
 * @param {boolean} narrow
 * @returns {View}
 */
export function viewOf({ length, shapes, masks }, narrow) {
  const [, y, wide, high] = shapes.face;
  const most = Math.max(...masks);
  const half = Math.max(1.18 * wide, most / 2) + ROOM / 2;
  const top = y - 1.22 * high - ROOM / 2;
  if (narrow) return { left: -half, right: half, top: top - most - ROOM, foot: length + 0.3 * most, narrow };
  return { left: -half, right: 0.56 * wide + most + ROOM, top, foot: length + 0.62 * most, narrow };
}

// Where a chosen mask waits, whole and to scale: at the corner beside the chin, or above the crown.
/**
 * @param {View} view
 * @param {number} size
 */
export function besideFace({ right, top, foot, narrow }, size) {
  const far = size / 2 + ROOM / 2;
  const whole = Math.round;
  return narrow ? { x: 0, y: whole(top + far) } : { x: whole(right - far), y: whole(foot - far) };
}

/**
 * @param {string} d
 * @param {string} kind
 */
function line(d, kind) {
  return drawn("path", { d, class: `tpiece-baby-${kind}` });
}

/**
 * @param {Oval} shape
 * @param {string} kind
 */
function oval([cx, cy, rx, ry], kind) {
  return drawn("ellipse", { cx, cy, rx, ry, class: `tpiece-baby-${kind}` });
}

// Everything in mm; the numbers below are shares of a part's own size, for the look alone. Outline,
// eyes, bridge, tip of the nose, mouth and chin reach as far as the workbook says.
/**
 * @param {FaceGiven} face
 * @param {View} view
 */
export function drawBaby({ length, shapes }, { left, right, top, foot }) {
  return [
    drawn("rect", { x: left, y: top, width: right - left, height: foot - top, class: "tpiece-baby-towel" }),
    folds(shapes.face),
    ...shoulders(shapes.face, length, foot),
    ...[-1, 1].flatMap((side) => ear(shapes.face, shapes.nose, side)),
    oval(shapes.face, "skin"),
    ...cheeks(shapes.face),
    ...eye(shapes["eye-left"]), ...eye(shapes["eye-right"]),
    ...bridge(shapes.bridge),
    ...nose(shapes.nose),
    ...mouth(shapes.mouth, shapes.nose),
    ...chin(shapes.chin),
    ...cap(shapes.face),
  ];
}

// A point of a part: 0,0 is its middle, 1 its edge.
/**
 * @param {Oval} part
 * @returns {Spot}
 */
function spot([x, y, wide, high]) {
  return (across, down) => `${x + across * wide},${y + down * high}`;
}

// The same line on both sides of a part.
/** @param {(side: number) => string} draw */
function both(draw) {
  return draw(-1) + draw(1);
}

// Soft folds of the towel the baby lies on.
/** @param {Oval} shape */
function folds([x, y, wide, high]) {
  const at = spot([x, y, wide, high]);
  return line(both((s) => `M${at(1.12 * s, -1)}Q${at(1.32 * s, -0.3)} ${at(1.22 * s, 0.5)}`), "fold");
}

// The wrap around the shoulders, crossed under the chin.
/**
 * @param {Oval} shape
 * @param {number} length
 * @param {number} foot
 */
function shoulders([x, , wide], length, foot) {
  const at = spot([x, 0, wide, length]);
  const low = (foot + 2) / length;
  /** @param {number} s */
  const side = (s) => `C${at(0.98 * s, 0.98)} ${at(1.22 * s, 1.14)} ${at(1.3 * s, low)}`;
  const wrap = `M${at(-0.62, 0.78)}${side(-1)}L${at(1.3, low)}${`C${at(1.22, 1.14)} ${at(0.98, 0.98)} ${at(0.62, 0.78)}`}Z`;
  const hem = `M${at(-0.72, 0.86)}C${at(-0.5, 1.24)} ${at(0.1, 1.34)} ${at(0.5, low)}`;
  const over = `M${at(0.72, 0.86)}C${at(0.62, 1.08)} ${at(0.32, 1.2)} ${at(0.03, 1.24)}`;
  return [line(wrap, "cloth"), line(hem + over, "fold")];
}

// Beside the nose, and behind the face's outline.
/**
 * @param {Oval} shape
 * @param {Oval} nose
 * @param {number} side
 */
function ear([x, , wide], [, level, , high], side) {
  const at = spot([x, level, side * wide, high]);
  const curve = `C${at(1.17, -5.2)} ${at(1.19, -0.4)} ${at(0.92, 0.5)}`;
  const fold = `M${at(0.99, -2.9)}Q${at(1.1, -2.6)} ${at(1.02, -0.9)}`;
  return [line(`M${at(0.92, -3.9)}${curve}`, "skin"), line(fold, "fine")];
}

/** @param {Oval} shape */
function cheeks([x, y, wide, high]) {
  /**
   * @param {number} s
   * @param {number} size
   */
  const round = (s, size) => oval([x + 0.52 * s * wide, y + 0.45 * high, size * wide, 0.8 * size * high], "blush");
  return [-1, 1].flatMap((s) => [0.34, 0.29, 0.24, 0.19].map((size) => round(s, size)));
}

// A shut eye: the whole eye is a soft shade, its lid's edge clear, with lashes, a crease and a brow.
/** @param {Oval} shape */
function eye(shape) {
  const at = spot(shape);
  const side = Math.sign(shape[0]);
  const lashes = [-0.7, -0.35, 0, 0.35, 0.7].map((share) => {
    const low = 0.25 + 0.75 * Math.sqrt(1 - share * share);
    return `M${at(share, low)}L${at(1.14 * share + 0.05 * side, low + 0.34)}`;
  });
  const crease = `M${at(-0.86, -0.5)}Q${at(0, -1.2)} ${at(0.86, -0.5)}`;
  const brow = `M${at(-0.95 * side, -2)}Q${at(-0.1 * side, -3.1)} ${at(1.05 * side, -1.9)}Q${at(-0.1 * side, -2.6)} ${at(-0.95 * side, -2)}Z`;
  const lid = `M${at(-1, 0.1)}Q${at(-0.7, 1)} ${at(0, 1)}Q${at(0.7, 1)} ${at(1, 0.1)}`;
  return [oval(shape, "shade"), line(crease, "fine"), line(lid, "lid"), line(lashes.join(""), "lash"), line(brow, "brow")];
}

/** @param {Oval} shape */
function bridge(shape) {
  const at = spot(shape);
  const light = oval([shape[0], shape[1] + 0.15 * shape[3], 0.26 * shape[2], 0.75 * shape[3]], "light");
  return [light, line(both((s) => `M${at(s, -0.55)}Q${at(0.62 * s, -0.05)} ${at(0.7 * s, 0.5)}`), "fine")];
}

// Wings and tip reach to the nose's own edge.
/** @param {Oval} shape */
function nose(shape) {
  const [x, y, wide, high] = shape;
  const at = spot(shape);
  /** @param {number} s */
  const wing = (s) => `M${at(0.7 * s, -0.72)}C${at(1.12 * s, -0.5)} ${at(1.08 * s, 0.75)} ${at(0.55 * s, 0.72)}`;
  const tip = `M${at(-0.42, 0.72)}Q${at(0, 1.25)} ${at(0.42, 0.72)}`;
  /** @param {number} s */
  const hole = (s) => oval([x + 0.4 * s * wide, y + 0.45 * high, 0.17 * wide, 0.2 * high], "hole");
  const light = oval([x, y - 0.25 * high, 0.26 * wide, 0.38 * high], "light");
  return [oval(shape, "shade"), light, line(both(wing) + tip, "lid"), hole(-1), hole(1)];
}

/**
 * @param {Oval} shape
 * @param {Oval} nose
 */
function mouth(shape, [, nose, , below]) {
  const at = spot(shape);
  const left = `M${at(-1, 0)}C${at(-0.62, -0.5)} ${at(-0.4, -1.25)} ${at(-0.17, -0.98)}Q${at(0, -0.62)} ${at(0.17, -0.98)}`;
  const lips = `${left}C${at(0.4, -1.25)} ${at(0.62, -0.5)} ${at(1, 0)}C${at(0.6, 0.6)} ${at(0.42, 1)} ${at(0, 1)}C${at(-0.42, 1)} ${at(-0.6, 0.6)} ${at(-1, 0)}Z`;
  const shut = both((s) => `M${at(0, -0.1)}C${at(0.25 * s, 0.25)} ${at(0.7 * s, 0.3)} ${at(s, -0.25)}`);
  const groove = `M${at(-0.13, -1.5)}L${shape[0] - 0.09 * shape[2]},${nose + 1.35 * below}M${at(0.13, -1.5)}L${shape[0] + 0.09 * shape[2]},${nose + 1.35 * below}`;
  return [line(lips, "lips"), line(shut, "lid"), line(groove, "fine")];
}

/** @param {Oval} shape */
function chin(shape) {
  const at = spot(shape);
  return [line(`M${at(-0.62, -0.55)}Q${at(0, -1.25)} ${at(0.62, -0.55)}`, "fine")];
}

// A knitted cap, well above the brows.
/** @param {Oval} shape */
function cap(shape) {
  const at = spot(shape);
  const crown = `M${at(-0.98, -0.42)}C${at(-1.12, -1.48)} ${at(1.12, -1.48)} ${at(0.98, -0.42)}`;
  const hem = `Q${at(0, -0.82)} ${at(-0.98, -0.42)}Z`;
  const band = `M${at(-1.04, -0.4)}Q${at(-1.02, -0.52)} ${at(-0.97, -0.62)}Q${at(0, -1.02)} ${at(0.97, -0.62)}Q${at(1.02, -0.52)} ${at(1.04, -0.4)}Q${at(0, -0.8)} ${at(-1.04, -0.4)}Z`;
  const knit = [-0.6, -0.3, 0, 0.3, 0.6].map((n) => {
    return `M${at(1.28 * n, -0.76 - 0.1 * (1 - n * n))}Q${at(1.2 * n, -1)} ${at(0.62 * n, -1.14 + 0.05 * n * n)}`;
  });
  return [line(crown + hem, "cloth"), line(knit.join(""), "fold"), line(band, "cloth")];
}

// --- rulers: `along` "x" or "y"; `from` and `to` in mm, `place` makes pixels of mm

/**
 * @param {"x" | "y"} along
 * @param {[number, number]} ends
 * @param {number} scale
 * @param {PlaceOf} place
 * @param {number} edge
 */
export function ruler(along, [from, to], scale, place, edge) {
  const every = 10 * Math.max(1, Math.ceil(NUMBERS / (10 * scale)));
  const [first, last] = [Math.ceil(from), Math.floor(to)];
  const all = Array.from({ length: last - first + 1 }, (_, n) => first + n);
  /** @param {number} n */
  const mark = (n) => {
    const long = n % 10 === 0 ? 12 : n % 5 === 0 ? 8 : 5;
    return along === "x" ? `M${place(n)},${edge}v${long}` : `M${edge},${place(n)}h${-long}`;
  };
  /** @param {number} n */
  const number = (n) => {
    const text = String(n).replace("-", "\u2212");
    const [x, y] = along === "x" ? [place(n), edge + 27] : [edge - 15, place(n) + 4.5];
    return wrote(x, y, text, { class: along === "x" ? "tpiece-middle" : "tpiece-end" });
  };
  const root = drawn("g", { class: `tpiece-ruler tpiece-ruler-${along}` });
  root.append(drawn("path", { d: all.map(mark).join(""), class: "tpiece-ruler-marks" }));
  root.append(...all.filter((n) => n % every === 0).map(number));
  return root;
}

// How far the mask reaches, along a ruler.
/**
 * @param {"x" | "y"} along
 * @param {number} middle
 * @param {number} radius
 * @param {[number, number]} ends
 * @param {PlaceOf} place
 * @param {number} edge
 */
export function reach(along, middle, radius, [from, to], place, edge) {
  /** @param {number} n */
  const inside = (n) => place(Math.max(from, Math.min(to, n)));
  const [one, two] = [inside(middle - radius), inside(middle + radius)];
  return along === "x" ? `M${one},${edge + 3}H${two}` : `M${edge - 3},${one}V${two}`;
}

// The same in words and numbers: from where to where each part reaches.
/**
 * @param {FaceGiven} face
 * @param {Words} words
 */
export function faceTwin({ length, shapes }, words) {
  /**
   * @param {number} middle
   * @param {number} half
   */
  const span = (middle, half) => {
    const [from, to] = [middle - half, middle + half].map((n) => signed(n));
    return fill(words.faceTo, { from, to });
  };
  const rows = Object.entries(shapes).map(([name, [x, y, wide, high]]) => [
    words[`facePart_${name}`] ?? name, span(x, wide), span(y, high),
  ]);
  const head = [words.facePart, words.faceAcrossMm, words.faceDownMm];
  return twin(words, fill(words.faceDrawing, { length }), head, rows);
}

/** @param {number} n */
function signed(n, digits = 1) {
  return String(round(n, digits)).replace("-", "\u2212");
}
