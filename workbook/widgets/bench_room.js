// A bench in front of a room: what an educator changes there is done at the bench like a touch.

import { benchShows, LiveBench } from "./bench.js";
import { benchDialSays } from "./bench_controls.js";
import { drawEducator } from "./bench_educator.js";

/** @import { Dial } from "./types.js" */

class RoomBench extends LiveBench {
  makeRoom() {
    const { words, educator, dials } = this;
    const lungs = (educator.lungs ?? []).map(({ id, text }) => ({ value: id, text }));
    const options = [{ value: "", text: words.benchLungStart }, ...lungs];
    /** @type {import("./bench_educator.js").Offered} */
    const given = { ask: educator.ask };
    given.lung = [{ id: "lung", label: words.benchLung, value: "", options }];
    if (dials.leak) given.leak = this.leakChoice(dials.leak);
    if (educator.faults) given.faults = educator.faults;
    const now = () => performance.now();
    const drawn = drawEducator(words, given, {
      onLung: ({ lung }) => this.touch("lung", lung, now()),
      onLeak: (position) => this.touch("leak", position, now()),
      onFault: (id) => {
        this.comes = educator.faults?.find((one) => one.id === id)?.comes;
        this.touch("fault", id, now());
      },
    });
    return [drawn];
  }

  /** @param {Dial} dial */
  leakChoice(dial) {
    const at = this.player.setting.positions.leak;
    const options = Array.from({ length: dial.clicks + 1 }, (_, value) => {
      return { value, text: benchDialSays(dial, value) };
    });
    return { id: "leak", label: dial.label, value: at, options };
  }
}

export default benchShows(RoomBench);
