// The door JupyterLab loads this extension through (a module-federation container, by hand).
// The folder is not named "static": JupyterLab lets browsers keep files in a "static" folder
// for a year without asking again, and these names do not change from version to version.
/** @typedef {{ loaded?: number, get(): Promise<() => object> }} Offer one version of a library */
/** @typedef {Record<string, Record<string, Offer>>} Shared */

(() => {
  const here = /** @type {HTMLScriptElement} */ (document.currentScript).src.replace(/[^/]*$/, "");
  /** @type {Shared} */
  let shared = {};

  /**
   * Of several versions of a library, take the one in use, else the newest.
   *
   * @param {string} name
   */
  async function library(name) {
    const offers = shared[name];
    if (!offers) throw new Error(`The workbook extension needs ${name}, which is not here.`);
    const versions = Object.keys(offers).sort((a, b) =>
      a.localeCompare(b, undefined, { numeric: true }),
    );
    const inUse = versions.find((version) => offers[version].loaded);
    return (await offers[inUse ?? /** @type {string} */ (versions.at(-1))].get())();
  }

  async function libraries() {
    const names = [
      "@jupyterlab/notebook", "@jupyterlab/apputils", "@lumino/widgets", "@jupyterlab/services",
      "@jupyterlab/coreutils", "@jupyterlab/application", "@jupyterlab/docmanager",
    ];
    return Object.assign({}, ...(await Promise.all(names.map(library))));
  }

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB["tpiece-workbook"] = {
    init(/** @type {Shared} */ scope) {
      shared = scope;
    },
    async get() {
      const [{ makePlugins }, lab] = await Promise.all([import(`${here}plugin.js`), libraries()]);
      return () => ({ __esModule: true, default: makePlugins(lab, here) });
    },
  };
})();
