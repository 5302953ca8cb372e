// What a page is made of: elements, keys that JupyterLab leaves alone, buttons and boxes.

/**
 * A value that is a text is an attribute; any other one is set as the element's own property.
 *
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, unknown>} attributes
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
export function element(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in node && typeof value !== "string") Object.assign(node, { [key]: value });
    else node.setAttribute(key, String(value));
  }
  node.append(...children);
  return node;
}

/**
 * JupyterLab takes the keys of any focused element that does not carry this mark itself.
 *
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, unknown>} attributes
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
export function focusable(name, attributes, ...children) {
  return element(name, { "data-lm-suppress-shortcuts": "true", ...attributes }, ...children);
}

/**
 * A button that is off keeps the focus, so that the keyboard is never left at the top of the page.
 *
 * @param {string} text
 * @param {() => unknown} does
 */
export function button(text, does, title = text) {
  const node = focusable("button", { type: "button", class: "tpiece-key", title }, text);
  node.addEventListener("click", () => node.getAttribute("aria-disabled") !== "true" && does());
  return node;
}

/**
 * A box to tick, in words; it says at once what it switches.
 *
 * @param {string} text
 * @param {boolean} on
 * @param {(on: boolean) => unknown} does
 */
export function switchBox(text, on, does) {
  const box = focusable("input", { type: "checkbox" });
  box.checked = on;
  box.addEventListener("change", () => does(box.checked));
  return element("label", { class: "tpiece-option tpiece-switch" }, box, element("span", {}, text));
}
