// How an answer becomes "Saved": a numbered message, sent again until the kernel has
// acknowledged that very number. Shared by every control; read before each control's own file.

const WAITS = [1000, 2000, 3000, 5000]; // milliseconds between tries, then every five seconds
const PLAIN_AFTER = 4; // tries before the page says plainly that nothing is saved yet
// A state without a mark of its own is a warning.
const MARKS = { saved: "✓", back: "✓", kept: "✓", saving: "…", blank: "", untouched: "" };

// What the whole page has not saved yet: handing in waits for it, closing the page asks first.
const unsaved = (globalThis.tpieceUnsaved ??= new Map());
// Answers whose control went before they were saved, as when a kernel dies and the page runs
// itself again: the control that comes in its place takes them up.
const left = (globalThis.tpieceLeft ??= new Map());

if (!globalThis.tpieceGuard) {
  globalThis.tpieceGuard = (event) => {
    if (!globalThis.tpieceUnsaved.size) return;
    event.preventDefault();
    event.returnValue = true; // older browsers ask only for this
  };
  addEventListener("beforeunload", globalThis.tpieceGuard);
}

function noteUnsaved(client, label) {
  if (unsaved.get(client) === label) return;
  unsaved.set(client, label);
  document.dispatchEvent(new CustomEvent("tpiece-unsaved"));
}

function noteSettled(client) {
  if (unsaved.delete(client)) document.dispatchEvent(new CustomEvent("tpiece-unsaved"));
}

function element(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in node && typeof value !== "string") node[key] = value;
    else node.setAttribute(key, value);
  }
  node.append(...children);
  return node;
}

// JupyterLab takes the keys of any focused element that does not carry this mark itself.
function focusable(name, attributes, ...children) {
  return element(name, { "data-lm-suppress-shortcuts": "true", ...attributes }, ...children);
}

// A button that is off keeps the focus, so that the keyboard is never left at the top of the page.
function button(text, does, title = text) {
  const node = focusable("button", { type: "button", class: "tpiece-key", title }, text);
  node.addEventListener("click", () => node.getAttribute("aria-disabled") !== "true" && does());
  return node;
}

// A box to tick, in words; it says at once what it switches.
function switchBox(text, on, does) {
  const box = focusable("input", { type: "checkbox" });
  box.checked = on;
  box.addEventListener("change", () => does(box.checked));
  return element("label", { class: "tpiece-option tpiece-switch" }, box, element("span", {}, text));
}

// How the page's language writes a number; any other text stays as it is.
const ENGLISH = "en-GB"; // times by the 24-hour clock, as the page around a control writes them
const speech = { locale: ENGLISH, decimal: "." }; // every control of a page speaks one language

function speak({ lang, decimal = "." }) {
  Object.assign(speech, { locale: lang && lang !== "en" ? lang : ENGLISH, decimal });
}

function numeral(value) {
  const text = String(value);
  return /^[-+\u2212]?\d+\.\d+$/.test(text) ? text.replace(".", speech.decimal) : text;
}

function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => numeral(values[name] ?? ""));
}

function clock(at) {
  const time = new Date(at);
  if (Number.isNaN(time.valueOf())) return at;
  return time.toLocaleTimeString(speech.locale, { timeStyle: "short" });
}

function same(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}

// The frame all controls share: question, help, a figure, the control itself, state of saving,
// feedback.
class Frame {
  constructor(model, el, { group }) {
    this.model = model;
    this.words = model.get("words");
    this.id = `tpiece-${Math.random().toString(36).slice(2)}`;
    const { lang, dir = "ltr" } = this.words;
    speak(this.words);
    this.root = element(group ? "fieldset" : "div", { class: "tpiece", lang, dir });
    this.body = element("div", { class: "tpiece-body" });
    this.status = focusable("span", { role: "status", class: "tpiece-saving", tabindex: "-1" });
    this.status.id = `${this.id}-s`;
    this.feedback = element("div", { class: "tpiece-feedback", "aria-live": "polite" });
    this.root.append(this.question(group), ...this.help(), ...this.figure(), this.body);
    this.root.append(this.line(), this.feedback);
    el.append(this.root);
    model.on("change:feedback", (this.onFeedback = () => this.showFeedback()));
    this.showFeedback();
  }

  question(group) {
    const label = element(group ? "legend" : "label", { class: "tpiece-label" });
    if (!group) label.setAttribute("for", this.id);
    label.textContent = this.model.get("label");
    return label;
  }

  help() {
    const text = this.model.get("help");
    if (!text) return [];
    if (this.root.matches("fieldset")) this.root.setAttribute("aria-describedby", `${this.id}-h`);
    return [element("p", { class: "tpiece-help", id: `${this.id}-h` }, text)];
  }

  // The picture a question is answered from.
  figure() {
    const figure = this.model.get("figure");
    if (!figure?.kind) return [];
    this.shown = showFigure(figure, this.words);
    return [this.shown.root];
  }

  line() {
    this.again = button(this.words.again, () => this.saver.flush());
    this.again.hidden = true;
    const line = element("div", { class: "tpiece-line" }, this.status, this.again);
    if (this.model.get("can_check")) {
      line.append(button(this.words.check, () => this.saver.check()));
    }
    return line;
  }

  showFeedback() {
    const { heading, lines = [] } = this.model.get("feedback") ?? {};
    this.feedback.replaceChildren();
    if (!heading && !lines.length) return;
    const list = element("ul");
    for (const { met, says, source } of lines) {
      const mark = met ? `✓ ${this.words.met} ` : `▲ ${this.words.notMet} `;
      const item = element("li", {}, element("strong", {}, mark), says);
      if (source) item.append(element("small", {}, source));
      list.append(item);
    }
    if (heading) this.feedback.append(element("p", { class: "tpiece-heading" }, heading));
    this.feedback.append(list);
  }

  // A sentence that stays the same is not written again: a screen reader would repeat it.
  say(state, values = {}) {
    const text = fill(this.words[state], values);
    const refused = state === "refused";
    if (!refused && this.again === document.activeElement) this.status.focus(); // it hides now
    this.again.hidden = !refused;
    this.status.dataset.state = state;
    if (this.said === text) return;
    this.said = text;
    const mark = element("span", { "aria-hidden": "true" }, MARKS[state] ?? "▲");
    this.status.replaceChildren(...(mark.textContent ? [mark, " "] : []), text);
  }

  repeat() {
    this.status.replaceChildren(...[...this.status.childNodes].map((node) => node.cloneNode(true)));
  }

  dispose() {
    this.shown?.dispose?.();
    this.model.off("change:feedback", this.onFeedback);
  }
}

// One view's answer on its way to the kernel. `show` puts a saved answer into the control.
class Saver {
  constructor(model, frame, show, blank = "blank") {
    Object.assign(this, { model, frame, show, seq: 0, tries: 0 });
    Object.assign(this, { waiting: null, refused: null, own: false, checking: false });
    this.client = globalThis.crypto?.randomUUID?.() ?? `c${Math.random()}`;
    frame.saver = this;
    model.on("msg:custom", (this.onMessage = (message) => this.hear(message)));
    model.on("change:saved", (this.onSaved = () => this.follow()));
    if (!this.sayKept(this.saved())) frame.say(blank);
    queueMicrotask(() => this.takeUp());
  }

  get place() {
    return `${this.model.get("question")}\n${this.model.get("label")}`;
  }

  takeUp() {
    const value = left.get(this.place);
    if (!left.delete(this.place) || this.model.get("read_only")) return;
    this.show(value);
    this.offer(value);
  }

  saved() {
    return this.model.get("saved") ?? {};
  }

  sayKept({ number, at, back }) {
    if (number === undefined) return false;
    const kept = back ? "back" : "saved";
    this.frame.say(this.model.get("lasts") ? kept : "kept", { time: clock(at) });
    this.frame.status.dataset.number = number; // which line of the file holds it
    return true;
  }

  // Take a new answer. It counts as unsaved at once, and is sent after a pause without changes.
  offer(value, pause = 0) {
    if (!this.waiting || this.tries) this.seq += 1; // a number never sent is used again
    Object.assign(this, { waiting: { seq: this.seq, value }, tries: 0, own: true, refused: null });
    noteUnsaved(this.client, this.model.get("label"));
    this.frame.say("saving");
    clearTimeout(this.timer);
    if (pause) this.timer = setTimeout(() => this.send(), pause);
    else this.send();
  }

  // Send now what waits for its pause, or once more what was refused.
  flush() {
    if (this.refused) this.offer(this.refused.value);
    else if (this.waiting && !this.tries) this.send();
  }

  send() {
    clearTimeout(this.timer);
    if (!this.waiting) return;
    const wait = WAITS[Math.min(this.tries, WAITS.length - 1)];
    this.timer = setTimeout(() => this.send(), wait);
    if (this.tries >= PLAIN_AFTER) this.frame.say("stuck");
    this.tries += 1;
    this.tell({ kind: "answer", client: this.client, ...this.waiting });
  }

  tell(message) {
    try {
      this.model.send(message);
    } catch (error) {
      console.warn("The kernel cannot be reached.", error); // an answer is sent again later
    }
  }

  hear({ kind, client, seq, ...told }) {
    if (client !== this.client || !this.waiting || seq < this.waiting.seq) return;
    if (kind === "saved") {
      this.settle();
      this.sayKept(told);
      if (this.checking) this.check();
    } else if (kind === "refused") {
      const refused = this.waiting;
      this.withdraw("refused", told);
      this.refused = refused;
    }
  }

  settle() {
    Object.assign(this, { waiting: null, own: false });
    clearTimeout(this.timer);
    noteSettled(this.client);
  }

  // What stands in the control is not an answer that can be saved; it stays there all the same.
  withdraw(state, values = {}) {
    this.settle();
    Object.assign(this, { own: state !== "blank", refused: null, checking: false });
    this.frame.say(state, values);
  }

  // Another view of the same question saved an answer: show it, unless this one holds its own.
  follow() {
    const saved = this.saved();
    if (saved.client === this.client || saved.number === undefined) return;
    if (this.waiting) {
      if (!same(saved.value, this.waiting.value)) this.frame.say("elsewhere");
    } else if (this.own) {
      this.frame.say("elsewhereKept");
    } else {
      this.show(saved.value);
      this.sayKept(saved);
    }
  }

  // Feedback is for the answer on the page, so a check waits until that answer is saved.
  check() {
    this.checking = Boolean(this.waiting ?? this.refused);
    if (this.checking) this.flush();
    else if (this.own) this.frame.repeat();
    else this.tell({ kind: "check" });
  }

  dispose() {
    if (this.waiting) left.set(this.place, this.waiting.value);
    if (this.waiting) this.flush();
    clearTimeout(this.timer);
    noteSettled(this.client);
    this.model.off("msg:custom", this.onMessage);
    this.model.off("change:saved", this.onSaved);
  }
}
