// @ts-nocheck
// Beside the bench: what its outlet ends in, and the run as a whole: pause, pace, replay, answer.

import { benchWrite } from "./bench_drawing.js";
import { button, element, focusable } from "./elements.js";
import { fill } from "./speech.js";

export function benchRadios(legend, options, does) {
  const name = `tpiece-${Math.random().toString(36).slice(2)}`;
  const inputs = options.map(({ id }) => focusable("input", { type: "radio", name, value: id }));
  const root = element("fieldset", { class: "tpiece-bench-radios" });
  root.append(element("legend", {}, legend));
  inputs.forEach((input, n) => {
    root.append(element("label", { class: "tpiece-option" }, input, ` ${options[n].text}`));
    input.addEventListener("change", ({ timeStamp }) => does(input.value, timeStamp));
  });
  const show = (id) => inputs.forEach((input) => (input.checked = input.value === id));
  const lock = (locked) => inputs.forEach((input) => (input.disabled = locked));
  return { root, show, lock };
}

export class BenchTransport {
  // `bench` has toggle, again, replay, use and setPace(pace, stamp).
  constructor(words, bench, { offers, limit, plays }) {
    Object.assign(this, { words, limit: Math.round(limit) });
    this.clock = element("span", { role: "timer", "aria-live": "off", class: "tpiece-bench-clock" });
    this.toggle = button(words.benchPause, () => bench.toggle());
    this.again = button(words.benchAgain, () => bench.again());
    this.replay = button(words.benchReplay, () => bench.replay());
    this.use = button(words.benchUse, () => bench.use());
    this.use.classList.add("tpiece-bench-use");
    this.told = element("p", { class: "tpiece-bench-told", "aria-live": "polite" });
    this.saved = element("p", { class: "tpiece-bench-saved" });
    const keys = [this.toggle, this.again, ...(offers.includes("replay") ? [this.replay] : [])];
    const line = element("div", { class: "tpiece-bench-keys" }, ...keys, this.clock);
    const answer = element("div", { class: "tpiece-bench-keys" }, this.use, this.saved);
    this.pace = this.makePace(bench);
    const parts = [line, ...(offers.includes("slow") ? [this.pace.root] : []), this.told];
    if (!plays) parts.push(answer);
    this.root = element("div", { class: "tpiece-bench-run" }, ...parts);
  }

  makePace(bench) {
    const paces = [1, 2, 4].map((by) => ({ id: String(1 / by), text: this.words[`benchPace${by}`] }));
    const pace = benchRadios(this.words.benchSpeed, paces, (id, stamp) => {
      bench.setPace(Number(id), stamp);
    });
    pace.show("1");
    return pace;
  }

  tell(word, values = {}) {
    benchWrite(this.told, word ? fill(this.words[word], values) : "");
  }

  time(now) {
    const second = Math.floor(now);
    if (second === this.second) return;
    this.second = second;
    this.clock.textContent = fill(this.words.benchClock, { now: second, limit: this.limit });
  }

  show({ running, replaying, begun, some, over }) {
    const { benchPause, benchGo, benchReplay, benchSkip } = this.words;
    benchWrite(this.toggle, (this.toggle.title = running || !begun ? benchPause : benchGo));
    benchWrite(this.replay, (this.replay.title = replaying ? benchSkip : benchReplay));
    this.off(this.toggle, !begun || over);
    this.off(this.again, !begun);
    this.off(this.replay, !some);
  }

  off(key, off) {
    key.setAttribute("aria-disabled", String(Boolean(off)));
  }

  // `other` says that the run on the bench is another one, which is not saved.
  showSaved(record, other) {
    const said = benchRunSays(this.words, record);
    const parts = said ? [fill(this.words.benchSavedRun, said)] : [];
    if (other) parts.push(this.words.benchOther);
    benchWrite(this.saved, parts.join(" "));
  }
}

function benchRunSays(words, record) {
  if (!Array.isArray(record?.actions)) return null;
  const count = record.actions.length;
  const actions = count === 1 ? words.benchOneAction : fill(words.benchActions, { count });
  return { actions, seconds: Math.round(record.duration) };
}
