// @ts-check
/** Hands on the thread view: one finger moves it, two come closer, the wheel and keys do both. */

const STEP = 1.5;

/** @param {import("./thread_view.js").ThreadView} view */
export function listen(view) {
  const { box } = view;
  listenToPointers(view);
  box.addEventListener(
    "wheel",
    (e) => {
      // The wheel belongs to the page until the picture was clicked into or tabbed to.
      if (!e.ctrlKey && !box.contains(document.activeElement)) return;
      e.preventDefault();
      const at = pixelOf(view, e);
      view.zoom(Math.exp(-Math.max(-120, Math.min(120, e.deltaY)) * 0.004), at.x, at.y);
    },
    { passive: false },
  );
  /** @type {Record<string, () => void>} */
  const keys = {
    "+": () => view.zoom(STEP),
    "=": () => view.zoom(STEP),
    "-": () => view.zoom(1 / STEP),
    0: () => view.showWhole(),
    ArrowLeft: () => view.nudge(-0.15, 0),
    ArrowRight: () => view.nudge(0.15, 0),
    ArrowUp: () => view.nudge(0, 0.15),
    ArrowDown: () => view.nudge(0, -0.15),
  };
  box.addEventListener("keydown", (e) => {
    const act = keys[e.key];
    if (!act || e.altKey || e.metaKey || e.ctrlKey) return;
    e.preventDefault();
    act();
  });
}

/**
 * @param {import("./thread_view.js").ThreadView} view
 * @param {MouseEvent} event
 */
export function pixelOf(view, event) {
  const r = view.box.getBoundingClientRect();
  const { ratio } = view.pixels();
  return { x: (event.clientX - r.left) * ratio, y: (event.clientY - r.top) * ratio };
}

/** @param {import("./thread_view.js").ThreadView} view */
function listenToPointers(view) {
  const { box } = view;
  /** @type {Map<number, {x: number, y: number}>} */
  const down = new Map();
  let apart = 0;
  const spread = () => {
    const [a, b] = [...down.values()];
    return b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
  };
  box.addEventListener("pointerdown", (e) => {
    if (/** @type {Element} */ (e.target).closest("a")) return;
    down.set(e.pointerId, pixelOf(view, e));
    apart = spread();
    box.setPointerCapture(e.pointerId);
  });
  box.addEventListener("pointermove", (e) => {
    const from = down.get(e.pointerId);
    if (!from) return;
    const to = pixelOf(view, e);
    down.set(e.pointerId, to);
    if (down.size === 2) {
      const now = spread();
      const [a, b] = [...down.values()];
      if (apart > 0) view.zoom(now / apart, (a.x + b.x) / 2, (a.y + b.y) / 2);
      apart = now;
      return;
    }
    const { width, height } = view.view;
    view.nudge(-(to.x - from.x) / width, (to.y - from.y) / height);
  });
  for (const kind of ["pointerup", "pointercancel"]) {
    box.addEventListener(kind, (e) => down.delete(/** @type {PointerEvent} */ (e).pointerId));
  }
}
