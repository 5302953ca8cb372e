// At a static site there is no server to hand in to: the answers leave as one file.

/** @import { Libraries, Panel, Tracker } from "./lab.js" */

// The id of the course whose site this is; empty when a server runs the page.
/** @param {Libraries} lab */
export function siteOf(lab) {
  return lab.PageConfig?.getOption("tpieceSite") ?? "";
}

/** @param {Libraries} lab */
export function sendTo(lab) {
  return lab.PageConfig.getOption("tpieceSendTo");
}

// Loading the tab anew opens the page that was in front: settled.js of the site reads this.
/** @param {Tracker} tracker */
export function rememberInFront(tracker) {
  /** @param {Panel | null} panel */
  const remember = (panel) =>
    panel && sessionStorage.setItem("tpiece-page", panel.context.localPath);
  remember(tracker.currentWidget);
  tracker.currentChanged.connect((_, panel) => remember(panel));
}

// A name that tells the learner's file from everyone else's in one folder.
/**
 * @param {string} path
 * @param {string} learner
 */
export function fileName(path, learner = "") {
  return [learner, path.split("/").at(-1)].filter(Boolean).join(".");
}

/**
 * @param {string} name
 * @param {string} text
 */
export function saveAs(name, text) {
  const url = URL.createObjectURL(new Blob([text], { type: "application/octet-stream" }));
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

// The way back to the page that lists the course's lessons and exercises.
/**
 * @param {Libraries} lab
 * @param {string} label
 */
export function homeLink(lab, label) {
  const link = document.createElement("a");
  link.className = "tpiece-home";
  link.href = new URL("index.html", new URL(lab.PageConfig.getBaseUrl(), location.href)).href;
  link.textContent = label;
  link.setAttribute("data-lm-suppress-shortcuts", "true");
  return link;
}
