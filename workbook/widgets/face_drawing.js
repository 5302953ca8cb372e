// A newborn's face from the front, drawn from its measures in mm, between two rulers.

const RULER = 44; // pixels beside and below the picture
const ROOM = 12; // mm around the face, for a mask beside it
const NUMBERS = 30; // pixels between two numbers of a ruler

// The part of the plane that is shown: the face, and the largest mask on it, with room around.
function viewOf({ length, shapes, masks }) {
  const [, y, wide, high] = shapes.face;
  const radius = Math.max(...masks) / 2;
  const [half, middle] = [Math.max(wide, radius) + ROOM, length / 2];
  const top = Math.min(y - high - ROOM / 3, middle - radius - ROOM / 3);
  return { left: -half, right: half, top, foot: Math.max(length, middle + radius) + ROOM };
}

function line(d, kind) {
  return drawn("path", { d, class: `tpiece-baby-${kind}` });
}

function oval([cx, cy, rx, ry], kind) {
  return drawn("ellipse", { cx, cy, rx, ry, class: `tpiece-baby-${kind}` });
}

// Everything in mm; the numbers below are shares of a part's own size, for the look alone.
function drawBaby({ length, shapes }, foot) {
  return [
    shoulders(shapes.face, length, foot),
    ...[-1, 1].map((side) => ear(shapes.face, shapes.nose, side)),
    oval(shapes.face, "skin"),
    hair(shapes.face),
    ...["eye-left", "eye-right"].flatMap((name) => eye(shapes[name])),
    bridge(shapes.bridge),
    ...nose(shapes.nose),
    ...mouth(shapes.mouth),
    chin(shapes.chin),
  ];
}

// A point of a part: 0,0 is its middle, 1 its edge.
function spot([x, y, wide, high]) {
  return (across, down) => `${x + across * wide},${y + down * high}`;
}

// The same line on both sides of a part.
function both(draw) {
  return draw(-1) + draw(1);
}

function shoulders([x, , wide], length, foot) {
  const at = spot([x, 0, wide, length]);
  const low = (foot + 1) / length;
  const left = `M${at(-0.5, 0.8)}L${at(-0.5, 1.04)}Q${at(-1.04, 1.1)} ${at(-1.3, low)}`;
  const right = `L${at(1.3, low)}Q${at(1.04, 1.1)} ${at(0.5, 1.04)}L${at(0.5, 0.8)}`;
  return line(left + right, "skin");
}

// Beside the nose, and behind the face's outline.
function ear([x, , wide], [, level, , high], side) {
  const at = spot([x, level, side * wide, high]);
  const curve = `C${at(1.16, -5.2)} ${at(1.18, -0.6)} ${at(0.93, 0.4)}`;
  return line(`M${at(0.92, -4.2)}${curve}`, "skin");
}

function hair(shape) {
  const at = spot(shape);
  const curls = [-2.2, -1.1, 0, 1.1, 2.2].map((n) => {
    const end = 0.15 * n + (n < 0 ? -0.1 : 0.1);
    return `M${at(0.05 * n, -1)}Q${at(0.1 * n, -0.92)} ${at(end, -0.85)}`;
  });
  return line(curls.join(""), "fine");
}

// A shut eye: the eye's whole outline is faint, its lower lid clear, with lashes and a brow.
function eye(shape) {
  const at = spot(shape);
  const lashes = [-0.6, -0.2, 0.2, 0.6].map((share) => {
    const low = Math.sqrt(1 - share * share);
    return `M${at(share, low)}L${at(1.16 * share, low + 0.4)}`;
  });
  const brow = `M${at(-0.8, -2)}Q${at(0, -2.9)} ${at(0.8, -2)}`;
  const lid = `M${at(-1, 0)}A${shape[2]},${shape[3]} 0 0 0 ${at(1, 0)}`;
  return [oval(shape, "part"), line(lid, "lid"), line(lashes.join("") + brow, "fine")];
}

function bridge(shape) {
  const at = spot(shape);
  return line(both((s) => `M${at(s, -0.7)}Q${at(0.45 * s, 0.1)} ${at(0.8 * s, 0.9)}`), "fine");
}

// Wings and tip lie inside the nose's outline, which is faint.
function nose(shape) {
  const [x, y, wide, high] = shape;
  const at = spot(shape);
  const bend = (s) => `A${0.5 * wide},${high} 0 0 ${s > 0 ? 1 : 0}`;
  const wings = both((s) => `M${at(0.8 * s, -0.6)}${bend(s)} ${at(0.62 * s, 0.78)}`);
  const tip = `M${at(-0.5, 0.75)}Q${at(0, 1.25)} ${at(0.5, 0.75)}`;
  const hole = (s) => oval([x + 0.4 * s * wide, y + 0.42 * high, 0.17 * wide, 0.2 * high], "hole");
  return [oval(shape, "part"), line(wings + tip, "lid"), hole(-1), hole(1)];
}

function mouth(shape) {
  const at = spot(shape);
  const left = `M${at(-1, 0)}Q${at(-0.4, -1.3)} ${at(-0.15, -1)}Q${at(0, -0.6)} ${at(0.15, -1)}`;
  const lips = `${left}Q${at(0.4, -1.3)} ${at(1, 0)}Q${at(0, 2)} ${at(-1, 0)}Z`;
  const shut = both((s) => `M${at(0, 0.05)}Q${at(0.45 * s, 0.7)} ${at(s, -0.1)}`);
  return [line(lips, "lips"), line(shut, "lid")];
}

function chin(shape) {
  const at = spot(shape);
  return line(`M${at(-0.7, -0.2)}Q${at(0, -1.5)} ${at(0.7, -0.2)}`, "fine");
}

// --- rulers: `along` "x" or "y"; `from` and `to` in mm, `place` makes pixels of mm

function ruler(along, [from, to], scale, place, edge) {
  const every = 10 * Math.max(1, Math.ceil(NUMBERS / (10 * scale)));
  const [first, last] = [Math.ceil(from), Math.floor(to)];
  const all = Array.from({ length: last - first + 1 }, (_, n) => first + n);
  const mark = (n) => {
    const long = n % 10 === 0 ? 12 : n % 5 === 0 ? 8 : 5;
    return along === "x" ? `M${place(n)},${edge}v${long}` : `M${edge},${place(n)}h${-long}`;
  };
  const number = (n) => {
    const text = String(n).replace("-", "\u2212");
    const [x, y] = along === "x" ? [place(n), edge + 27] : [edge - 15, place(n) + 4.5];
    return wrote(x, y, text, { class: along === "x" ? "tpiece-middle" : "tpiece-end" });
  };
  const root = drawn("g", { class: `tpiece-ruler tpiece-ruler-${along}` });
  root.append(drawn("path", { d: all.map(mark).join(""), class: "tpiece-ruler-marks" }));
  root.append(...all.filter((n) => n % every === 0).map(number));
  return root;
}

// How far the mask reaches, along a ruler.
function reach(along, middle, radius, [from, to], place, edge) {
  const inside = (n) => place(Math.max(from, Math.min(to, n)));
  const [one, two] = [inside(middle - radius), inside(middle + radius)];
  return along === "x" ? `M${one},${edge + 3}H${two}` : `M${edge - 3},${one}V${two}`;
}

// The same in words and numbers: from where to where each part reaches.
function faceTwin({ length, shapes }, words) {
  const span = (middle, half) => {
    const [from, to] = [middle - half, middle + half].map((n) => signed(n));
    return fill(words.faceTo, { from, to });
  };
  const rows = Object.entries(shapes).map(([name, [x, y, wide, high]]) => [
    words[`facePart_${name}`] ?? name, span(x, wide), span(y, high),
  ]);
  const head = [words.facePart, words.faceAcrossMm, words.faceDownMm];
  return twin(words, fill(words.faceDrawing, { length }), head, rows);
}

function signed(n, digits = 1) {
  return String(round(n, digits)).replace("-", "\u2212");
}
