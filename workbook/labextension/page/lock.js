// A page that nothing can break: no cell is ever edited, and no page is ever unsaved.

/** @import { Cell, NotebookModel, Panel } from "./lab.js" */

const STILL = {
  windowingMode: "none",
  scrollPastEnd: false,
  showEditorForReadOnlyMarkdown: false,
};

/** @param {Panel} panel */
export async function lock(panel) {
  quiet(panel);
  const { content, context } = panel;
  content.notebookConfig = { ...content.notebookConfig, ...STILL };
  await context.ready;
  if (panel.isDisposed) return;
  const still = () => content.widgets.forEach(hold);
  still();
  content.modelContentChanged.connect(still);
  keepClean(panel.model);
  plain(panel);
}

// What is named and numbered for people who edit is a page of text here, for a screen reader too.
/** @param {Panel} panel */
function plain(panel) {
  const cells = panel.content.viewportNode;
  for (const name of ["role", "aria-label"]) cells.removeAttribute(name);
  for (const part of panel.node.querySelectorAll("[role=region]")) part.removeAttribute("role");
}

// JupyterLab opens a dialog when a kernel restarts by itself; the page's own line says so here.
// The name is private to JupyterLab: tests/browser/test_room.py notices when it goes.
/** @param {Panel} panel */
function quiet(panel) {
  panel.sessionContext.statusChanged.disconnect(panel._onSessionStatusChanged, panel);
}

// Nothing of this is written into the page: it holds for this window only.
/** @param {Cell} cell */
function hold(cell) {
  cell.syncEditable = false;
  cell.readOnly = true;
  if (cell.model.type === "markdown") cell.showEditorForReadOnly = false;
  passBy(cell.node);
  unname(cell.node);
}

// "Code Cell Content with Output" says nothing to a learner; JupyterLab says it at each output.
/** @param {HTMLElement} node */
function unname(node) {
  if (Object.hasOwn(node, "setAttribute")) return;
  node.removeAttribute("aria-label");
  const set = node.setAttribute.bind(node);
  node.setAttribute = (name, value) => {
    if (name !== "aria-label") set(name, value);
  };
}

// A cell is no control, so Tab goes past it; JupyterLab makes the one in use a stop.
/** @param {HTMLElement} node */
function passBy(node) {
  if (Object.hasOwn(node, "tabIndex")) return;
  node.setAttribute("tabindex", "-1");
  Object.defineProperty(node, "tabIndex", { get: () => -1, set: () => {} });
}

// Answers are kept in their own file, so there is never anything to save.
/** @param {NotebookModel} model */
function keepClean(model) {
  model.dirty = false;
  model.stateChanged.connect((_, { name, newValue }) => {
    if (name === "dirty" && newValue) model.dirty = false;
  });
}
