// A dialog of JupyterLab's own, with a name and a description for screen readers.

/** @import { DialogKind, Libraries, Words } from "./lab.js" */

/**
 * @typedef {{ cancel?: string, accept?: string, other?: string }} Labels what the buttons say
 * 
 * @typedef {object} Parts
 * @property {string} title
 * @property {string[]} before
 * @property {string[]} [list]
 * @property {string} [after]
 * @property {Labels} [buttons]
 * @property {boolean} [careful]
 */
const BODY = "tpiece-dialog-body";

// Resolves true when accepted, "other" for the other button, false otherwise (Escape too). Where
// Enter must not accept, ``careful`` gives the way back the focus.
/**
 * @param {Libraries} lab
 * @param {Words} words
 * @param {Parts} parts
 * @returns {Promise<boolean | "other">}
 */
export async function ask(lab, words, parts) {
  const { title, before, list = [], after = "", buttons = {}, careful = false } = parts;
  const body = new lab.Widget({ node: describe(before, list, after) });
  const made = makeButtons(lab.Dialog, { accept: words.close, ...buttons });
  const first = careful ? made.findIndex(({ accept }) => !accept) : made.length - 1;
  const dialog = new lab.Dialog({ title, body, buttons: made, defaultButton: first });
  dialog.addClass("tpiece-dialog");
  dialog.node.lang = words.language;
  dialog.node.dir = words.direction;
  dialog.node.setAttribute("aria-label", title);
  dialog.node.setAttribute("aria-describedby", BODY);
  const { button } = await dialog.launch();
  return button.actions.includes("other") ? "other" : button.accept;
}

/**
 * @param {DialogKind} Dialog
 * @param {Labels} labels
 */
function makeButtons(Dialog, { cancel, accept = "", other }) {
  const plain = { actions: ["other"], className: "tpiece-plain" };
  const more = other ? [Dialog.createButton({ label: other, ...plain })] : [];
  const back = cancel ? [Dialog.cancelButton({ label: cancel })] : [];
  return [...more, ...back, Dialog.okButton({ label: accept })];
}

/**
 * @param {string[]} before
 * @param {string[]} list
 * @param {string} after
 */
function describe(before, list, after) {
  const node = document.createElement("div");
  node.id = BODY;
  for (const line of before) node.append(textIn("p", line));
  if (list.length) {
    const items = document.createElement("ul");
    items.append(...list.map((line) => textIn("li", line)));
    node.append(items);
  }
  if (after) node.append(textIn("p", after));
  return node;
}

/**
 * @param {string} name
 * @param {string} text
 */
function textIn(name, text) {
  const node = document.createElement(name);
  node.textContent = text;
  return node;
}
