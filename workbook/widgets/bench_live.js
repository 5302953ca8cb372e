// What a bench and a trial have in common: the player of the model's tables, and the end of both.

import { BenchKernel } from "./bench_kernel.js";
import { Player } from "./bench_player.js";
import { Frames } from "./frames.js";

/** @import { LiveTraits, Model, Tables } from "./types.js" */

/**
 * @template {LiveTraits} Traits
 * @template {{ dispose(): void }} Picture
 */
export class BenchLive {
  /** @type {Model<Traits>} */
  model;
  /** @type {import("./frame.js").Frame} */
  frame;
  /** @type {import("./types.js").Words} */
  words;
  /** @type {import("./saving.js").Saver} */
  saver;
  /** @type {BenchKernel} */
  kernel;
  /** @type {Player} */
  player;
  /** @type {Picture} */
  picture;
  /** @type {import("./bench_controls.js").BenchDial[]} */
  turned;
  /** @type {AbortController} */
  leaving;
  /** @type {number} */
  limit;
  /** @type {number} */
  weight;

  frames = new Frames((stamp) => this.tick(stamp));

  run() {
    this.frames.ask();
  }

  // What each of them does in its own way: show a picture (is another one wanted?), keep what was
  // done, and let go of what is not kept.

  /**
   * @param {number} _stamp
   * @returns {unknown}
   */
  tick(_stamp) {
    return false;
  }

  keep() {}

  forget() {}

  /** @param {number} most */
  makePlayer(most) {
    const { model } = this;
    const { positions, outlet, weight } = model.get("start");
    const start = { positions, outlet, lung: "", fault: "" };
    this.weight = weight;
    /**
     * @param {string} key
     * @param {Tables} laws
     */
    const take = (key, laws) => {
      this.player.learn(key, laws);
      this.run();
    };
    this.kernel = new BenchKernel(model, take, this.joined());
    const tables = /** @type {Tables} */ (this.kernel.begin(start, model.get("tables")));
    /**
     * @param {string} key
     * @param {import("./types.js").Setting} setting
     */
    const ask = (key, setting) => this.kernel.ask(key, setting);
    this.player = new Player({ start, rest: model.get("rest"), tables, limit: this.limit, most, ask });
  }

  // What joins tables here: nothing, unless the page was given the laws of the circuit's parts.
  /** @returns {import("./bench_joined.js").BenchJoined | null} */
  joined() {
    return null;
  }

  dispose() {
    this.keep(); // what was not saved goes on to the control that comes in this one's place
    this.frames.stop();
    for (const dial of this.turned) dial.letGo();
    this.forget();
    this.leaving.abort();
    this.picture.dispose();
    this.kernel.dispose();
    this.saver.dispose();
    this.frame.dispose();
  }
}
