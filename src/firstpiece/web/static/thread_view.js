// @ts-check
/**
 * The sew-out one can come close to: from the whole garment's cloth down to a single stitch.
 *
 * A painter draws sharp pictures in the background; every frame shows the last finished one, moved
 * and scaled, so the hand never waits. Pins are an SVG laid over it, in millimetres.
 */

import { FlatPainter } from "./thread_flat.js";
import { GlPainter } from "./thread_gl.js";
import { readViewBlob } from "./view_blob.js";

/** @typedef {import("./thread_gl.js").View} View */

const REFINE_MS = 24;
const REST_MS = 80;
const CLOSEST_PX_PER_MM = 90;
const STEP = 1.5;
const PIN_PX = 27;

export class ThreadView {
  /**
   * @param {HTMLElement} box holds the still picture, the pins and the buttons
   * @param {import("./view_blob.js").Sewing} sewing
   */
  constructor(box, sewing) {
    this.box = box;
    this.sewing = sewing;
    this.painter = makePainter(sewing);
    this.painter.onRestored = () => this.refresh();
    this.canvas = document.createElement("canvas");
    this.canvas.className = "thread-canvas";
    this.canvas.setAttribute("aria-hidden", "true");
    const pen = this.canvas.getContext("2d", { alpha: false });
    if (!pen) throw new Error("no canvas");
    this.pen = pen;
    /** @type {{picture: HTMLCanvasElement, view: View} | null} */
    this.whole = null;
    /** @type {{picture: HTMLCanvasElement, view: View} | null} */
    this.sharp = null;
    this.isRefining = false;
    this.isStarted = false;
    this.startAt = 0;
    this.isQueued = false;
    // The still picture's window, so that the live one begins exactly where the still one was.
    const [left, bottom, w, h] = (box.dataset.window ?? "-50 -50 100 100").split(" ").map(Number);
    this.home = { cx: left + w / 2, cy: bottom + h / 2, w, h };
    this.view = this.fitted();
    this.pins = /** @type {SVGSVGElement | null} */ (box.querySelector("svg.pins"));
    this.ruler = /** @type {HTMLElement | null} */ (box.parentElement?.querySelector(".ruler") ?? null);
    const still = box.querySelector("img");
    still?.after(this.canvas);
    new ResizeObserver(() => this.resize()).observe(box);
    this.listen();
    this.resize();
  }

  /** @returns {View} the whole design with its margin */
  fitted() {
    const { width, height } = this.pixels();
    const scale = Math.min(width / this.home.w, height / this.home.h);
    return { cx: this.home.cx, cy: this.home.cy, scale, width, height };
  }

  pixels() {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    return {
      width: Math.max(1, Math.round(this.box.clientWidth * ratio)),
      height: Math.max(1, Math.round(this.box.clientHeight * ratio)),
      ratio,
    };
  }

  resize() {
    const wasFitted = Math.abs(this.view.scale / this.fittedScaleFor(this.view) - 1) < 0.01;
    const { width, height } = this.pixels();
    if (width === this.canvas.width && height === this.canvas.height) return;
    this.canvas.width = width;
    this.canvas.height = height;
    this.view = wasFitted ? this.fitted() : { ...this.view, width, height };
    this.refresh();
  }

  /** @param {View} view */
  fittedScaleFor(view) {
    return Math.min(view.width / this.home.w, view.height / this.home.h);
  }

  /** Asks for a frame now and for a sharp picture as soon as the hand rests. */
  refresh() {
    this.isRefining = true;
    this.isStarted = false;
    this.startAt = this.sharp ? performance.now() + REST_MS : 0;
    this.box.dataset.sharp = "false";
    this.queue();
  }

  /** Paints on for a few milliseconds, unless the view still changes. */
  refine() {
    if (performance.now() < this.startAt) return this.queue();
    if (!this.isStarted) {
      this.isStarted = true;
      this.painter.start({ ...this.view });
    }
    if (this.painter.step(REFINE_MS)) this.keep();
    else this.queue();
  }

  queue() {
    if (this.isQueued) return;
    this.isQueued = true;
    requestAnimationFrame(() => {
      this.isQueued = false;
      this.frame();
    });
  }

  frame() {
    if (this.isRefining && !this.painter.isLost) this.refine();
    const { pen, canvas, sewing } = this;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = `rgb(${sewing.cloth.join(" ")})`;
    pen.fillRect(0, 0, canvas.width, canvas.height);
    if (!this.whole) pen.drawImage(this.painter.canvas, 0, 0);
    for (const kept of [this.whole, this.sharp]) if (kept) this.lay(kept);
    this.placePins();
    this.box.classList.add("is-live");
    this.box.dataset.sharp = String(!this.isRefining);
    this.box.dataset.scale = this.view.scale.toFixed(2);
  }

  /** Keeps the finished picture; the first one stays as the backdrop. */
  keep() {
    this.isRefining = false;
    const picture = document.createElement("canvas");
    picture.width = this.painter.canvas.width;
    picture.height = this.painter.canvas.height;
    picture.getContext("2d", { alpha: false })?.drawImage(this.painter.canvas, 0, 0);
    const kept = { picture, view: { ...this.painter.view } };
    const isWhole = kept.view.scale <= this.fittedScaleFor(kept.view) * 1.01;
    if (!this.whole || isWhole) this.whole = kept;
    this.sharp = kept;
  }

  /** @param {{picture: HTMLCanvasElement, view: View}} kept */
  lay(kept) {
    const { pen, view } = this;
    const zoom = view.scale / kept.view.scale;
    const w = kept.view.width * zoom;
    const h = kept.view.height * zoom;
    const x = view.width / 2 + (kept.view.cx - view.cx) * view.scale - w / 2;
    const y = view.height / 2 - (kept.view.cy - view.cy) * view.scale - h / 2;
    pen.imageSmoothingQuality = "high";
    pen.drawImage(kept.picture, x, y, w, h);
  }

  placePins() {
    const { view } = this;
    const w = view.width / view.scale;
    const h = view.height / view.scale;
    const ratio = this.pixels().ratio;
    if (this.pins) {
      this.pins.setAttribute("viewBox", `${view.cx - w / 2} ${-view.cy - h / 2} ${w} ${h}`);
      const size = ratio / view.scale;
      /** @type {[number, number][]} */
      const placed = [];
      for (const pin of this.pins.querySelectorAll("[data-x]")) {
        const at = /** @type {SVGElement} */ (pin).dataset;
        let [x, y] = [Number(at.x), -Number(at.y)];
        // Pins that would cover one another stand side by side; coming closer parts them.
        while (placed.some(([px, py]) => Math.hypot(px - x, py - y) < PIN_PX * size)) x += PIN_PX * size;
        placed.push([x, y]);
        pin.setAttribute("transform", `translate(${x} ${y}) scale(${size})`);
      }
    }
    if (this.ruler) drawRuler(this.ruler, view.scale / ratio, this.box.clientWidth);
  }

  /**
   * Comes closer (factor > 1) or goes further, keeping a point of the screen still.
   * @param {number} factor
   * @param {number} [x] device pixels from the left
   * @param {number} [y]
   */
  zoom(factor, x = this.view.width / 2, y = this.view.height / 2) {
    const { view } = this;
    const least = this.fittedScaleFor(view) * 0.5;
    const scale = Math.min(Math.max(view.scale * factor, least), CLOSEST_PX_PER_MM * this.pixels().ratio);
    const mmX = view.cx + (x - view.width / 2) / view.scale;
    const mmY = view.cy - (y - view.height / 2) / view.scale;
    this.look(mmX - (x - view.width / 2) / scale, mmY + (y - view.height / 2) / scale, scale);
  }

  /**
   * @param {number} cx
   * @param {number} cy
   * @param {number} [scale] device pixels per mm
   */
  look(cx, cy, scale = this.view.scale) {
    const reachX = this.home.w / 2;
    const reachY = this.home.h / 2;
    const hold = (/** @type {number} */ v, /** @type {number} */ c, /** @type {number} */ r) =>
      Math.min(Math.max(v, c - r), c + r);
    this.view = { ...this.view, cx: hold(cx, this.home.cx, reachX), cy: hold(cy, this.home.cy, reachY), scale };
    this.box.classList.toggle("is-close", scale > this.fittedScaleFor(this.view) * 1.05);
    this.refresh();
  }

  showWhole() {
    this.view = this.fitted();
    this.box.classList.remove("is-close");
    this.refresh();
  }

  showStitches() {
    const scale = 28 * this.pixels().ratio;
    const isHome = this.view.scale < this.fittedScaleFor(this.view) * 1.05;
    const at = isHome ? this.middleStitch() : { x: this.view.cx, y: this.view.cy };
    this.look(at.x, at.y, Math.max(scale, this.view.scale));
  }

  /** The needle point nearest the middle: the middle itself may be bare cloth. */
  middleStitch() {
    const { sewing, home } = this;
    let best = 0;
    let least = Infinity;
    for (let i = 0; i < sewing.count; i++) {
      const d = Math.hypot(sewing.x[i] - home.cx, sewing.y[i] - home.cy);
      if (sewing.marks[i] & 1 && d < least) [best, least] = [i, d];
    }
    return { x: sewing.x[best] ?? home.cx, y: sewing.y[best] ?? home.cy };
  }

  /**
   * @param {number} dx share of the picture's width
   * @param {number} dy share of the picture's height, up
   */
  nudge(dx, dy) {
    const { view } = this;
    this.look(view.cx + (dx * view.width) / view.scale, view.cy + (dy * view.height) / view.scale);
  }

  listen() {
    const { box } = this;
    /** @type {Map<number, {x: number, y: number}>} */
    const down = new Map();
    let apart = 0;
    const here = (/** @type {MouseEvent} */ e) => {
      const r = box.getBoundingClientRect();
      const ratio = this.pixels().ratio;
      return { x: (e.clientX - r.left) * ratio, y: (e.clientY - r.top) * ratio };
    };
    const spread = () => {
      const [a, b] = [...down.values()];
      return b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
    };
    box.addEventListener("pointerdown", (e) => {
      if (/** @type {Element} */ (e.target).closest("a")) return;
      down.set(e.pointerId, here(e));
      apart = spread();
      box.setPointerCapture(e.pointerId);
    });
    box.addEventListener("pointermove", (e) => {
      const from = down.get(e.pointerId);
      if (!from) return;
      const to = here(e);
      down.set(e.pointerId, to);
      if (down.size === 2) {
        const now = spread();
        const [a, b] = [...down.values()];
        if (apart > 0) this.zoom(now / apart, (a.x + b.x) / 2, (a.y + b.y) / 2);
        apart = now;
      } else {
        const { view } = this;
        this.look(view.cx - (to.x - from.x) / view.scale, view.cy + (to.y - from.y) / view.scale);
      }
    });
    for (const kind of ["pointerup", "pointercancel"]) {
      box.addEventListener(kind, (e) => down.delete(/** @type {PointerEvent} */ (e).pointerId));
    }
    box.addEventListener(
      "wheel",
      (e) => {
        // The wheel belongs to the page until the picture was clicked into or tabbed to.
        if (!e.ctrlKey && !box.contains(document.activeElement)) return;
        e.preventDefault();
        const at = here(e);
        this.zoom(Math.exp(-Math.max(-120, Math.min(120, e.deltaY)) * 0.004), at.x, at.y);
      },
      { passive: false },
    );
    box.addEventListener("keydown", (e) => {
      const act = this.keys()[e.key];
      if (!act || e.altKey || e.metaKey || e.ctrlKey) return;
      e.preventDefault();
      act();
    });
  }

  /** @returns {Record<string, () => void>} */
  keys() {
    return {
      "+": () => this.zoom(STEP),
      "=": () => this.zoom(STEP),
      "-": () => this.zoom(1 / STEP),
      0: () => this.showWhole(),
      ArrowLeft: () => this.nudge(-0.15, 0),
      ArrowRight: () => this.nudge(0.15, 0),
      ArrowUp: () => this.nudge(0, 0.15),
      ArrowDown: () => this.nudge(0, -0.15),
    };
  }
}

/** @param {import("./view_blob.js").Sewing} sewing */
function makePainter(sewing) {
  try {
    return new GlPainter(sewing);
  } catch {
    return new FlatPainter(sewing);
  }
}

/**
 * A rule of a round length under the picture, so that every zoom has a scale.
 * @param {HTMLElement} ruler
 * @param {number} pxPerMm
 * @param {number} room px
 */
function drawRuler(ruler, pxPerMm, room) {
  const lengths = [0.5, 1, 2, 5, 10, 20, 50, 100, 200];
  const fits = lengths.filter((mm) => mm * pxPerMm <= Math.min(160, room * 0.4));
  const mm = fits.at(-1) ?? lengths[0];
  const line = /** @type {HTMLElement | null} */ (ruler.querySelector(".ruler-line"));
  const word = ruler.querySelector(".ruler-word");
  line?.style.setProperty("width", `${mm * pxPerMm}px`);
  if (word) word.textContent = `${mm} mm`;
}

/**
 * Fetches the plan and brings the picture to life; the still picture stays when that fails.
 * @param {HTMLElement} box with `data-view` = address of the blob
 */
export async function openThreadView(box) {
  const answer = await fetch(box.dataset.view ?? "", { credentials: "same-origin" });
  if (!answer.ok) throw new Error(`the sewing could not be fetched (${answer.status})`);
  return new ThreadView(box, readViewBlob(await answer.arrayBuffer()));
}
