// The bench as a learner sees it: the stage, with all a hand needs in one window, and below it what
// belongs to the run as a whole.

const BENCH_DIALS = ["flow", "pip", "relief", "peep", "leak"];
const BENCH_ROOM = 8; // pixels of a window that the stage leaves
const BENCH_MEND = 150; // milliseconds between two looks at whether the stage stands

function benchSlot(name) {
  return element("div", { class: `tpiece-bench-slot tpiece-bench-slot-${name}` });
}

// `show(view)` puts everything where a view says, at screen rate: {time, manometer, volume,
// restVolume, weight, held, outlet, positions, flows, running}. `strip(history, options)` draws the
// last seconds of [{time, manometer, volume, held}, ...] in order of time; options: {seconds, now,
// volume: true for a second strip}. `look(name)` changes the view: one of `BENCH_VIEWS`.
function drawBench(words, { dials = {}, gaugeTop, educator, chest = {}, volumes = false }) {
  const [gauge, strip] = [benchGauge(words, gaugeTop), benchStrip(words)];
  const views = {
    picture: new BenchScene(words, dials, gauge.root), schematic: benchSchematic(words, dials),
    words: new BenchPartsTold(words, dials, volumes, gaugeTop),
  };
  const stage = benchStage(views, strip);
  const aside = element("div", { class: "tpiece-bench-aside" });
  aside.append(...["outlet", "transport", "views"].map(benchSlot));
  const root = element("div", { class: "tpiece-bench" }, stage, aside, benchSlot("more"));
  root.toggleAttribute("data-educator", Boolean(educator && Object.keys(educator).length));
  const rise = benchChest(chest);
  const room = benchRoom(root, stage);
  let seen = "picture";
  const look = (name) => {
    root.dataset.view = seen = name;
    const place = name === "picture" ? views.picture.stand : stage.querySelector(".tpiece-bench-view");
    place.append(gauge.root);
  };
  look("picture");
  return {
    root,
    look,
    dispose: room.dispose,
    show(view) {
      const breath = rise(view);
      gauge.show(view.manometer);
      views[seen].show(view, breath);
      room.fit();
    },
    strip: strip.draw,
  };
}

function benchStage(views, strip) {
  const seen = element("div", { class: "tpiece-bench-view" });
  seen.append(...Object.values(views).map(({ root }) => root));
  const dials = element("div", { class: "tpiece-bench-dials" }, ...BENCH_DIALS.map(benchSlot));
  const hand = element("div", { class: "tpiece-bench-hand" }, benchSlot("hold"));
  const grid = element("div", { class: "tpiece-bench-grid-all" }, seen, strip.root, dials, hand);
  return element("div", { class: "tpiece-bench-stage" }, grid);
}

// The stage is as high as the window it is seen through, which may be a page inside a page. A
// keyboard's focus inside it brings the whole stage into sight.
function benchRoom(root, stage) {
  const leaving = new AbortController();
  const { signal } = leaving;
  let [known, pointed] = [null, false];
  for (const kind of ["pointerdown", "keydown"]) {
    stage.ownerDocument.addEventListener(kind, () => (pointed = kind === "pointerdown"), { capture: true, signal });
  }
  const fit = () => {
    if (!root.isConnected) return;
    const room = Math.min(innerHeight, benchScroller(root)?.clientHeight ?? innerHeight) - BENCH_ROOM;
    if (room !== known) stage.style.setProperty("--bench-room", `${(known = room)}px`);
  };
  const again = () => ((known = null), fit());
  const mending = setInterval(() => benchMend(root, stage) && clearInterval(mending), BENCH_MEND);
  addEventListener("resize", again, { signal });
  root.addEventListener("pointerenter", again);
  stage.addEventListener("focusin", ({ target }) => {
    again();
    if (!pointed && target.matches(":focus-visible")) stage.scrollIntoView({ block: "nearest" });
  });
  return {
    fit: () => known === null && fit(),
    dispose: () => (leaving.abort(), clearInterval(mending)),
  };
}

// A browser may leave a stage that was put into a page being built without any size, until its style
// changes: returns whether the stage stands.
function benchMend(root, stage) {
  if (!root.isConnected || !root.offsetParent) return false;
  if (stage.offsetHeight) return true;
  stage.style.display = "none";
  void stage.offsetHeight; // laid out once without it
  stage.style.display = "";
  return stage.offsetHeight > 0;
}

function benchScroller(root) {
  for (let box = root.parentElement; box; box = box.parentElement) {
    const scrolls = /auto|scroll/.test(getComputedStyle(box).overflowY);
    if (scrolls && box.scrollHeight > box.clientHeight + 1 && box.clientHeight > 100) return box;
  }
  return null;
}
