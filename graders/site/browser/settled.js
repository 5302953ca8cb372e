// Settles whose workbook this is before JupyterLite starts: each learner has a drive of their own
// in this browser, and the kernel is told the name. Loaded before everything else.
(() => {
  const KERNEL = "@jupyterlite/pyodide-kernel-extension:kernel";
  const NAME = "tpiece-learner";
  const here = new URL("..", document.currentScript.src);
  const learner = localStorage.getItem(NAME);
  const start = (why) => {
    const url = new URL("index.html", here);
    url.searchParams.set(why, "1");
    location.replace(url);
  };

  // One tab at a time: two would write to one drive, and the browser keeps them apart for us.
  // A tab that was closed a moment ago may still be ending: it is waited for.
  const ENDING = 6000;
  const onlyTab = () =>
    new Promise((resolve) => {
      const held = () => (resolve(true), new Promise(() => {}));
      if (!navigator.locks) return resolve(true);
      const options = { signal: AbortSignal.timeout(ENDING) };
      return navigator.locks
        .request(`${NAME}:${here.pathname}`, options, held)
        .catch(() => resolve(false));
    });

  // JupyterLab takes the page's name out of the address; loading the tab anew opens it again.
  const address = new URL(location);
  const last = sessionStorage.getItem("tpiece-page");
  if (last && !address.searchParams.has("path")) {
    address.searchParams.set("path", last);
    history.replaceState(null, "", address);
  }

  // Words that the page is opening stand there until there is something to see.
  const style = document.createElement("style");
  style.textContent = `
    #jupyterlite-loading-indicator { display: none !important; }
    #tpiece-opening {
      position: fixed; z-index: 1001; inset: 38% 0 auto; margin: 0 auto; box-sizing: border-box;
      width: fit-content; max-width: min(30rem, calc(100vw - 2rem)); padding: 1rem 1.5rem;
      font: 1.1rem/1.5 system-ui, sans-serif; color-scheme: light dark; pointer-events: none;
      color: CanvasText; background: Canvas; border: 2px solid; border-radius: 6px;
    }`;
  document.head.append(style);
  const watch = new MutationObserver(() => {
    if (!document.querySelector(".tpiece-status, .jp-Dialog")) return;
    document.getElementById("tpiece-opening")?.remove();
    watch.disconnect();
  });
  watch.observe(document, { childList: true, subtree: true });

  const ready = "serviceWorker" in navigator && "indexedDB" in globalThis;
  const alone = learner && ready ? onlyTab() : Promise.resolve(false);
  // The drive outlives a shortage of space if the browser grants it.
  void navigator.storage?.persist?.();

  // What was open the last time is not opened again: each page would start a Python of its own.
  const forget = (name) =>
    new Promise((resolve) => {
      const asked = indexedDB.deleteDatabase(name);
      asked.onsuccess = asked.onerror = asked.onblocked = resolve;
    });

  globalThis.tpieceSettled = async (config) => {
    if (!ready) start("browser");
    else if (!learner) start("who");
    else if (!(await alone)) start("open");
    if (!ready || !learner || !(await alone)) return new Promise(() => {});
    config.contentsStorageName = `tpiece ${config.tpieceSite} ${learner}`;
    config.workspacesStorageName = `${config.contentsStorageName} pages`;
    await forget(config.workspacesStorageName);
    config.settingsStorageName = `${config.contentsStorageName} settings`;
    config.litePluginSettings[KERNEL].loadPyodideOptions.env.TPIECE_LEARNER = learner;
    return config;
  };
})();
