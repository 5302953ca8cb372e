// One of several, or several of several: native radios or checkboxes in a fieldset.

import { element, focusable } from "./elements.js";
import { showFigure } from "./figures.js";
import { Frame } from "./frame.js";
import { Saver } from "./saving.js";

/** @import { ChoiceTraits, Render } from "./types.js" */

/** @type {Render<ChoiceTraits>} */
function render({ model, el }) {
  const frame = new Frame(model, el, { group: true, showFigure });
  const many = model.get("many");
  const inputs = model.get("options").map((option) => row(option));
  const saver = new Saver(model, frame, show);
  show(model.get("saved")?.value);

  /** @param {{ id: string, text: string }} option */
  function row({ id, text }) {
    const type = many ? "checkbox" : "radio";
    const input = focusable("input", { type, name: frame.id, value: id });
    input.disabled = model.get("read_only");
    input.addEventListener("change", () => chosen(input));
    const words = element("span", {}, text);
    frame.body.append(element("label", { class: "tpiece-option" }, input, words));
    return input;
  }

  /** @param {HTMLInputElement} input */
  function chosen(input) {
    if (many && input.checked) exclude(input);
    saver.offer(value());
  }

  /**
   * "None of these" and the others exclude one another.
   *
   * @param {HTMLInputElement} input
   */
  function exclude(input) {
    for (const other of inputs) {
      const clash = (input.value === "none") !== (other.value === "none");
      if (other !== input && clash) other.checked = false;
    }
  }

  function value() {
    const ids = inputs.filter((input) => input.checked).map((input) => input.value);
    return many ? ids : ids[0];
  }

  /** @param {unknown} value one id, or several */
  function show(value) {
    const ids = Array.isArray(value) ? value : [value];
    for (const input of inputs) input.checked = ids.includes(input.value);
  }

  return () => (saver.dispose(), frame.dispose());
}

export default { render };
