// What hands turn and hold at the bench: native sliders with a button at either end, and the
// button below the thumb.

const BENCH_REPEAT = { after: 400, every: 70 }; // milliseconds while a button is kept down
const BENCH_PAGE = 10; // clicks

function benchNumberSays(value) {
  return String(Math.round(value * 100) / 100);
}

function benchDialSays(dial, position) {
  const value = benchNumberSays(dial.first + position * dial.step);
  return dial.says[position] ?? fill(dial.each, { position, clicks: dial.clicks, value });
}

// One control to turn. `turn(position, stamp)` is told where a hand puts it, and when.
class BenchDial {
  constructor(words, id, dial, turn) {
    Object.assign(this, { words, id, dial, turn });
    this.name = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.value = element("span", { class: "tpiece-bench-says" }); // the slider tells it
    this.slider = this.makeSlider();
    const row = element("div", { class: "tpiece-bench-turn tpiece-ltr" });
    this.keys = [this.key("−", -1, words.benchLess), this.key("+", 1, words.benchMore)];
    row.append(this.keys[0], this.slider, this.keys[1]);
    const help = element("small", { id: `${this.name}-h` }, dial.help);
    const tag = element("span", { class: "tpiece-bench-tagged" }, BENCH_TAGS[id]);
    const label = element("label", { for: this.name }, tag, " ", dial.label);
    const head = element("div", { class: "tpiece-bench-dial-head" }, label, this.value);
    this.root = element("div", { class: "tpiece-bench-dial" }, head, row, help);
  }

  makeSlider() {
    const about = { type: "range", id: this.name, "aria-describedby": `${this.name}-h` };
    const slider = focusable("input", about);
    Object.assign(slider, { min: "0", max: String(this.dial.clicks), step: "1" });
    slider.addEventListener("input", ({ timeStamp }) => this.put(Number(slider.value), timeStamp));
    slider.addEventListener("keydown", (event) => this.page(event));
    return slider;
  }

  page(event) {
    const way = { PageUp: 1, PageDown: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    this.put(this.position + way * BENCH_PAGE, event.timeStamp);
  }

  // A button turns one click, and goes on while it is kept down. Fingers beyond the first make no
  // click, so that the finger's own coming down counts.
  key(text, way, title) {
    const node = button(text, () => {}, fill(title, { label: this.dial.label }));
    node.setAttribute("aria-label", node.title);
    node.classList.add("tpiece-bench-click");
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

  put(position, stamp) {
    const at = Math.min(Math.max(position, 0), this.dial.clicks);
    // Shown at once: the next key may come before the next frame, and counts from here.
    if (at !== this.position && this.turn(at, stamp)) this.show(at);
  }

  // Show where the control stands.
  show(position) {
    if (position === this.position) return;
    this.position = position;
    this.slider.value = String(position);
    const says = benchDialSays(this.dial, position);
    this.value.textContent = says;
    this.slider.setAttribute("aria-valuetext", says);
  }

  // After a turn that was not taken the slider goes back to where the control stands.
  restore() {
    this.slider.value = String(this.position);
  }

  lock(locked) {
    this.locked = locked;
    this.slider.disabled = locked;
    if (locked) this.letGo();
    for (const key of this.keys) key.setAttribute("aria-disabled", String(locked));
  }
}

// The aperture below a thumb: held by Space, by a finger or the mouse, or kept occluded. `hold`
// is told when the first of them comes down and the last has let go.
class BenchHold {
  constructor(words, hold) {
    Object.assign(this, { words, hold, by: new Set() });
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
    for (const kind of ["pointerup", "pointercancel", "lostpointercapture"]) {
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

  show(held) {
    if (held === this.shown) return;
    this.shown = held;
    this.button.setAttribute("aria-pressed", String(held));
    const state = held ? this.words.benchOccluded : this.words.benchReleased;
    this.state.textContent = fill(this.words.benchHoldState, { state });
  }

  lock(locked) {
    this.locked = locked;
    for (const key of [this.button, this.keep]) key.setAttribute("aria-disabled", String(locked));
    this.mark();
  }
}

// Space anywhere inside the bench occludes, but where a control needs Space for itself.
const BENCH_OWN_SPACE = "button, select, summary, a, textarea, input:not([type=range], [type=radio])";

function benchListenKeys(root, hold, reads, signal) {
  const plain = (event) => !event.ctrlKey && !event.altKey && !event.metaKey;
  const holds = (event) => {
    if (event.target === hold.button) return event.key === " " || event.key === "Enter";
    return event.key === " " && (hold.keyed || !event.target.closest(BENCH_OWN_SPACE));
  };
  root.addEventListener("keydown", (event) => {
    if (plain(event) && event.key.toLowerCase() === "g" && !event.target.matches("[type=text], select")) {
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
