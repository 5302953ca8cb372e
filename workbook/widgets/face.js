// A mask laid on a face: by mouse, touch or keyboard. Python tells where its edges lie.

import { element } from "./elements.js";
import { faceTwin } from "./face_drawing.js";
import { FacePicture } from "./face_mask.js";
import { FacePanel, MOVE, saidMask } from "./face_panel.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { framed, round } from "./picture.js";
import { same, Saver } from "./saving.js";
import { fill } from "./speech.js";

/** @import { FaceTraits, Mask, Model, Placed, Render, Words } from "./types.js" */

const FAR = 5; // mm of an arrow key with Shift, or of a page key
const PAUSE = 800; // milliseconds after the last move, before an answer is sent or read aloud
const ASK = 120; // milliseconds between two questions where the mask lies
const SLOW = 1500; // milliseconds until a missing reply is told
/** @type {Record<string, [number, number]>} */
const WAYS = {
  ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0],
  PageUp: [0, -FAR], PageDown: [0, FAR],
};

class FaceControl {
  onTold = (/** @type {Placed} */ message) => this.hear(message);
  /** @type {FacePicture} */
  picture;
  /** @type {FacePanel} */
  panel;
  /** @type {HTMLElement} */
  told;
  /** @type {HTMLElement} */
  list;
  /** @type {HTMLElement} */
  aloud;
  /** @type {string} */
  says;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  slow;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  later;

  /**
   * @param {Model<FaceTraits>} model
   * @param {Element} el
   */
  constructor(model, el) {
    this.model = model;
    this.frame = new Frame(model, el, { group: true, showFigure });
    this.words = this.frame.words;
    this.locked = model.get("read_only");
    this.face = model.get("face");
    /** @type {Mask | null} */
    this.value = null;
    this.laid = false;
    this.n = 0;
    /** @type {{ id: number, x: number, y: number } | null} */
    this.held = null;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.asking = undefined;
    this.build();
    this.listen();
    this.saver = new Saver(model, this.frame, (value) => this.show(value), "untouched");
    this.show(/** @type {Mask | undefined} */ (model.get("saved")?.value), model.get("placed"));
  }

  build() {
    const { words, face } = this;
    const { id } = this.frame;
    this.picture = new FacePicture(face, words, id);
    this.picture.moved = () => {
      if (this.value && !this.laid) this.draw({ ...this.value, ...this.picture.beside(this.value.mask) });
    };
    const does = {
      choose: (/** @type {number} */ mask) => this.choose(mask),
      move: (/** @type {number} */ x, /** @type {number} */ y) => this.move(x, y),
      place: (/** @type {"x" | "y"} */ name, /** @type {number} */ n) => this.put({ [name]: n }),
      turn: (/** @type {number} */ turn) => this.put({ turn }),
    };
    this.panel = new FacePanel({ face, words, id, locked: this.locked }, does);
    const how = fill(words.faceHow, { step: MOVE, far: FAR });
    this.told = element("p", { class: "tpiece-face-now" });
    this.list = element("ul", { class: "tpiece-face-where" });
    this.aloud = element("p", { class: "tpiece-face-aloud", "aria-live": "polite" });
    const title = element("p", { class: "tpiece-face-title" }, words.faceWhere);
    const below = element("div", { class: "tpiece-face-told" }, title, this.told, this.list);
    const figure = framed("", this.picture.svg, faceTwin(face, words));
    this.frame.body.classList.add("tpiece-face-body");
    const help = element("p", { class: "tpiece-help", id: `${id}-how` }, how);
    const parts = element("div", { class: "tpiece-face-parts" }, figure, this.panel.root, below);
    this.frame.body.append(this.panel.choice, help, parts, this.aloud);
  }

  listen() {
    const { mask } = this.picture;
    mask.addEventListener("keydown", (event) => this.keyed(event));
    mask.addEventListener("blur", () => this.saver.flush());
    // Inside an SVG, touch-action alone does not keep the page from scrolling away under a finger.
    mask.addEventListener("touchstart", (event) => this.locked || event.preventDefault(), { passive: false });
    mask.addEventListener("pointerdown", (event) => this.grab(event));
    mask.addEventListener("pointermove", (event) => this.drag(event));
    for (const kind of /** @type {const} */ (["pointerup", "pointercancel", "lostpointercapture"])) {
      mask.addEventListener(kind, (event) => this.drop(event));
    }
    this.model.on("msg:custom", this.onTold);
  }

  // --- what moves the mask

  /** @param {number} mask */
  choose(mask) {
    if (this.laid) return this.put({ mask });
    /** @type {Pick<Mask, "format" | "version" | "turn">} */
    const head = { format: "tpiece-face", version: 1, turn: this.value?.turn ?? 0 };
    this.put({ ...head, mask, ...this.picture.beside(mask) }, false);
    this.picture.mask.scrollIntoView({ block: "nearest" });
  }

  /**
   * @param {number} x
   * @param {number} y
   */
  move(x, y) {
    if (!this.value) return;
    const places = this.picture.inside(this.value.x + x, this.value.y + y);
    this.put({ x: places[0], y: places[1] });
  }

  /** @param {KeyboardEvent} event */
  keyed(event) {
    const way = WAYS[event.key];
    if (!way || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    if (this.locked) return;
    const far = event.shiftKey && event.key.startsWith("Arrow") ? FAR : 1;
    this.move(way[0] * far, way[1] * far);
  }

  /** @param {PointerEvent} event */
  grab(event) {
    if (event.button || this.locked || this.held || !this.value) return;
    event.preventDefault(); // no text is selected; the focus is given by hand
    this.picture.mask.focus({ preventScroll: true });
    this.picture.mask.setPointerCapture(event.pointerId);
    const [x, y] = this.picture.mm(event);
    this.held = { id: event.pointerId, x: this.value.x - x, y: this.value.y - y };
    this.picture.mask.dataset.dragged = "";
  }

  /** @param {PointerEvent} event */
  drag(event) {
    if (!this.value || this.held?.id !== event.pointerId) return;
    const { step } = this.face;
    /** @param {number} n */
    const near = (n) => round(Math.round(n / step) * step, 3);
    const [x, y] = this.picture.mm(event);
    const places = this.picture.inside(near(x + this.held.x), near(y + this.held.y));
    if (!same(places, [this.value.x, this.value.y])) this.put({ x: places[0], y: places[1] });
  }

  /** @param {PointerEvent} event */
  drop(event) {
    if (this.held?.id !== event.pointerId) return;
    this.held = null;
    delete this.picture.mask.dataset.dragged;
    this.saver.flush();
  }

  // A mask that was only chosen still lies beside the face: that is no answer yet.
  /**
   * @param {Partial<Mask>} change
   * @param {boolean} laid
   */
  put(change, laid = true) {
    if (this.locked) return;
    this.laid = laid;
    this.draw(/** @type {Mask} */ ({ ...this.value, ...change }));
    if (laid) this.saver.offer(this.value, PAUSE);
    this.ask();
    this.sayLater();
  }

  // --- what is shown and told

  /**
   * @param {Mask | null | undefined} value
   * @param {Placed | null} placed
   */
  show(value, placed = null) {
    if (!value?.mask) return this.draw(null);
    this.laid = true;
    this.draw(value);
    if (placed?.kind) this.tell(placed);
    else this.ask();
  }

  /** @param {Mask | null} value */
  draw(value) {
    this.value = value;
    this.picture.show(value);
    this.panel.show(value);
    const says = value ? saidMask(value, this.words) : this.words.faceNone;
    this.picture.mask.setAttribute("aria-label", says);
    const beside = value !== null && !this.laid;
    this.says = beside ? fill(this.words.faceBeside, { size: value.mask }) : says;
    if (!value || beside || !this.list.children.length) this.listed([]);
  }

  // At most one question at a time is on its way; the newest place is asked last.
  ask() {
    if (!this.model.get("live") || !this.laid || this.asking) return;
    this.asking = setTimeout(() => {
      this.asking = undefined;
      this.n += 1;
      this.saver.tell({ kind: "place", n: this.n, value: this.value });
      clearTimeout(this.slow);
      this.slow = setTimeout(() => this.listed([this.words.faceWaiting]), SLOW);
    }, ASK);
  }

  /** @param {Placed} message */
  hear({ kind, n, ...told }) {
    if (kind !== "placed" || n !== this.n || !this.laid) return;
    clearTimeout(this.slow);
    this.tell(told);
  }

  /** @param {Placed} placed */
  tell({ where = [], fit }) {
    const { words } = this;
    this.listed([...where, ...saidFit(fit, words)]);
  }

  // Without a list of the workbook's sentences, the page's own says where the mask lies.
  /** @param {string[]} texts */
  listed(texts) {
    this.told.textContent = texts.length ? "" : this.says;
    this.list.replaceChildren(...texts.map((text) => element("li", {}, text)));
  }

  // Read aloud once the mask rests; every step would be too much to hear.
  sayLater() {
    clearTimeout(this.later);
    this.later = setTimeout(() => {
      const rest = [...this.list.children].map((item) => item.textContent);
      this.aloud.textContent = rest.length ? rest.join(" ") : this.says;
    }, PAUSE);
  }

  dispose() {
    for (const timer of [this.asking, this.slow, this.later]) clearTimeout(timer);
    this.model.off("msg:custom", this.onTold);
    this.picture.dispose();
    this.saver.dispose();
    this.frame.dispose();
  }
}

/**
 * @param {Placed["fit"]} fit
 * @param {Words} words
 */
function saidFit(fit, words) {
  if (!fit) return [];
  return [
    fit.covers ? words.faceCovers : words.faceOpen,
    fit.spares_eyes ? words.faceEyesFree : words.faceEyes,
    fit.keeps_chin ? words.faceChinKept : words.faceChin,
    fill(words.faceSeal, { seal: fit.seal }),
    fit.leak ? words.faceGaugeLow : words.faceGauge,
  ];
}

/** @type {Render<FaceTraits>} */
function render({ model, el }) {
  const face = new FaceControl(model, el);
  return () => face.dispose();
}

export default { render };
