// How an answer becomes "Saved": a numbered message, sent again until the kernel has
// acknowledged that very number. Shared by every control; read before each control's own file.

const WAITS = [1000, 2000, 3000, 5000]; // then every five seconds
const PLAIN_AFTER = 4; // tries before the page says plainly that nothing is saved yet
const unsaved = (globalThis.tpieceUnsaved ??= new Map());

if (!globalThis.tpieceGuard) {
  globalThis.tpieceGuard = (event) => {
    if (globalThis.tpieceUnsaved.size) event.preventDefault();
  };
  addEventListener("beforeunload", globalThis.tpieceGuard);
}

function note(key, label) {
  if (label === undefined ? !unsaved.delete(key) : unsaved.set(key, label) === null) return;
  document.dispatchEvent(new CustomEvent("tpiece-unsaved"));
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

function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
}

function clock(at) {
  const time = new Date(at);
  return Number.isNaN(time.valueOf()) ? at : time.toLocaleTimeString([], { timeStyle: "short" });
}

// The frame all controls share: question, help, the control itself, state of saving, feedback.
class Frame {
  constructor(model, el, { group }) {
    this.model = model;
    this.words = model.get("words");
    this.id = `tpiece-${Math.random().toString(36).slice(2)}`;
    this.status = element("span", { role: "status", class: "tpiece-saving" });
    this.feedback = element("div", { class: "tpiece-feedback", "aria-live": "polite" });
    const label = element(group ? "legend" : "label", { class: "tpiece-label", id: `${this.id}-l` });
    label.textContent = model.get("label");
    if (!group) label.setAttribute("for", this.id);
    const help = element("p", { class: "tpiece-help", id: `${this.id}-h` }, model.get("help"));
    help.hidden = !model.get("help");
    this.body = element("div", { class: "tpiece-body" });
    this.root = element(group ? "fieldset" : "div", { class: "tpiece", lang: this.words.lang });
    if (group) this.root.setAttribute("aria-describedby", `${this.id}-h`);
    const bar = element("div", { class: "tpiece-line" }, this.status, ...this.checkButton());
    this.root.append(label, help, this.body, bar, this.feedback);
    el.append(this.root);
    model.on("change:feedback", (this.onFeedback = () => this.showFeedback()));
    this.showFeedback();
  }

  checkButton() {
    if (!this.model.get("can_check")) return [];
    const button = focusable("button", { type: "button", class: "tpiece-key" });
    button.textContent = this.words.check;
    button.addEventListener("click", () => this.model.send({ kind: "check" }));
    return [button];
  }

  showFeedback() {
    const { heading, lines = [] } = this.model.get("feedback") ?? {};
    this.feedback.replaceChildren();
    if (!heading) return;
    const list = element("ul");
    for (const { met, says, source } of lines) {
      const mark = element("strong", {}, met ? `✓ ${this.words.met} ` : `▲ ${this.words.notMet} `);
      const item = element("li", {}, mark, says);
      if (source) item.append(element("small", {}, source));
      list.append(item);
    }
    this.feedback.append(element("p", { class: "tpiece-heading" }, heading), list);
  }

  say(state, values = {}) {
    const mark = { saved: "✓", saving: "…", stuck: "▲", refused: "▲", elsewhere: "▲" }[state] ?? "";
    this.status.dataset.state = state;
    this.status.textContent = `${mark} ${fill(values.says ?? this.words[state], values)}`.trim();
  }

  dispose() {
    this.model.off("change:feedback", this.onFeedback);
  }
}

class Saver {
  constructor(model, frame, show) {
    this.model = model;
    this.frame = frame;
    this.show = show;
    this.client = globalThis.crypto?.randomUUID?.() ?? `c${Math.random()}`;
    this.seq = 0;
    this.waiting = null;
    model.on("msg:custom", (this.onMessage = (message) => this.hear(message)));
    model.on("change:saved", (this.onSaved = () => this.follow()));
    this.restore();
  }

  restore() {
    const saved = this.model.get("saved") ?? {};
    if (saved.number === undefined) return this.frame.say("blank");
    return this.frame.say("saved", { number: saved.number, time: clock(saved.at) });
  }

  offer(value) {
    this.seq += 1;
    this.waiting = { seq: this.seq, value };
    this.tries = 0;
    note(this.client, this.model.get("label"));
    this.frame.say("saving");
    this.send();
  }

  send() {
    clearTimeout(this.timer);
    if (!this.waiting) return;
    const wait = WAITS[Math.min(this.tries, WAITS.length - 1)];
    this.timer = setTimeout(() => this.send(), wait);
    if (this.tries >= PLAIN_AFTER) this.frame.say("stuck");
    this.tries += 1;
    try {
      this.model.send({ kind: "answer", client: this.client, ...this.waiting });
    } catch (error) {
      console.warn("not sent; it is tried again", error);
    }
  }

  hear({ kind, client, seq, ...told }) {
    if (client !== this.client || !this.waiting || seq < this.waiting.seq) return;
    if (kind === "saved") this.settle("saved", { number: told.number, time: clock(told.at) });
    if (kind === "refused") this.settle("refused", { says: told.says });
  }

  settle(state, values) {
    this.waiting = null;
    clearTimeout(this.timer);
    note(this.client);
    this.frame.say(state, values);
  }

  withdraw(state) {
    this.settle(state, {});
  }

  // Another view of the same question saved an answer.
  follow() {
    const saved = this.model.get("saved") ?? {};
    if (saved.client === this.client || saved.number === undefined) return;
    if (this.waiting) return this.frame.say("elsewhere");
    this.show(saved.value);
    this.frame.say("saved", { number: saved.number, time: clock(saved.at) });
  }

  dispose() {
    clearTimeout(this.timer);
    note(this.client);
    this.model.off("msg:custom", this.onMessage);
    this.model.off("change:saved", this.onSaved);
  }
}
