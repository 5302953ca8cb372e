// A bench to break: what is wrong is chosen right below the picture, and shows at once.

import { benchShows, LiveBench } from "./bench.js";
import { benchRadios } from "./bench_transport.js";

class BrokenBench extends LiveBench {
  makeCompare() {
    const { words, educator } = this;
    const options = [{ id: "", text: words.benchFaultNone }, ...(educator.faults ?? [])];
    const choice = benchRadios(words.benchFault, options, (id, stamp) => this.touch("fault", id, stamp));
    choice.show("");
    this.place("outlet", choice.root);
    return null;
  }
}

export default benchShows(BrokenBench);
