// The bench as a learner sees it: drawing, gauge and strip, and the places where its controls go.

const BENCH_DIALS = ["flow", "pip", "relief", "peep", "leak"];

function benchSlot(name) {
  return element("div", { class: `tpiece-bench-slot tpiece-bench-slot-${name}` });
}

// `show(view)` puts everything where a view says, at screen rate: {time, manometer, volume,
// restVolume, weight, held, outlet, positions, running}. `strip(history, options)` draws the last
// seconds of [{time, manometer, volume, held}, ...] in order of time; options: {seconds, now,
// volume: true for a second strip}.
function drawBench(words, { dials = {}, gaugeTop, educator, chest = {} }) {
  const [gauge, strip] = [benchGauge(words, gaugeTop), benchStrip(words)];
  const schematic = benchSchematic(words, dials, chest);
  const hand = element("div", { class: "tpiece-bench-hand" }, gauge.root, benchSlot("hold"));
  const turned = element("div", { class: "tpiece-bench-dials" }, ...BENCH_DIALS.map(benchSlot));
  const aside = element("div", { class: "tpiece-bench-aside" });
  aside.append(...["outlet", "transport"].map(benchSlot));
  const grid = element("div", { class: "tpiece-bench-grid-all" });
  grid.append(hand, turned, aside, strip.root, schematic.root, benchSlot("more"));
  const root = element("div", { class: "tpiece-bench" }, grid);
  root.toggleAttribute("data-educator", Boolean(educator && Object.keys(educator).length));
  let sticks = false;
  return {
    root,
    show(view) {
      gauge.show(view.manometer);
      schematic.show(view);
      if (!sticks && root.isConnected) sticks = benchLetStick(root);
    },
    strip: strip.draw,
  };
}

// A notebook wraps an output in boxes that clip it; clipped without a box of its own to scroll in,
// the gauge can stay at the top of the window while a narrow page is scrolled.
function benchLetStick(root) {
  for (let box = root.parentElement; box; box = box.parentElement) {
    const wraps = /\bjp-OutputArea(-child|-output)?\b/.test(box.className);
    if (wraps && box.scrollHeight <= box.clientHeight + 1) box.style.overflow = "clip";
  }
  return true;
}
