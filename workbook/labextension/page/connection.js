// When nothing replies: a quiet line says what is safe and what happens next, and goes away.

/** @import { Libraries, Panel } from "./lab.js" */

const AGAIN_MS = 3000;
const TOLD_MS = 6000; // how long the good news stays

export class Connection {
  /**
   * @param {import("./room.js").Room} room
   * @param {Libraries} lab
   */
  constructor(room, lab) {
    this.room = room;
    this.lab = lab;
    this.asking = false;
    this.line = document.createElement("div");
    this.line.className = "tpiece-connection";
    this.line.setAttribute("role", "status");
    document.body.append(this.line);
    const ask = () => void this.check();
    document.addEventListener("tpiece-no-reply", ask);
    for (const event of ["offline", "online"]) addEventListener(event, ask);
  }

  // A page that loses its kernel's line asks at once; JupyterLab itself would ask in ten seconds.
  /** @param {Panel} panel */
  follow(panel) {
    panel.sessionContext.connectionStatusChanged.connect((_, status) => {
      if (status !== "connected") void this.check();
    });
  }

  async check() {
    if (this.asking) return;
    this.asking = true;
    let lost = false;
    while (!(await this.replies())) {
      lost = true;
      const { offline, noReply } = this.room.home.words.connection;
      this.say(navigator.onLine ? noReply : offline);
      await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
    }
    this.asking = false;
    if (lost) await this.back();
  }

  async replies() {
    const { ServerConnection, URLExt } = this.lab;
    const settings = ServerConnection.makeSettings();
    const url = URLExt.join(settings.baseUrl, "api", "status");
    try {
      return (await ServerConnection.makeRequest(url, {}, settings)).ok;
    } catch {
      return false; // which is what was asked
    }
  }

  async back() {
    this.say(this.room.home.words.connection.back);
    setTimeout(() => !this.asking && this.say(""), TOLD_MS);
    this.room.tracker.forEach(({ sessionContext }) => {
      const kernel = sessionContext.session?.kernel;
      if (kernel && kernel.connectionStatus !== "connected") void kernel.reconnect();
    });
    await this.room.app.serviceManager.sessions.refreshRunning();
  }

  /** @param {string} text */
  say(text) {
    if (this.line.textContent !== text) this.line.textContent = text;
    const { language, direction } = this.room.home.words;
    Object.assign(this.line, { lang: language, dir: direction });
  }
}
