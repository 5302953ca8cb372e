// For an educator in front of a room: change the lung or the leak, but ask the room first.

import { benchWord } from "./bench_drawing.js";
import { button, element, focusable } from "./elements.js";

/** @import { Fault, Words } from "./types.js" */

/** @typedef {string | number} Value */
/** @typedef {{ value: Value, text: string }} Choosing */
/** @typedef {{ id: string, label: string, value?: Value, options?: Choosing[], min?: number, max?: number, step?: number, unit?: string }} Choice */
/** @typedef {{ ask?: string, lung?: Choice[], leak?: Choice, faults?: Fault[] }} Offered */
/** @typedef {{ onLung?: (values: Record<string, Value | undefined>) => void, onLeak?: (value: Value) => void, onFault?: (id: string) => void, ask?: unknown }} Does */
/** @typedef {{ choice: string, says: string, does: () => void, undo: () => void, back: () => void }} Waiting */
/** @typedef {{ root: Element, offer: (next: Waiting) => void, withdraw: (choice: string) => void }} Prompt */

// A choice is {id, label, value} and either {options: [{value, text}, ...]} or {min, max, step,
// unit}. `educator` is {lung: [choice, ...], leak: choice, faults: [{id, text}, ...], ask: the
// question}. `onLung` gets {id: value, ...} of the whole lung, `onLeak` a value, `onFault` an id;
// each only after "Show it".
/**
 * @param {Words} words
 * @param {Offered} educator
 * @param {Does} does
 */
export function drawEducator(words, educator, { onLung, onLeak, onFault, ask } = {}) {
  const question = typeof ask === "string" ? ask : educator.ask;
  const prompt = benchPrompt(words, question || benchWord(words, "benchAsk"));
  const lung = [...(educator.lung ?? [])];
  const values = Object.fromEntries(lung.map(({ id, value }) => [id, value]));
  /**
   * @param {string} id
   * @returns {(value: Value) => void}
   */
  const setLung = (id) => (value) => {
    values[id] = value;
    onLung?.({ ...values });
  };
  const fields = lung.map((choice) => benchChoice(choice, prompt, setLung(choice.id)));
  if (educator.leak) {
    fields.push(benchChoice(educator.leak, prompt, (value) => onLeak?.(value)));
  }
  const faults = educator.faults && benchFaults(words, educator.faults, prompt, onFault);
  if (faults) fields.push(faults.field);
  const title = element("legend", { class: "tpiece-label" }, benchWord(words, "benchEducator"));
  const row = element("div", { class: "tpiece-bench-fields" }, ...fields);
  return element("fieldset", { class: "tpiece-bench-educator" }, title, row, prompt.root,
    ...(faults ? [faults.tell] : []));
}

// Something wrong, by name or hidden for the room to find; what was hidden is told when asked.
/**
 * @param {Words} words
 * @param {Fault[]} faults
 * @param {Prompt} prompt
 * @param {Does["onFault"]} onFault
 */
function benchFaults(words, faults, prompt, onFault) {
  const options = [{ value: "", text: words.benchFaultNone }, { value: "?", text: words.benchFaultHidden }];
  options.push(...faults.map(({ id, text }) => ({ value: id, text })));
  const said = element("span", { role: "status" });
  let planted = "";
  const tells = button(words.benchFaultTell, () => {
    said.textContent = faults.find(({ id }) => id === planted)?.text ?? "";
  });
  const tell = element("div", {}, element("p", { class: "tpiece-bench-keys" }, tells, said));
  tell.hidden = true;
  const field = benchChoice({ id: "fault", label: words.benchFault, value: "", options }, prompt, (value) => {
    planted = value === "?" ? faults[Math.floor(Math.random() * faults.length)].id : String(value);
    [tell.hidden, said.textContent] = [value !== "?", ""];
    onFault?.(planted);
  });
  return { field, tell };
}

// The question stands until the room has answered: nothing changes before "Show it".
/**
 * @param {Words} words
 * @param {string} question
 * @returns {Prompt}
 */
function benchPrompt(words, question) {
  const parts = benchPromptParts(words, () => reveal(), () => leave());
  const { root, box, asks, guess, shown } = parts;
  /** @type {Waiting | null} */
  let waiting = null;
  function close() {
    const back = waiting?.back;
    [waiting, box.hidden] = [null, true];
    return back;
  }
  function reveal() {
    if (!waiting) return;
    const { does, says } = waiting;
    const given = { ask: question, choice: says, guess: guess.value.trim() };
    shown.textContent = benchWord(words, given.guess ? "benchShownGuess" : "benchShown", given);
    does();
    root.dispatchEvent(new CustomEvent("tpiece-bench-shown", { bubbles: true, detail: given }));
    close()?.();
  }
  function leave() {
    waiting?.undo();
    close()?.();
  }
  // Another choice before the room has answered puts the first one back.
  /** @param {Waiting} next */
  function offer(next) {
    if (waiting && waiting.choice !== next.choice) waiting.undo();
    if (!waiting) guess.value = "";
    waiting = next;
    asks.replaceChildren(element("strong", {}, next.says), " ", question);
    shown.textContent = "";
    box.hidden = false;
  }
  return { root, offer, withdraw: (choice) => void (waiting?.choice === choice && close()) };
}

/**
 * @param {Words} words
 * @param {() => void} reveal
 * @param {() => void} leave
 */
function benchPromptParts(words, reveal, leave) {
  const id = `tpiece-${Math.random().toString(36).slice(2)}`;
  const asks = element("p", { class: "tpiece-bench-ask", id, role: "status" });
  const guess = focusable("input", { type: "text", class: "tpiece-field tpiece-bench-guess", id: `${id}-g` });
  guess.autocomplete = "off";
  const line = element("div", { class: "tpiece-bench-answer" });
  line.append(element("label", { for: `${id}-g` }, benchWord(words, "benchGuess")), guess);
  line.append(button(benchWord(words, "benchShowIt"), reveal));
  line.append(button(benchWord(words, "benchLeaveIt"), leave));
  const box = element("div", { class: "tpiece-bench-waiting", role: "group" }, asks, line);
  box.setAttribute("aria-labelledby", id);
  box.hidden = true;
  const shown = element("p", { class: "tpiece-bench-shown", role: "status" });
  const root = element("div", { class: "tpiece-bench-prompt" }, box, shown);
  return { root, box, asks, guess, shown };
}

/**
 * @param {Choice} choice
 * @param {Prompt} prompt
 * @param {(value: Value) => void} does
 */
function benchChoice(choice, prompt, does) {
  const id = `tpiece-${Math.random().toString(36).slice(2)}`;
  const input = choice.options ? benchPicker(choice.options, choice.value, id) : benchSlider(choice, id);
  const chosen = () => (input instanceof HTMLSelectElement ? choice.options?.[input.selectedIndex] : undefined);
  const read = () => chosen()?.value ?? Number(input.value);
  const text = () => chosen()?.text ?? `${input.value} ${choice.unit ?? ""}`.trim();
  const told = element("output", { class: "tpiece-bench-value", for: id }, text());
  const says = () => {
    told.textContent = text();
    if (!choice.options) input.setAttribute("aria-valuetext", text());
  };
  let now = input.value;
  /** @param {string} value */
  const put = (value) => ((input.value = value), says());
  says();
  input.addEventListener("input", says);
  input.addEventListener("change", () => {
    const value = input.value;
    if (value === now) return prompt.withdraw(choice.id);
    return prompt.offer({
      choice: choice.id,
      says: `${choice.label}: ${text()}.`,
      does: () => ((now = value), put(value), does(read())),
      undo: () => put(now),
      back: () => input.focus(),
    });
  });
  const label = element("label", { for: id }, choice.label);
  const parts = choice.options ? [label, input] : [label, input, told];
  return element("div", { class: "tpiece-bench-field" }, ...parts);
}

/**
 * @param {Choosing[]} options
 * @param {Value | undefined} value
 * @param {string} id
 */
function benchPicker(options, value, id) {
  const select = focusable("select", { id, class: "tpiece-field" });
  options.forEach((one, n) => select.append(element("option", { value: String(n) }, one.text)));
  select.selectedIndex = Math.max(0, options.findIndex((one) => one.value === value));
  return select;
}

/**
 * @param {Choice} choice
 * @param {string} id
 */
function benchSlider({ min, max, step, value }, id) {
  const slider = focusable("input", { type: "range", id });
  for (const [key, each] of Object.entries({ min, max, step, value })) Object.assign(slider, { [key]: String(each) });
  return slider;
}
