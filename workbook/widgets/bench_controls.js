// What hands turn and hold at the bench: native sliders with a button at either end, and the
// button below the thumb.

import { button, element, focusable } from "./elements.js";
import { fill, numeral } from "./speech.js";

/** @import { Dial, Words } from "./types.js" */

const BENCH_REPEAT = { after: 400, every: 70 }; // milliseconds while a button is kept down
const BENCH_PAGE = 10; // clicks
/** @type {Record<string, number>} */
const BENCH_PAGES = { PageUp: 1, PageDown: -1 };

/** @param {number} value */
function benchNumberSays(value) {
  return String(Math.round(value * 100) / 100);
}

/**
 * @param {Dial} dial
 * @param {number} position
 */
export function benchDialSays(dial, position) {
  const value = benchNumberSays(dial.first + position * dial.step);
  const [turns, most] = [benchTurns(dial, position), benchNumberSays(dial.clicks / (dial.turn || 1))];
  return dial.says[position] ?? fill(dial.each, { value, turns, most });
}

// How far a control is turned, as its mark and a count of whole turns show it.
/**
 * @param {Dial} dial
 * @param {number} clicks
 */
function benchTurns(dial, clicks) {
  return numeral((clicks / (dial.turn || 1)).toFixed(dial.turn > 1 ? 2 : 0));
}

/**
 * @param {Dial} dial
 * @param {number} position
 */
function benchShortSays(dial, position) {
  if (dial.turn === 1) return `${position} / ${dial.clicks}`;
  return dial.step === 1 ? benchTurns(dial, position) : benchDialSays(dial, position);
}

// One control to turn. `turn(position, stamp)` is told where a hand puts it, and when.
export class BenchDial {
  /**
   * @param {Words} words
   * @param {string} id
   * @param {Dial} dial
   * @param {(position: number, stamp: number) => boolean} turn
   */
  constructor(words, id, dial, turn) {
    this.words = words;
    this.id = id;
    this.dial = dial;
    this.turn = turn;
    this.position = -1; // shown nowhere yet
    /** @type {boolean | undefined} */
    this.locked = undefined;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.waiting = undefined;
    this.name = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.value = element("span", { class: "tpiece-bench-says" }); // the slider tells it
    this.slider = this.makeSlider();
    const row = element("div", { class: "tpiece-bench-turn tpiece-ltr" });
    this.keys = [this.key("−", -1, words.benchLess), this.key("+", 1, words.benchMore)];
    row.append(this.keys[0], this.slider, this.keys[1]);
    const help = element("small", { id: `${this.name}-h` }, dial.help);
    const whole = element("span", { class: "tpiece-bench-whole" }, dial.label);
    const brief = element("span", { class: "tpiece-bench-brief", "aria-hidden": "true" }, dial.short);
    const label = element("label", { for: this.name }, whole, brief);
    const head = element("div", { class: "tpiece-bench-dial-head" }, label, this.value);
    this.root = element("div", { class: "tpiece-bench-dial", "data-dial": id }, head, row, help);
    this.typed = "";
  }

  makeSlider() {
    const about = { type: "range", id: this.name, "aria-describedby": `${this.name}-h` };
    const slider = focusable("input", about);
    Object.assign(slider, { min: "0", max: String(this.dial.clicks), step: "1" });
    slider.addEventListener("input", ({ timeStamp }) => this.put(Number(slider.value), timeStamp));
    slider.addEventListener("keydown", (event) => {
      this.page(event);
      this.type(event);
    });
    slider.addEventListener("blur", () => this.typed && this.typeEnd());
    slider.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    return slider;
  }

  // A number typed on the control, in what the control counts in, turns it there at Enter.
  /** @param {KeyboardEvent} event */
  type(event) {
    const { key, timeStamp } = event;
    if (/^[0-9.,]$/.test(key)) this.typed += key === "," ? "." : key;
    else if (key === "Backspace") this.typed = this.typed.slice(0, -1);
    else if (key === "Enter" && this.typed) return this.typeIn(Number(this.typed), timeStamp);
    else return undefined;
    event.preventDefault();
    if (this.typed) this.value.textContent = `${this.typed} ↵`;
    else this.tell();
    return undefined;
  }

  /**
   * @param {number} number
   * @param {number} stamp
   */
  typeIn(number, stamp) {
    const { dial } = this;
    const clicks = dial.step === 1 ? number * dial.turn : (number - dial.first) / dial.step;
    this.typed = "";
    if (Number.isFinite(clicks)) this.put(Math.round(clicks), stamp);
    this.tell();
  }

  typeEnd() {
    this.typed = "";
    this.tell();
  }

  tell() {
    const brief = benchShortSays(this.dial, this.position);
    this.value.replaceChildren(
      element("span", { class: "tpiece-bench-whole" }, benchDialSays(this.dial, this.position)),
      element("span", { class: "tpiece-bench-brief", "aria-hidden": "true" }, brief),
    );
  }

  // Only a control that has the focus takes the wheel from the page.
  /** @param {WheelEvent} event */
  wheel(event) {
    if (document.activeElement !== this.slider || !event.deltaY || this.locked) return;
    event.preventDefault();
    this.put(this.position + (event.deltaY < 0 ? 1 : -1), event.timeStamp);
  }

  /** @param {KeyboardEvent} event */
  page(event) {
    /** @type {number | undefined} */
    const way = BENCH_PAGES[event.key];
    if (!way) return;
    event.preventDefault();
    this.put(this.position + way * BENCH_PAGE, event.timeStamp);
  }

  // A button turns one click, and goes on while it is kept down. Fingers beyond the first make no
  // click, so that the finger's own coming down counts.
  /**
   * @param {string} text
   * @param {number} way
   * @param {string} title
   */
  key(text, way, title) {
    const node = button(text, () => {}, fill(title, { label: this.dial.label }));
    node.setAttribute("aria-label", node.title);
    node.classList.add("tpiece-bench-click");
    /** @param {number} stamp */
    const turn = (stamp) => this.put(this.position + way, stamp);
    node.addEventListener("pointerdown", (event) => {
      if (event.button || this.locked) return;
      turn(event.timeStamp);
      this.letGo();
      this.waiting = setTimeout(() => {
        this.waiting = setInterval(() => turn(performance.now()), BENCH_REPEAT.every);
      }, BENCH_REPEAT.after);
    });
    for (const kind of ["pointerup", "pointercancel", "pointerleave"]) {
      node.addEventListener(kind, () => this.letGo());
    }
    node.addEventListener("contextmenu", (event) => event.preventDefault());
    node.addEventListener("click", ({ detail, timeStamp }) => {
      if (!detail && !this.locked) turn(timeStamp);
    });
    return node;
  }

  letGo() {
    clearTimeout(this.waiting);
    clearInterval(this.waiting);
  }

  /**
   * @param {number} position
   * @param {number} stamp
   */
  put(position, stamp) {
    const at = Math.min(Math.max(position, 0), this.dial.clicks);
    // Shown at once: the next key may come before the next frame, and counts from here.
    if (at !== this.position && this.turn(at, stamp)) this.show(at);
  }

  // Show where the control stands.
  /** @param {number} position */
  show(position) {
    if (position === this.position) return;
    this.position = position;
    this.slider.value = String(position);
    if (!this.typed) this.tell();
    const says = benchDialSays(this.dial, position);
    this.slider.setAttribute("aria-valuetext", says);
  }

  // After a turn that was not taken the slider goes back to where the control stands.
  restore() {
    this.slider.value = String(this.position);
  }

  /** @param {boolean} locked */
  lock(locked) {
    this.locked = locked;
    this.slider.disabled = locked;
    if (locked) this.letGo();
    for (const key of this.keys) key.setAttribute("aria-disabled", String(locked));
  }
}

// A part of the picture is turned where it is: dragged around, or by the wheel once it was touched;
// the mask is drawn up from the face, or pressed onto it. `dialOf(id)` is the control it moves.
const BENCH_LIFTED = 16; // pixels of a mask's way from one seal to the next

/**
 * @param {EventTarget | null} target
 * @returns {HTMLElement | SVGElement | null}
 */
function benchGripOf(target) {
  return target instanceof Element ? target.closest(".tpiece-bench-grip") : null;
}

/**
 * @param {HTMLElement} root
 * @param {(id: string) => BenchDial | undefined} dialOf
 */
export function benchTurnAround(root, dialOf) {
  /** @type {{ dial: BenchDial, box: DOMRect, from: number, y: number, turned: number, at: number, pointer: number } | null} */
  let grip = null;
  /**
   * @param {MouseEvent} event
   * @param {DOMRect} box
   */
  const round = ({ clientX, clientY }, { left, top, width, height }) => {
    return Math.atan2(clientX - left - width / 2, top + height / 2 - clientY);
  };
  root.addEventListener("pointerdown", (event) => {
    const node = benchGripOf(event.target);
    const dial = node && dialOf(node.dataset.dial ?? "");
    if (!dial || event.button || dial.locked) return;
    event.preventDefault();
    dial.slider.focus({ preventScroll: true });
    const box = node.getBoundingClientRect();
    grip = { dial, box, from: round(event, box), y: event.clientY, turned: 0, at: dial.position, pointer: event.pointerId };
    root.setPointerCapture(event.pointerId);
  });
  root.addEventListener("pointermove", (event) => {
    if (grip?.pointer !== event.pointerId) return;
    const { dial, at } = grip;
    if (dial.id === "leak") return void dial.put(at + Math.round((grip.y - event.clientY) / BENCH_LIFTED), event.timeStamp);
    const now = round(event, grip.box);
    const step = Math.atan2(Math.sin(now - grip.from), Math.cos(now - grip.from)); // the shorter way
    [grip.from, grip.turned] = [now, grip.turned + step];
    dial.put(at + Math.round((grip.turned / (2 * Math.PI)) * dial.dial.turn), event.timeStamp);
  });
  for (const kind of /** @type {const} */ (["pointerup", "pointercancel", "lostpointercapture"])) {
    root.addEventListener(kind, ({ pointerId }) => {
      if (grip?.pointer === pointerId) grip = null;
    });
  }
  root.addEventListener("wheel", (event) => {
    const node = benchGripOf(event.target);
    if (node) dialOf(node.dataset.dial ?? "")?.wheel(event);
  }, { passive: false });
  for (const kind of ["focusin", "focusout"]) {
    root.addEventListener(kind, ({ target }) => {
      const id = target instanceof Element && target.closest("[data-dial]")?.getAttribute("data-dial");
      root.dataset.turns = kind === "focusin" ? id || "" : "";
    });
  }
}

// The aperture below a thumb: held by Space, by a finger or the mouse, or kept occluded. `hold`
// is told when the first of them comes down and the last has let go.
export class BenchHold {
  /**
   * @param {Words} words
   * @param {(held: boolean, stamp: number) => unknown} hold
   */
  constructor(words, hold) {
    this.words = words;
    this.hold = hold;
    /** @type {Set<string>} */
    this.by = new Set(); // what holds: a key, a pointer, "keep"
    /** @type {boolean | undefined} */
    this.locked = undefined;
    /** @type {string | null} */
    this.keyed = null;
    /** @type {boolean | undefined} */
    this.shown = undefined;
    this.button = focusable("button", { type: "button", class: "tpiece-hold" }, words.benchHold);
    this.keep = button(words.benchKeep, () => {});
    this.state = element("span", { class: "tpiece-bench-held" });
    const line = element("div", { class: "tpiece-bench-held-line" }, this.keep, this.state);
    this.root = element("div", { class: "tpiece-bench-holder" }, this.button, line);
    this.keep.addEventListener("click", ({ timeStamp }) => {
      if (!this.locked) this.set("keep", !this.by.has("keep"), timeStamp);
    });
    this.listen();
    this.show(false);
  }

  listen() {
    const { button: node } = this;
    node.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      node.setPointerCapture(event.pointerId);
      this.set(`pointer ${event.pointerId}`, true, event.timeStamp);
    });
    for (const kind of /** @type {const} */ (["pointerup", "pointercancel", "lostpointercapture"])) {
      node.addEventListener(kind, ({ pointerId, timeStamp }) => {
        this.set(`pointer ${pointerId}`, false, timeStamp);
      });
    }
    node.addEventListener("contextmenu", (event) => event.preventDefault());
    // A click without a pointer comes from a helping device that cannot hold: it keeps, or lets go.
    node.addEventListener("click", ({ detail, timeStamp }) => {
      if (!detail && !this.keyed) this.set("keep", !this.by.has("keep"), timeStamp);
    });
  }

  /**
   * @param {string} by
   * @param {boolean} down
   * @param {number} stamp
   */
  set(by, down, stamp) {
    if (down === this.by.has(by) || (down && this.locked)) return;
    const before = this.by.size > 0;
    if (down) this.by.add(by);
    else this.by.delete(by);
    const held = this.by.size > 0;
    if (held !== before && !this.hold(held, stamp)) this.by.clear();
    this.mark();
  }

  // What was held by a key or a finger that the page cannot see any more.
  /** @param {number} stamp */
  lose(stamp) {
    const lost = [...this.by].filter((by) => by !== "keep");
    for (const by of lost) this.set(by, false, stamp);
    return lost.length > 0;
  }

  // Nothing is held, and nobody is told: the bench stands anew.
  clear() {
    this.by.clear();
    this.mark();
  }

  mark() {
    this.keep.setAttribute("aria-pressed", String(this.by.has("keep")));
  }

  /** @param {boolean} held */
  show(held) {
    if (held === this.shown) return;
    this.shown = held;
    this.button.setAttribute("aria-pressed", String(held));
    const state = held ? this.words.benchOccluded : this.words.benchReleased;
    this.state.textContent = fill(this.words.benchHoldState, { state });
  }

  /** @param {boolean} locked */
  lock(locked) {
    this.locked = locked;
    for (const key of [this.button, this.keep]) key.setAttribute("aria-disabled", String(locked));
    this.mark();
  }
}

// Space anywhere inside the bench occludes, but where a control needs Space for itself.
const BENCH_OWN_SPACE = "button, select, summary, a, textarea, input:not([type=range], [type=radio])";

// `own` are those that do.
/**
 * @param {HTMLElement} root
 * @param {BenchHold} hold
 * @param {() => void} reads
 * @param {AbortSignal} signal
 */
export function benchListenKeys(root, hold, reads, signal, own = BENCH_OWN_SPACE) {
  /** @param {KeyboardEvent} event */
  const plain = (event) => !event.ctrlKey && !event.altKey && !event.metaKey;
  /** @param {KeyboardEvent} event */
  const holds = (event) => {
    if (event.target === hold.button) return event.key === " " || event.key === "Enter";
    return event.key === " " && (hold.keyed !== null || !/** @type {Element} */ (event.target).closest(own));
  };
  root.addEventListener("keydown", (event) => {
    if (plain(event) && event.key.toLowerCase() === "g" && !/** @type {Element} */ (event.target).matches("[type=text], select")) {
      if (!event.repeat) reads();
    } else if (plain(event) && holds(event)) {
      event.preventDefault();
      if (event.repeat || hold.keyed) return;
      hold.keyed = event.key;
      hold.set("key", true, event.timeStamp);
    }
  }, { capture: true });
  // The focus may have moved on while the key was down.
  document.addEventListener("keyup", (event) => {
    if (event.key !== hold.keyed) return;
    event.preventDefault();
    hold.keyed = null;
    hold.set("key", false, event.timeStamp);
  }, { capture: true, signal });
}
