// @ts-nocheck
// What a bench and a trial have in common: the player of the model's tables, and the end of both.

import { BenchKernel } from "./bench_kernel.js";
import { Player } from "./bench_player.js";
import { Frames } from "./frames.js";

export class BenchLive {
  frames = new Frames((stamp) => this.tick(stamp));

  run() {
    this.frames.ask();
  }

  makePlayer(most) {
    const { model } = this;
    const { positions, outlet, weight } = model.get("start");
    const start = { positions, outlet, lung: "", fault: "" };
    this.weight = weight;
    const take = (key, laws) => {
      this.player.learn(key, laws);
      this.run();
    };
    this.kernel = new BenchKernel(model, take, this.joined());
    const tables = this.kernel.begin(start, model.get("tables"));
    const ask = (key, setting) => this.kernel.ask(key, setting);
    this.player = new Player({ start, rest: model.get("rest"), tables, limit: this.limit, most, ask });
  }

  // What joins tables here: nothing, unless the page was given the laws of the circuit's parts.
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
