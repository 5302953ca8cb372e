// A number with its unit: native text field, so that a decimal comma can be typed.

const PAUSE = 800; // milliseconds after the last key

function render({ model, el }) {
  const frame = new Frame(model, el, { group: false });
  const { words } = frame;
  const units = model.get("units");
  const input = focusable("input", { type: "text", inputmode: "decimal", id: frame.id, autocomplete: "off" });
  input.setAttribute("aria-describedby", `${frame.id}-h`);
  const unit = units.length > 1 ? picker() : element("span", {}, model.get("unit"));
  frame.body.classList.add("tpiece-number");
  frame.body.append(input, unit);
  input.disabled = model.get("read_only");
  const saver = new Saver(model, frame, show);
  let timer;
  let last = "";
  show((model.get("saved") ?? {}).value);
  input.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(offer, PAUSE);
  });
  input.addEventListener("change", offer);
  input.addEventListener("keydown", (event) => event.key === "Enter" && offer());
  unit.addEventListener("change", offer);

  function picker() {
    const select = focusable("select", { "aria-label": words.unit });
    for (const name of units) select.append(element("option", { value: name }, name));
    select.value = model.get("unit");
    select.disabled = model.get("read_only");
    return select;
  }

  function offer() {
    clearTimeout(timer);
    const value = { text: input.value.trim(), unit: unit.value ?? model.get("unit") };
    if (JSON.stringify(value) === last) return;
    last = JSON.stringify(value);
    const fine = /^[-+\u2212]?\d*([.,]\d*)?$/.test(value.text) && /\d/.test(value.text);
    input.setAttribute("aria-invalid", String(!fine));
    if (fine) saver.offer(value);
    else saver.withdraw(value.text ? "notNumber" : "emptied");
  }

  function show(value) {
    if (!value) return;
    input.value = value.text;
    if (units.length > 1) unit.value = value.unit;
    last = JSON.stringify({ text: value.text, unit: value.unit });
  }

  return () => (clearTimeout(timer), saver.dispose(), frame.dispose());
}

export default { render };
