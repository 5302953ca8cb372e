// A dialog of JupyterLab's own, with a name and a description for screen readers.
import { WORDS } from "./words.js";

const BODY = "tpiece-dialog-body";

// Resolves true when accepted, "other" for the other button, false otherwise (Escape too).
export async function ask(lab, { title, before, list = [], after = "", buttons = {} }) {
  const body = new lab.Widget({ node: describe(before, list, after) });
  const dialog = new lab.Dialog({ title, body, buttons: makeButtons(lab.Dialog, buttons) });
  dialog.addClass("tpiece-dialog");
  dialog.node.setAttribute("aria-label", title);
  dialog.node.setAttribute("aria-describedby", BODY);
  const { button } = await dialog.launch();
  return button.actions.includes("other") ? "other" : button.accept;
}

function makeButtons(Dialog, { cancel, accept = WORDS.close, other }) {
  const more = other ? [Dialog.createButton({ label: other, actions: ["other"] })] : [];
  const back = cancel ? [Dialog.cancelButton({ label: cancel })] : [];
  return [...more, ...back, Dialog.okButton({ label: accept })];
}

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

function textIn(name, text) {
  const node = document.createElement(name);
  node.textContent = text;
  return node;
}
