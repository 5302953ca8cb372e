// How the stage of a bench is fitted into the window it is seen through.

const BENCH_ROOM = 8; // pixels of a window that the stage leaves
const BENCH_MEND = 150; // milliseconds between two looks at whether the stage stands

/**
 * The stage is as high as the window it is seen through, which may be a page inside a page. A
 * keyboard's focus inside it brings the whole stage into sight.
 *
 * @param {HTMLElement} root
 * @param {HTMLElement} stage
 */
export function benchRoom(root, stage) {
  const leaving = new AbortController();
  const { signal } = leaving;
  let pointed = false;
  /** @type {number | null} */
  let known = null;
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
    if (!pointed && target instanceof Element && target.matches(":focus-visible")) stage.scrollIntoView({ block: "nearest" });
  });
  return {
    fit: () => known === null && fit(),
    dispose: () => (leaving.abort(), clearInterval(mending)),
  };
}

/**
 * A browser may leave a stage that was put into a page being built without any size, until its style
 * changes: returns whether the stage stands.
 *
 * @param {HTMLElement} root
 * @param {HTMLElement} stage
 */
function benchMend(root, stage) {
  if (!root.isConnected || !root.offsetParent) return false;
  if (stage.offsetHeight) return true;
  stage.style.display = "none";
  void stage.offsetHeight; // laid out once without it
  stage.style.display = "";
  return stage.offsetHeight > 0;
}

/** @param {Element} root */
function benchScroller(root) {
  for (let box = root.parentElement; box; box = box.parentElement) {
    const scrolls = /auto|scroll/.test(getComputedStyle(box).overflowY);
    if (scrolls && box.scrollHeight > box.clientHeight + 1 && box.clientHeight > 100) return box;
  }
  return null;
}
