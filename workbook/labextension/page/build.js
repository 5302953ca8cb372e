// What every page of the room is built with.

// A word such as "set-up" stays in one line; browsers break after its hyphen. A long one may break,
// or it would be wider than a telephone.
const LONGEST_WORD = 16; // characters

/**
 * What a page of the room asks JupyterLab for.
 *
 * @typedef {object} Lab
 * @property {{ makeSettings(): Settings, makeRequest(url: string, init: RequestInit, settings: Settings): Promise<Response> }} ServerConnection
 * @property {{ join(...parts: string[]): string }} URLExt
 *
 * @typedef {{ baseUrl: string }} Settings
 */

/**
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {string} [className]
 * @param {...(Node | string | null | undefined)} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
export function element(name, className, ...children) {
  const node = document.createElement(name);
  if (className) node.className = className;
  node.append(...children.filter(/** @returns {child is Node | string} */ (child) => child !== null && child !== undefined && child !== ""));
  return node;
}

/**
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, string | number>} about
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[Name]}
 */
export function drawing(name, about = {}, ...children) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(about)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/** @param {string} text */
export function whole(text) {
  return text.split(/(\s+)/).map((word) => {
    const joined = word.includes("-") && word.length <= LONGEST_WORD;
    return joined ? element("span", "tpiece-word", word) : word;
  });
}

/**
 * Asks the learner's server about the room; returns its data, null where there is none.
 *
 * @param {Lab} lab
 * @param {string} name
 * @param {Record<string, string>} query
 */
export async function askServer(lab, name, query = {}, method = "GET") {
  const settings = lab.ServerConnection.makeSettings();
  const url = lab.URLExt.join(settings.baseUrl, "tpiece", name);
  const asked = Object.keys(query).length ? `${url}?${new URLSearchParams(query)}` : url;
  const reply = await lab.ServerConnection.makeRequest(asked, { method }, settings);
  if (reply.status === 404) return null;
  if (!reply.ok) throw new Error(`${name} was not told: ${reply.status}`);
  return reply.json();
}

/**
 * What an error says, whatever was thrown.
 *
 * @param {unknown} error
 */
export function messageOf(error) {
  return (error instanceof Error && error.message) || String(error);
}

/**
 * The status of the server's reply to what failed; nothing where no server replied.
 *
 * @param {unknown} error
 * @returns {number | undefined}
 */
export function statusOf(error) {
  const { response } = /** @type {{ response?: Response }} */ (error ?? {});
  return response?.status;
}
