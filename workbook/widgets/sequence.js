// Steps to arrange: by buttons, by arrow keys on a step's handle, by typing its place, by dragging.

const PAUSE = 250; // milliseconds; a held arrow key sends once

function render({ model, el }) {
  const frame = new Frame(model, el, { group: true });
  const { words } = frame;
  const texts = new Map(model.get("items").map(({ id, text }) => [id, text]));
  const list = element("ol", { class: "tpiece-steps" });
  const told = element("p", { class: "tpiece-told", "aria-live": "polite" });
  const undo = button(words.undo, words.undo, () => back());
  frame.body.append(list, element("div", { class: "tpiece-line" }, undo, told));
  const rows = new Map(model.get("start").map((id) => [id, row(id)]));
  const past = [];
  let order = model.get("start");
  let timer;
  const saver = new Saver(model, frame, show);
  show((model.get("saved") ?? {}).value);

  function show(value) {
    order = Array.isArray(value) && value.length === rows.size ? [...value] : [...order];
    past.length = 0;
    draw();
  }

  function draw() {
    const locked = model.get("read_only");
    order.forEach((id, n) => {
      const { item, handle, up, down, place } = rows.get(id);
      if (list.children[n] !== item) list.insertBefore(item, list.children[n] ?? null);
      handle.textContent = String(n + 1);
      const where = { step: texts.get(id), place: n + 1, count: order.length };
      handle.setAttribute("aria-label", fill(words.handle, where));
      up.setAttribute("aria-label", fill(words.upFull, where));
      down.setAttribute("aria-label", fill(words.downFull, where));
      place.setAttribute("aria-label", fill(words.placeFull, where));
      place.value = String(n + 1);
      up.setAttribute("aria-disabled", String(locked || n === 0));
      down.setAttribute("aria-disabled", String(locked || n === order.length - 1));
      handle.disabled = place.disabled = locked;
    });
    undo.setAttribute("aria-disabled", String(locked || !past.length));
  }

  function row(id) {
    const handle = focusable("button", { type: "button", class: "tpiece-handle" });
    const up = button("↑", words.up, () => step(id, -1, up));
    const down = button("↓", words.down, () => step(id, 1, down));
    const place = focusable("input", { type: "number", min: "1", max: String(texts.size), class: "tpiece-place" });
    const item = element("li", { class: "tpiece-step" }, handle);
    item.append(element("span", { class: "tpiece-text" }, texts.get(id)), up, down, place);
    handle.addEventListener("keydown", (event) => keyed(event, id));
    handle.addEventListener("pointerdown", (event) => drag(event, id));
    place.addEventListener("change", () => placed(id, place));
    place.addEventListener("keydown", (event) => event.key === "Enter" && placed(id, place));
    return { item, handle, up, down, place };
  }

  function button(text, label, does) {
    const node = focusable("button", { type: "button", class: "tpiece-key", title: label });
    node.textContent = text;
    node.addEventListener("click", () => node.getAttribute("aria-disabled") !== "true" && does());
    return node;
  }

  function keyed(event, id) {
    const at = order.indexOf(id);
    const to = { ArrowUp: at - 1, ArrowDown: at + 1, Home: 0, End: order.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    move(id, to, rows.get(id).handle);
  }

  function step(id, by, focus) {
    move(id, order.indexOf(id) + by, focus);
  }

  function placed(id, field) {
    const to = Number.parseInt(field.value, 10) - 1;
    if (Number.isNaN(to) || to === order.indexOf(id)) return draw();
    return move(id, Math.max(0, Math.min(order.length - 1, to)), field);
  }

  function move(id, to, focus) {
    if (to < 0 || to >= order.length || to === order.indexOf(id) || model.get("read_only")) return;
    past.push([...order]);
    order.splice(order.indexOf(id), 1);
    order.splice(to, 0, id);
    changed(fill(words.moved, { step: texts.get(id), place: to + 1, count: order.length }));
    focus?.focus();
  }

  function back() {
    order = past.pop();
    changed(words.undone);
  }

  function changed(says) {
    draw();
    told.textContent = says;
    clearTimeout(timer);
    frame.say("saving");
    timer = setTimeout(() => saver.offer([...order]), PAUSE);
  }

  // Dragging by the handle: the step goes where the pointer is, with mouse, pen or finger.
  function drag(event, id) {
    if (event.button || model.get("read_only")) return;
    const { handle, item } = rows.get(id);
    const before = [...order];
    handle.setPointerCapture(event.pointerId);
    item.dataset.dragged = "true";
    const follow = ({ clientY }) => {
      const others = order.filter((other) => other !== id);
      const middle = (other) => {
        const box = rows.get(other).item.getBoundingClientRect();
        return box.top + box.height / 2;
      };
      const to = others.filter((other) => middle(other) < clientY).length;
      if (to === order.indexOf(id)) return;
      order = [...others.slice(0, to), id, ...others.slice(to)];
      draw();
    };
    const drop = () => {
      delete item.dataset.dragged;
      handle.removeEventListener("pointermove", follow);
      if (before.join() === order.join()) return;
      past.push(before);
      const where = { step: texts.get(id), place: order.indexOf(id) + 1, count: order.length };
      changed(fill(words.moved, where));
    };
    handle.addEventListener("pointermove", follow);
    for (const end of ["lostpointercapture"]) handle.addEventListener(end, drop, { once: true });
  }

  return () => (clearTimeout(timer), saver.dispose(), frame.dispose());
}

export default { render };
