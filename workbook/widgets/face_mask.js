// The mask on the face: a round rim with a notch, drawn in mm, and the picture it is moved in.

import { besideFace, drawBaby, NARROW, reach, RULER, ruler, viewOf } from "./face_drawing.js";
import { drawn, wrote } from "./picture.js";
import { fill } from "./speech.js";

/** @import { FaceGiven, Mask, Words } from "./types.js" */

const DEEP = 0.6; // of the rim's width: how far the notch cuts into it, for the look alone

/**
 * @param {number} radius
 * @param {number} rim
 * @param {number} notch
 */
function ringPath(radius, rim, notch) {
  const [inner, cut] = [radius - 2 * radius * rim, radius - 2 * radius * rim * (1 - DEEP)];
  /**
   * @param {number} r
   * @param {number} degrees
   */
  const at = (r, degrees) => {
    const angle = (degrees * Math.PI) / 180;
    return `${(r * Math.sin(angle)).toFixed(3)},${(-r * Math.cos(angle)).toFixed(3)}`;
  };
  const half = notch / 2;
  const outside = `M${at(radius, 0)}A${radius},${radius} 0 1 1 ${at(radius, 180)}`;
  const around = `${outside}A${radius},${radius} 0 1 1 ${at(radius, 0)}Z`;
  const far = `M${at(inner, half)}A${inner},${inner} 0 1 1 ${at(inner, -half)}`;
  return `${around}${far}L${at(cut, -half)}A${cut},${cut} 0 0 1 ${at(cut, half)}Z`;
}

/**
 * @param {number} size
 * @param {FaceGiven} face
 */
function drawMask(size, { rim, notch }) {
  const radius = size / 2;
  const inner = radius - size * rim;
  const [tip, foot, half] = [inner * 0.93, inner * 0.74, inner * 0.13];
  const pointer = `M0,${-tip}L${half},${-foot}H${-half}Z`;
  const [cross, stem] = [inner * 0.09, inner * 0.3];
  const shine = inner * 0.8;
  /**
   * @param {number} r
   * @param {string} kind
   */
  const round = (r, kind) => drawn("circle", { r, class: `tpiece-mask-${kind}` });
  return [
    round(radius, "halo"),
    round(radius, "dome"),
    drawn("path", { d: ringPath(radius, rim, notch), class: "tpiece-mask-rim" }),
    drawn("path", { d: `M${-shine},${-0.2 * inner}A${shine},${shine} 0 0 1 ${-0.35 * inner},${-0.72 * inner}`, class: "tpiece-mask-shine" }),
    round(radius, "edge"),
    round(stem, "stem"),
    drawn("path", { d: pointer, class: "tpiece-mask-notch" }),
    drawn("path", { d: `M${-cross},0H${cross}M0,${-cross}V${cross}`, class: "tpiece-mask-cross" }),
  ];
}

// Seen while the mask has the focus: two rings, one dark and one light on any ground, and the four
// ways that the arrow keys go.
/** @param {number} size */
function drawFocus(size) {
  const radius = size / 2 + 1.6;
  const tips = [0, 90, 180, 270].map((turn) => drawn("path", {
    d: `M0,${-radius - 3.4}L2.4,${-radius - 1}H-2.4Z`, transform: `rotate(${turn})`, class: "tpiece-mask-way",
  }));
  /** @param {string} kind */
  const ring = (kind) => drawn("circle", { r: radius, class: `tpiece-mask-focus-${kind}` });
  return [ring("under"), ring("over"), ...tips];
}

// The whole picture. What is in mm is drawn once; the rulers anew when the width changes.
export class FacePicture {
  /**
   * @param {FaceGiven} face
   * @param {Words} words
   * @param {string} id
   */
  constructor(face, words, id) {
    this.face = face;
    this.words = words;
    this.view = viewOf(face, false);
    /** @type {Mask | null} */
    this.value = null;
    this.width = this.scale = this.edge = this.below = this.size = 0;
    const none = (/** @type {number} */ n) => n;
    this.at = { x: none, y: none };
    /** @type {Element[]} */
    this.reaches = [];
    this.moved = () => {}; // hears that the room beside the face is somewhere else
    this.svg = drawn("svg", { role: "group", "aria-label": words.faceGroup });
    this.svg.setAttribute("class", "tpiece-drawing tpiece-baby");
    const says = fill(words.faceDrawing, { length: face.length });
    const clip = drawn("clipPath", { id: `${id}-clip` }, (this.window = drawn("rect")));
    this.still = drawn("g", { role: "img", "aria-label": says }); // also the rulers: read as one
    this.baby = drawn("g", { class: "tpiece-baby-all" }, ...drawBaby(face, this.view));
    this.rulers = drawn("g");
    this.mask = drawn("g", { class: "tpiece-mask", tabindex: "0", role: "application" });
    this.mask.setAttribute("data-lm-suppress-shortcuts", "true");
    this.mask.setAttribute("aria-roledescription", words.faceKind);
    this.mask.setAttribute("aria-describedby", `${id}-how`);
    this.body = drawn("g");
    this.focus = drawn("g", { class: "tpiece-mask-focus" });
    this.mask.append(this.body, this.focus);
    this.plane = drawn("g", {}, this.mask);
    /** @param {...Node} parts */
    const inside = (...parts) => drawn("g", { "clip-path": `url(#${id}-clip)` }, ...parts);
    this.still.append(this.rulers, inside(this.baby));
    this.labels = drawn("g", { "aria-hidden": "true" });
    this.svg.append(clip, this.still, this.labels, inside(this.plane));
    this.watch = new ResizeObserver(([{ contentRect }]) => this.fit(contentRect.width));
    this.watch.observe(this.svg);
  }

  /** @param {number} width */
  fit(width) {
    if (width <= 0 || width === this.width) return;
    if (this.view.narrow !== width < NARROW) this.arrange(width < NARROW);
    const { left, right, top, foot } = this.view;
    const scale = (width - RULER - 2) / (right - left);
    const [edge, below] = [RULER, (foot - top) * scale + 2];
    const at = { x: (/** @type {number} */ n) => edge + (n - left) * scale, y: (/** @type {number} */ n) => 2 + (n - top) * scale };
    Object.assign(this, { width, scale, at, edge, below });
    this.svg.setAttribute("height", String(below + RULER));
    const box = { x: edge, y: 2, width: width - edge - 2, height: below - 2 };
    for (const [name, value] of Object.entries(box)) this.window.setAttribute(name, String(value));
    for (const part of [this.baby, this.plane]) {
      part.setAttribute("transform", `translate(${at.x(0)} ${at.y(0)}) scale(${scale})`);
    }
    this.frame(box);
    this.show(this.value);
  }

  /** @param {boolean} narrow */
  arrange(narrow) {
    this.view = viewOf(this.face, narrow);
    this.baby.replaceChildren(...drawBaby(this.face, this.view));
    this.moved();
  }

  /** @param {number} size */
  beside(size) {
    return besideFace(this.view, size);
  }

  /** @param {{ x: number, y: number, width: number, height: number }} box */
  frame(box) {
    const { left, right, top, foot } = this.view;
    const { at, edge, below, scale, words } = this;
    this.reaches = ["x", "y"].map(() => drawn("path", { class: "tpiece-ruler-reach" }));
    this.rulers.replaceChildren(
      drawn("rect", { ...box, class: "tpiece-ruler-frame" }),
      ruler("x", [left, right], scale, at.x, below),
      ruler("y", [top, foot], scale, at.y, edge),
      wrote(edge - 8, below + 27, "mm", { class: "tpiece-end" }),
      ...this.reaches,
    );
    /** @param {number} n */
    const level = (n) => `M${edge},${at.y(n)}H${at.x(right)}`;
    const [near, far] = [{ class: "tpiece-baby-said" }, { class: "tpiece-baby-said tpiece-end" }];
    const lines = [0, this.face.length].map(level).join("");
    this.labels.replaceChildren(
      drawn("path", { d: lines, class: "tpiece-ruler-level" }),
      wrote(at.x(right) - 6, at.y(0) - 6, words.faceGroove, far),
      wrote(edge + 8, at.y(this.face.length) - 6, words.faceAtChin, near),
    );
  }

  /** @param {Mask | null} value */
  show(value) {
    this.value = value;
    this.mask.setAttribute("visibility", value ? "visible" : "hidden");
    if (!value) return;
    if (this.size !== value.mask) {
      this.body.replaceChildren(...drawMask(value.mask, this.face));
      this.focus.replaceChildren(...drawFocus(value.mask));
    }
    this.size = value.mask;
    this.mask.setAttribute("transform", `translate(${value.x} ${value.y})`);
    this.body.setAttribute("transform", `rotate(${value.turn})`);
    if (!this.scale) return;
    const { left, right, top, foot } = this.view;
    const [x, y] = this.reaches;
    const radius = value.mask / 2;
    x.setAttribute("d", reach("x", value.x, radius, [left, right], this.at.x, this.below));
    y.setAttribute("d", reach("y", value.y, radius, [top, foot], this.at.y, this.edge));
  }

  // A place on the page in mm on the face.
  /**
   * @param {MouseEvent} event
   * @returns {[number, number]}
   */
  mm({ clientX, clientY }) {
    const box = this.svg.getBoundingClientRect();
    const zoom = this.width / box.width;
    return [
      ((clientX - box.left) * zoom - this.at.x(0)) / this.scale,
      ((clientY - box.top) * zoom - this.at.y(0)) / this.scale,
    ];
  }

  // The nearest place whose middle is still in the picture.
  /**
   * @param {number} x
   * @param {number} y
   * @returns {[number, number]}
   */
  inside(x, y) {
    const { left, right, top, foot } = this.view;
    /**
     * @param {number} n
     * @param {number} from
     * @param {number} to
     */
    const near = (n, from, to) => Math.max(Math.ceil(from), Math.min(Math.floor(to), n));
    return [near(x, left, right), near(y, top, foot)];
  }

  dispose() {
    this.watch.disconnect();
  }
}
