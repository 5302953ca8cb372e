// The note of a case: an entry a line. A number is typed, or it is said that it was not done or is
// not known; what is left blank is no part of the answer.

import { element, focusable } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";
import { speech } from "./speech.js";

/** @import { NoteEntry, NoteTraits, Option, Render } from "./types.js" */

/**
 * @typedef {{ root: HTMLElement, input: HTMLInputElement }} Box
 * @typedef {{ id: string, root: HTMLElement, value: () => unknown, put: (value: unknown) => void }} Written an entry as it is shown
 */
const PAUSE = 800; // milliseconds after the last key
const NUMBER = /^(\d+[.,]?\d*|[.,]\d+)$/;

/** @type {Render<NoteTraits>} */
function render({ model, el }) {
  const frame = new Frame(model, el, { group: true, showFigure });
  const locked = model.get("read_only");
  const entries = model.get("entries").map((entry) => (entry.unit ? typed(entry) : chosen(entry)));
  const sheet = element("div", { class: "tpiece-note" }, ...entries.map(({ root }) => root));
  frame.body.append(sheet);
  const saver = new Saver(model, frame, show);
  show(/** @type {Record<string, unknown> | undefined} */ (model.get("saved")?.value));

  /**
   * @param {NoteEntry} entry
   * @param {Element} control
   * @param {...Element} said
   */
  function line(entry, control, ...said) {
    const label = element("label", { for: control.id }, entry.label);
    const words = element("div", { class: "tpiece-note-said" }, ...said);
    return element("div", { class: "tpiece-note-entry" }, label, words);
  }

  /**
   * @param {NoteEntry} entry
   * @returns {Written}
   */
  function typed(entry) {
    const id = `${frame.id}-${entry.id}`;
    const input = focusable("input", { type: "text", inputmode: "decimal", id, class: "tpiece-field" });
    input.setAttribute("aria-describedby", `${id}-u`);
    input.autocomplete = "off";
    const boxes = entry.options.map((option) => box(entry, option));
    input.addEventListener("input", () => (untick(boxes), changed(PAUSE)));
    input.addEventListener("change", () => saver.flush());
    for (const each of boxes) each.input.addEventListener("change", () => tick(each, boxes, input));
    const unit = element("span", { id: `${id}-u`, dir: "ltr" }, entry.unit ?? "");
    const field = element("span", { class: "tpiece-note-typed" }, input, unit);
    const root = line(entry, input, field, ...boxes.map((each) => each.root));
    input.disabled = locked;
    return { id: entry.id, root, value: () => written(input, boxes), put: (value) => put(input, boxes, value) };
  }

  /**
   * @param {NoteEntry} entry
   * @param {Option} option
   * @returns {Box}
   */
  function box(entry, option) {
    const input = focusable("input", { type: "checkbox", value: option.id });
    input.setAttribute("aria-label", `${entry.label}: ${option.text}`);
    input.disabled = locked;
    const root = element("label", { class: "tpiece-option" }, input, element("span", {}, option.text));
    return { root, input };
  }

  /**
   * @param {NoteEntry} entry
   * @returns {Written}
   */
  function chosen(entry) {
    const select = focusable("select", { id: `${frame.id}-${entry.id}`, class: "tpiece-field" });
    select.append(element("option", { value: "" }, "–"));
    for (const { id, text } of entry.options) select.append(element("option", { value: id }, text));
    select.disabled = locked;
    select.addEventListener("change", () => changed());
    /** @param {unknown} value */
    const put = (value) => (select.value = String(value ?? ""));
    return { id: entry.id, root: line(entry, select, select), value: () => select.value || undefined, put };
  }

  /** @param {Box[]} boxes */
  function untick(boxes) {
    for (const { input } of boxes) input.checked = false;
  }

  // Who says that it is not known has typed no number.
  /**
   * @param {Box} one
   * @param {Box[]} boxes
   * @param {HTMLInputElement} field
   */
  function tick(one, boxes, field) {
    if (one.input.checked) {
      for (const each of boxes) each.input.checked = each === one;
      field.value = "";
    }
    changed();
  }

  // Undefined for a blank, null for what is no number.
  /**
   * @param {HTMLInputElement} field
   * @param {Box[]} boxes
   */
  function written(field, boxes) {
    const text = field.value.trim();
    const wrong = text !== "" && !NUMBER.test(text);
    field.setAttribute("aria-invalid", String(wrong));
    if (wrong) return null;
    if (text) return Number.parseFloat(text.replace(",", "."));
    return boxes.find(({ input }) => input.checked)?.input.value;
  }

  /**
   * @param {HTMLInputElement} field
   * @param {Box[]} boxes
   * @param {unknown} value
   */
  function put(field, boxes, value) {
    const number = typeof value === "number";
    field.value = number ? String(value).replace(".", speech.decimal) : "";
    field.setAttribute("aria-invalid", "false");
    for (const { input } of boxes) input.checked = !number && input.value === value;
  }

  // What is typed stays in its field, whether it can be saved or not.
  function changed(pause = 0) {
    const rows = entries.map(({ id, value }) => ({ id, value: value() }));
    const said = rows.filter(({ value }) => value !== undefined);
    if (said.some(({ value }) => value === null)) saver.withdraw("notNumber");
    else if (said.length) saver.offer({ ...model.get("head"), ...Object.fromEntries(said.map(({ id, value }) => [id, value])) }, pause);
    else saver.withdraw(saver.saved().number === undefined ? "blank" : "emptied");
  }

  /** @param {Record<string, unknown> | undefined} value */
  function show(value) {
    for (const entry of entries) entry.put(value?.[entry.id]);
  }

  return () => (saver.dispose(), frame.dispose());
}

export default { render };
