// A number with its unit: native text field, so that a decimal comma can be typed.

const PAUSE = 800; // milliseconds after the last key
const NUMBER = /^[-+\u2212]?(\d+[.,]?\d*|[.,]\d+)$/;

function render({ model, el }) {
  const frame = new Frame(model, el, { group: false });
  const units = model.get("units");
  const locked = model.get("read_only");
  const input = field();
  const unit = units.length > 1 ? picker() : element("span", { id: `${frame.id}-u`, dir: "ltr" }, units[0]);
  frame.body.classList.add("tpiece-number");
  frame.body.append(input, unit);
  const saver = new Saver(model, frame, show);
  show((model.get("saved") ?? {}).value);

  function field() {
    const node = focusable("input", { type: "text", inputmode: "decimal", id: frame.id });
    const told = [model.get("help") && "h", units.length === 1 && "u", "s"].filter(Boolean);
    node.setAttribute("aria-describedby", told.map((part) => `${frame.id}-${part}`).join(" "));
    node.autocomplete = "off";
    node.disabled = locked;
    node.addEventListener("input", () => typed());
    node.addEventListener("change", () => saver.flush());
    node.addEventListener("keydown", ({ key }) => key === "Enter" && saver.flush());
    return node;
  }

  function picker() {
    const select = focusable("select", { "aria-label": frame.words.unit, dir: "ltr" });
    for (const name of units) select.append(element("option", { value: name }, name));
    select.value = model.get("unit");
    select.disabled = locked;
    select.addEventListener("change", () => typed());
    return select;
  }

  // What is typed stays in the field, whether it can be saved or not.
  function typed() {
    const text = input.value.trim();
    const wrong = text !== "" && !NUMBER.test(text);
    input.setAttribute("aria-invalid", String(wrong));
    if (wrong) saver.withdraw("notNumber");
    else if (text) saver.offer({ text, unit: unit.value ?? units[0] }, PAUSE);
    else saver.withdraw(saver.saved().number === undefined ? "blank" : "emptied");
  }

  function show(value) {
    if (!value) return;
    input.value = value.text;
    input.setAttribute("aria-invalid", "false");
    if (units.length > 1) unit.value = value.unit;
  }

  return () => (saver.dispose(), frame.dispose());
}

export default { render };
