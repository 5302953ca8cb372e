// Beside the face: which mask, buttons and fields to move it, a slider to turn it.

import { button, element, focusable } from "./elements.js";
import { round } from "./picture.js";
import { fill, numeral } from "./speech.js";

/** @import { FaceGiven, Mask, Words } from "./types.js" */

export const MOVE = 1; // mm of an arrow key or a button
/** @type {[string, string, number, number][]} */
const BUTTONS = [
  ["Up", "↑", 0, -1], ["Left", "←", -1, 0], ["Right", "→", 1, 0], ["Down", "↓", 0, 1],
];

/** @typedef {{ choose(mask: number): void, move(x: number, y: number): void, place(name: "x" | "y", n: number): void, turn(turn: number): void }} Does what a hand does to the mask */
export class FacePanel {
  /** @type {HTMLInputElement[]} */
  radios;
  /** @type {HTMLButtonElement[]} */
  keys;
  /** @type {ReturnType<FacePanel["field"]>[]} */
  fields;
  /** @type {HTMLElement} */
  wrong;
  /** @type {HTMLInputElement} */
  turn;
  /** @type {HTMLElement} */
  turned;

  /**
   * @param {{ face: FaceGiven, words: Words, id: string, locked: boolean }} given
   * @param {Does} does
   */
  constructor({ face, words, id, locked }, does) {
    this.face = face;
    this.words = words;
    this.id = id;
    this.locked = locked;
    this.does = does;
    this.choice = this.sizes();
    this.root = element("div", { class: "tpiece-face-panel" }, this.moves(), this.turns());
  }

  sizes() {
    const { words } = this;
    this.radios = this.face.masks.map((size) => {
      const name = `${this.id}-size`;
      const input = focusable("input", { type: "radio", name, value: `${size}` });
      input.disabled = this.locked;
      input.addEventListener("change", () => this.does.choose(size));
      return input;
    });
    /** @param {HTMLInputElement} input */
    const row = (input) => {
      const text = element("span", {}, fill(words.faceSize, { size: input.value }));
      return element("label", { class: "tpiece-option" }, input, text);
    };
    const rows = element("div", { class: "tpiece-face-sizes" }, ...this.radios.map(row));
    return this.group(words.faceSizes, rows);
  }

  /**
   * @param {string} title
   * @param {...Node} parts
   */
  group(title, ...parts) {
    const name = element("div", { class: "tpiece-face-title" }, title);
    const root = element("div", { role: "group", "aria-label": title }, name, ...parts);
    name.setAttribute("aria-hidden", "true");
    return root;
  }

  moves() {
    this.keys = BUTTONS.map(([name, arrow, x, y]) => {
      const way = this.words[`face${name}`];
      const title = fill(this.words.faceMoveBy, { way, step: MOVE });
      const key = button(arrow, () => this.does.move(x * MOVE, y * MOVE), title);
      key.setAttribute("aria-label", title);
      key.classList.add(`tpiece-face-${name.toLowerCase()}`);
      return key;
    });
    const pad = element("div", { class: "tpiece-face-pad tpiece-ltr" }, ...this.keys);
    this.fields = [this.field("x"), this.field("y")];
    const fields = element("div", {}, ...this.fields.map(({ label }) => label));
    this.wrong = element("p", { class: "tpiece-face-wrong", "aria-live": "polite" });
    const note = element("p", { class: "tpiece-face-note" }, this.words.faceSigns);
    const side = element("div", { class: "tpiece-face-places" }, pad, fields);
    return this.group(this.words.faceMove, side, note, this.wrong);
  }

  /** @param {"x" | "y"} name */
  field(name) {
    const input = focusable("input", { type: "text", inputmode: "decimal", class: "tpiece-field" });
    Object.assign(input, { autocomplete: "off", disabled: this.locked });
    input.addEventListener("input", () => this.typed(name, input, false));
    input.addEventListener("change", () => this.typed(name, input, true));
    const text = element("span", {}, this.words[`face${name.toUpperCase()}`]);
    return { name, input, label: element("label", { class: "tpiece-face-field" }, text, input) };
  }

  // What is typed stays in the field. Half a number, such as a minus sign, is told when it is left.
  /**
   * @param {"x" | "y"} name
   * @param {HTMLInputElement} input
   * @param {boolean} left
   */
  typed(name, input, left) {
    const number = this.number(input);
    const fine = number !== null;
    if (fine || left) input.setAttribute("aria-invalid", String(!fine));
    this.wrong.textContent = left && !fine ? this.words.faceNumber : "";
    if (fine) this.does.place(name, number);
  }

  /** @param {HTMLInputElement} input */
  number(input) {
    const text = input.value.trim().replace(",", ".").replace("\u2212", "-");
    return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(text) ? round(Number(text), 2) : null;
  }

  turns() {
    this.turn = focusable("input", { type: "range", min: "-180", max: "180" });
    Object.assign(this.turn, { step: this.face.turn_step, disabled: this.locked });
    this.turn.setAttribute("aria-label", this.words.faceTurn);
    this.turn.addEventListener("input", () => this.does.turn(Number(this.turn.value)));
    this.turned = element("span", { "aria-hidden": "true", class: "tpiece-face-turned" });
    const row = element("div", { class: "tpiece-face-turn" }, this.turn, this.turned);
    return this.group(this.words.faceTurn, row);
  }

  /** @param {Mask | null} value */
  show(value) {
    for (const input of this.radios) input.checked = Number(input.value) === value?.mask;
    for (const key of this.keys) key.setAttribute("aria-disabled", String(this.locked || !value));
    for (const { name, input } of this.fields) this.put(input, value?.[name]);
    for (const { input } of this.fields) input.disabled = this.locked || !value;
    this.turn.disabled = this.locked || !value;
    this.turn.value = String(value?.turn ?? 0);
    this.turned.textContent = value ? saidTurn(value.turn, this.words) : "";
    this.turn.setAttribute("aria-valuetext", saidTurn(value?.turn ?? 0, this.words));
  }

  /**
   * @param {HTMLInputElement} input
   * @param {number | undefined} number
   */
  put(input, number) {
    if (input === document.activeElement && this.number(input) === number) return; // being typed
    input.value = number === undefined ? "" : numeral(number);
    input.setAttribute("aria-invalid", "false");
    this.wrong.textContent = "";
  }
}

/**
 * @param {number} turn
 * @param {Words} words
 */
function saidTurn(turn, words) {
  const right = ((((turn + 180) % 360) + 360) % 360) - 180;
  if (!right) return words.faceStraight;
  return fill(right > 0 ? words.faceTurnedRight : words.faceTurnedLeft, { turn: Math.abs(right) });
}

// Where a mask lies, by its middle; the page knows no more without the workbook.
/**
 * @param {Mask} mask
 * @param {Words} words
 */
export function saidMask({ mask, x, y, turn }, words) {
  /** @param {number} n */
  const mm = (n) => round(Math.abs(n), 2);
  const across = x > 0 ? words.faceRightOf : x < 0 ? words.faceLeftOf : words.faceOnMidline;
  const along = y > 0 ? words.faceBelow : y < 0 ? words.faceAbove : words.faceLevel;
  const [side, down] = [fill(across, { mm: mm(x) }), fill(along, { mm: mm(y) })];
  return fill(words.faceMask, { size: mask, side, down, turn: saidTurn(turn, words) });
}
