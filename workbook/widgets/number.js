// A number with its unit: native text field, so that a decimal comma can be typed.

import { element, focusable } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { GHOST, GhostNeedle } from "./ghost.js";
import { round } from "./picture.js";
import { Saver } from "./saving.js";
import { speech } from "./speech.js";

/** @import { NumberTraits, Render } from "./types.js" */

const PAUSE = 800; // milliseconds after the last key
const NUMBER = /^[-+\u2212]?(\d+[.,]?\d*|[.,]\d+)$/;

/** @type {Render<NumberTraits>} */
function render({ model, el }) {
  const frame = new Frame(model, el, { group: false, showFigure });
  const units = model.get("units");
  const locked = model.get("read_only");
  const input = field();
  const unit = units.length > 1 ? picker() : element("span", { id: `${frame.id}-u`, dir: "ltr" }, units[0]);
  frame.body.classList.add("tpiece-number");
  const [top, per] = [model.get("gauge_top"), model.get("per")];
  const ghost = top ? new GhostNeedle(frame.words, top, locked, placed) : null;
  if (ghost) frame.body.append(ghost.root);
  frame.body.append(input, unit);
  const reveal = () => ghost?.reveal(model.get("feedback")?.needle);
  model.on("change:feedback", reveal);
  const saver = new Saver(model, frame, show);
  show(/** @type {{ text: string, unit: string } | undefined} */ (model.get("saved")?.value));
  reveal();

  function field() {
    const node = focusable("input", { type: "text", inputmode: "decimal", id: frame.id, class: "tpiece-field" });
    const told = [model.get("help") && "h", units.length === 1 && "u", "s"].filter(Boolean);
    node.setAttribute("aria-describedby", told.map((part) => `${frame.id}-${part}`).join(" "));
    node.autocomplete = "off";
    node.disabled = locked;
    node.addEventListener("input", () => typed());
    node.addEventListener("change", () => saver.flush());
    node.addEventListener("keydown", ({ key }) => key === "Enter" && saver.flush());
    return node;
  }

  function picker() {
    const select = focusable("select", { "aria-label": frame.words.unit, dir: "ltr", class: "tpiece-field" });
    for (const name of units) select.append(element("option", { value: name }, name));
    select.value = model.get("unit");
    select.disabled = locked;
    select.addEventListener("change", () => typed());
    return select;
  }

  function chosen() {
    return unit instanceof HTMLSelectElement ? unit.value : units[0];
  }

  // The needle was put somewhere: that is the same answer as its number in the unit chosen.
  /** @param {number} value */
  function placed(value) {
    const number = value / per[chosen()];
    input.value = String(round(number, GHOST.digits)).replace(".", speech.decimal);
    typed(true);
  }

  // The needle goes to where a typed number stands.
  function follow() {
    const number = Number.parseFloat(input.value.replace("\u2212", "-").replace(",", "."));
    const known = NUMBER.test(input.value.trim());
    ghost?.show(known ? number * per[chosen()] : null);
  }

  // What is typed stays in the field, whether it can be saved or not.
  function typed(byNeedle = false) {
    if (!byNeedle) follow();
    const text = input.value.trim();
    const wrong = text !== "" && !NUMBER.test(text);
    input.setAttribute("aria-invalid", String(wrong));
    if (wrong) saver.withdraw("notNumber");
    else if (text) saver.offer({ text, unit: chosen() }, PAUSE);
    else saver.withdraw(saver.saved().number === undefined ? "blank" : "emptied");
  }

  /** @param {{ text: string, unit: string } | undefined} value */
  function show(value) {
    if (!value) return;
    input.value = value.text;
    input.setAttribute("aria-invalid", "false");
    if (unit instanceof HTMLSelectElement) unit.value = value.unit;
    follow();
  }

  return () => (saver.dispose(), frame.dispose(), model.off("change:feedback", reveal));
}

export default { render };
