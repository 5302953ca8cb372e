// A page for modules that are tested without a browser: as much of one as they ask for.

/** An element that keeps what it is given, and hands an event to whoever listens. */
class Node {
  constructor(name) {
    Object.assign(this, { name, children: [], attributes: {}, dataset: {}, style: {}, heard: {} });
    Object.assign(this, { textContent: "", hidden: false, id: "", title: "" });
    this.classList = { add: (...names) => this.setAttribute("class", names.join(" ")) };
  }

  setAttribute(name, value) {
    this.attributes[name] = value;
  }

  getAttribute(name) {
    return this.attributes[name] ?? null;
  }

  append(...children) {
    this.children.push(...children);
  }

  replaceChildren(...children) {
    this.children = children;
  }

  addEventListener(kind, does) {
    (this.heard[kind] ??= []).push(does);
  }

  removeEventListener(kind, does) {
    this.heard[kind] = (this.heard[kind] ?? []).filter((one) => one !== does);
  }

  matches(name) {
    return this.name === name;
  }

  /** Let an event happen: {timeStamp, pointerId, key, ...}. */
  happen(kind, event = {}) {
    for (const does of this.heard[kind] ?? []) {
      does({ type: kind, target: this, preventDefault() {}, ...event });
    }
  }

  focus() {}
  setPointerCapture() {}

  get childNodes() {
    return this.children;
  }
}

export const frames = [];
const page = new Node("window");
const documentNode = Object.assign(new Node("document"), {
  visibilityState: "visible",
  activeElement: null,
  createElement: (name) => new Node(name),
  createElementNS: (_, name) => new Node(name),
  dispatchEvent: (event) => documentNode.happen(event.type, event),
});

Object.assign(globalThis, {
  document: documentNode,
  DOMParser: class {
    parseFromString() {
      return { body: { firstElementChild: { namespaceURI: "drawing" } } };
    }
  },
  ResizeObserver: class {
    observe() {}
  },
  addEventListener: (kind, does) => page.addEventListener(kind, does),
  requestAnimationFrame: (does) => frames.push(does),
  cancelAnimationFrame() {},
});

/** Let something happen to the whole window, as "blur". */
export function happen(kind, event) {
  page.happen(kind, event);
}

/** Hide the page behind another one, or show it. */
export function turn(state, event) {
  documentNode.visibilityState = state;
  documentNode.happen("visibilitychange", event);
}

/** Every node below one, itself first. */
export function all(node) {
  return [node, ...(node.children ?? []).flatMap(all)];
}

/** What a control is given: traits by name; keeps what it sends to the kernel. */
export class Model {
  constructor(traits) {
    Object.assign(this, { traits, sent: [], heard: {} });
  }

  get(name) {
    return this.traits[name];
  }

  on(event, does) {
    (this.heard[event] ??= []).push(does);
  }

  off(event, does) {
    this.heard[event] = this.heard[event].filter((one) => one !== does);
  }

  send(message) {
    this.sent.push(message);
  }

  /** The kernel says something. */
  say(message) {
    for (const does of this.heard["msg:custom"] ?? []) does(message);
  }

  /** A trait changes, as another view of the control makes it. */
  change(name, value) {
    this.traits[name] = value;
    for (const does of this.heard[`change:${name}`] ?? []) does();
  }
}

export const make = (name) => new Node(name);
/** Words that show their own name. */
export const words = new Proxy({}, { get: (_, name) => (name === "dir" || name === "lang" || name === "decimal" ? undefined : `${String(name)}`) });
