// One page in two windows: the one that ran it last counts, and the other stands aside.
//
// Both windows talk to one kernel, which tells each of them what the other runs. Whoever sees the
// page's first code run by another window, after its own run of it, is the older one. That holds
// for windows of any browser and any computer.

/** @import { Message, NotebookModel, Panel } from "./lab.js" */

/**
 * @param {Panel} panel
 * @param {() => void} onNewer
 */
export function watchOthers(panel, onNewer) {
  const { sessionContext, model } = panel;
  let mine = false;
  /**
   * @param {unknown} _
   * @param {Message} message
   */
  const heard = (_, message) => {
    if (message.header.msg_type !== "execute_input") return;
    if (message.content.code !== firstCode(model)) return;
    const own = message.parent_header.session === sessionContext.session?.kernel?.clientId;
    if (!own && mine) onNewer();
    mine = own;
  };
  sessionContext.iopubMessage.connect(heard);
  panel.disposed.connect(() => sessionContext.iopubMessage.disconnect(heard));
}

/** @param {NotebookModel} model */
function firstCode(model) {
  const cells = [...model.sharedModel.cells];
  return cells.find((cell) => cell.cell_type === "code" && cell.getSource().trim())?.getSource();
}
