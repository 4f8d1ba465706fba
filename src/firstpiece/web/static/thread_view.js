// @ts-check
/**
 * The sew-out one can come close to: from the whole garment's cloth down to a single stitch, from
 * the front or the back, whole or as far as it is sewn.
 *
 * A painter draws sharp pictures in the background; every frame shows the last finished one, moved
 * and scaled, so the hand never waits. Pins are an SVG laid over it, in millimetres.
 */

import { drawRuler, placePins } from "./pin_layer.js";
import { FlatPainter } from "./thread_flat.js";
import { GlPainter } from "./thread_gl.js";
import { readViewBlob } from "./view_blob.js";
import { listen } from "./view_hands.js";

/** @typedef {import("./thread_gl.js").View} View */
/** @typedef {{picture: HTMLCanvasElement, view: View}} Kept */
/** @typedef {{picture: HTMLCanvasElement, left: number, top: number, width: number, height: number}} Overlay in mm */

const REFINE_MS = 9;
const REST_MS = 80;
const CLOSEST_PX_PER_MM = 90;
const MOST_RATIO = 2;

export class ThreadView extends EventTarget {
  /**
   * @param {HTMLElement} box holds the still picture, the pins and the buttons
   * @param {import("./view_blob.js").Sewing} sewing
   */
  constructor(box, sewing) {
    super();
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
    /** The finished picture of the whole design, laid under what is near. @type {Kept | null} */
    this.whole = null;
    /** The last finished picture. @type {Kept | null} */
    this.sharp = null;
    /** @type {Overlay | null} */
    this.overlay = null;
    /** Rows shown; the rest is not sewn yet. */
    this.end = sewing.count;
    this.isRefining = false;
    this.isStarted = false;
    this.isAnew = true;
    this.startAt = 0;
    this.isQueued = false;
    // The still picture's window, so that the live one begins exactly where the still one was.
    const [left, bottom, w, h] = (box.dataset.window ?? "-50 -50 100 100").split(" ").map(Number);
    this.home = { cx: left + w / 2, cy: bottom + h / 2, w, h };
    this.view = this.fitted();
    this.pins = /** @type {SVGSVGElement | null} */ (box.querySelector("svg.pins"));
    this.ruler = /** @type {HTMLElement | null} */ (box.parentElement?.querySelector(".ruler") ?? null);
    box.querySelector("img")?.after(this.canvas);
    new ResizeObserver(() => this.resize()).observe(box);
    listen(this);
    this.resize();
  }

  /** @returns {View} the whole design with its margin */
  fitted() {
    const { width, height } = this.pixels();
    const scale = Math.min(width / this.home.w, height / this.home.h);
    return { cx: this.home.cx, cy: this.home.cy, scale, width, height, isBack: this.view?.isBack ?? false };
  }

  pixels() {
    const ratio = Math.min(window.devicePixelRatio || 1, MOST_RATIO);
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

  isWhole() {
    return this.end >= this.sewing.count;
  }

  /** Asks for a frame now and for a sharp picture as soon as the hand rests. */
  refresh() {
    this.isRefining = true;
    this.isStarted = false;
    // Something to show while the hand moves stands already, unless all of it has to be new.
    this.startAt = this.painter.row > 0 && !this.isAnew ? performance.now() + REST_MS : 0;
    this.box.dataset.sharp = "false";
    this.queue();
  }

  /** Begins anew, with nothing kept: the other side, another cloth, fewer stitches. */
  repaint() {
    this.whole = null;
    this.sharp = null;
    this.isAnew = true;
    this.refresh();
  }

  /** Paints on for a few milliseconds, unless the view still changes. */
  refine() {
    if (performance.now() < this.startAt) return this.queue();
    if (!this.isStarted) {
      this.isStarted = true;
      this.isAnew = false;
      this.painter.start({ ...this.view });
    }
    if (this.painter.step(REFINE_MS, this.end)) this.keep();
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
    const { pen, canvas, painter } = this;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = `rgb(${painter.dress.cloth.join(" ")})`;
    pen.fillRect(0, 0, canvas.width, canvas.height);
    // A part of the sewing stands on the painter's own canvas only, and grows there.
    const isGrowing = !this.isWhole() && this.isStarted;
    if (isGrowing || !(this.whole || this.sharp)) this.lay({ picture: painter.canvas, view: painter.view });
    else for (const kept of [this.whole, this.sharp]) if (kept) this.lay(kept);
    if (this.overlay) this.layOver(this.overlay);
    if (!this.isWhole()) this.markNeedle();
    if (this.pins) placePins(this.pins, this.view, this.pixels().ratio);
    if (this.ruler) drawRuler(this.ruler, this.view.scale / this.pixels().ratio, this.box.clientWidth);
    this.box.classList.add("is-live");
    this.box.dataset.sharp = String(!this.isRefining);
    this.box.dataset.scale = this.view.scale.toFixed(2);
    this.dispatchEvent(new Event("frame"));
  }

  /** Keeps the finished picture; the first whole one stays as the backdrop. */
  keep() {
    this.isRefining = false;
    if (!this.isWhole()) return;
    const picture = document.createElement("canvas");
    picture.width = this.painter.canvas.width;
    picture.height = this.painter.canvas.height;
    picture.getContext("2d", { alpha: false })?.drawImage(this.painter.canvas, 0, 0);
    const kept = { picture, view: { ...this.painter.view } };
    if (!this.whole || kept.view.scale <= this.fittedScaleFor(kept.view) * 1.01) this.whole = kept;
    this.sharp = kept;
  }

  /** @param {Kept} kept */
  lay(kept) {
    const { pen, view } = this;
    if (kept.view.isBack !== view.isBack) return;
    const zoom = view.scale / kept.view.scale;
    const [w, h] = [kept.view.width * zoom, kept.view.height * zoom];
    const [x, y] = this.toPixels(kept.view.cx, kept.view.cy);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(kept.picture, x - w / 2, y - h / 2, w, h);
  }

  /** @param {Overlay} overlay */
  layOver(overlay) {
    const { pen, view, canvas } = this;
    const [x, y] = this.toPixels(overlay.left, overlay.top);
    pen.save();
    // Faded thread, so that only the map's colours are read against its scale.
    pen.fillStyle = "rgb(251 248 241 / 0.85)";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.translate(x, y);
    pen.scale(this.west() * view.scale, view.scale);
    pen.imageSmoothingEnabled = false;
    pen.drawImage(overlay.picture, 0, 0, overlay.width, overlay.height);
    pen.restore();
  }

  markNeedle() {
    const { pen, sewing } = this;
    const row = Math.max(0, this.end - 1);
    const [x, y] = this.toPixels(sewing.x[row], sewing.y[row]);
    const { ratio } = this.pixels();
    for (const [color, width] of /** @type {[string, number][]} */ ([["#fbf8f1", 5], ["#201e1c", 2]])) {
      pen.strokeStyle = color;
      pen.lineWidth = width * ratio;
      pen.beginPath();
      pen.arc(x, y, 7 * ratio, 0, 2 * Math.PI);
      pen.stroke();
    }
  }

  west() {
    return this.view.isBack ? -1 : 1;
  }

  /**
   * @param {number} x mm
   * @param {number} y mm
   * @returns {[number, number]} device pixels from the upper left
   */
  toPixels(x, y) {
    const { view } = this;
    return [view.width / 2 + (x - view.cx) * view.scale * this.west(), view.height / 2 - (y - view.cy) * view.scale];
  }

  /**
   * @param {number} x device pixels from the left
   * @param {number} y
   * @returns {[number, number]} mm
   */
  toMm(x, y) {
    const { view } = this;
    return [view.cx + ((x - view.width / 2) / view.scale) * this.west(), view.cy - (y - view.height / 2) / view.scale];
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
    const [mmX, mmY] = this.toMm(x, y);
    this.look(
      mmX - ((x - view.width / 2) / scale) * this.west(),
      mmY + (y - view.height / 2) / scale,
      scale,
    );
  }

  /**
   * @param {number} cx
   * @param {number} cy
   * @param {number} [scale] device pixels per mm
   */
  look(cx, cy, scale = this.view.scale) {
    const hold = (/** @type {number} */ v, /** @type {number} */ c, /** @type {number} */ r) =>
      Math.min(Math.max(v, c - r), c + r);
    cx = hold(cx, this.home.cx, this.home.w / 2);
    cy = hold(cy, this.home.cy, this.home.h / 2);
    this.view = { ...this.view, cx, cy, scale };
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
    this.look(view.cx + (this.west() * dx * view.width) / view.scale, view.cy + (dy * view.height) / view.scale);
  }

  /** @param {boolean} isBack */
  turn(isBack) {
    this.view = { ...this.view, isBack };
    this.repaint();
  }

  /**
   * @param {import("./view_blob.js").Rgb} cloth
   * @param {number} weave
   */
  dress(cloth, weave) {
    this.painter.dress = { cloth, weave };
    this.repaint();
  }

  /** @param {Overlay | null} overlay */
  cover(overlay) {
    this.overlay = overlay;
    this.queue();
  }

  /**
   * Shows the sewing up to a row; more rows are added to what stands, fewer begin anew.
   * @param {number} end
   */
  sewTo(end) {
    const before = this.end;
    this.end = Math.min(Math.max(0, Math.round(end)), this.sewing.count);
    if (this.end === before) return;
    if (this.end > before && this.isStarted && this.whole === null) {
      this.isRefining = true;
      this.box.dataset.sharp = "false";
      this.queue();
    } else this.repaint();
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
 * Fetches the plan and brings the picture to life; the still picture stays when that fails.
 * @param {HTMLElement} box with `data-view` = address of the blob
 */
export async function openThreadView(box) {
  const answer = await fetch(box.dataset.view ?? "", { credentials: "same-origin" });
  if (!answer.ok) throw new Error(`the sewing could not be fetched (${answer.status})`);
  return new ThreadView(box, readViewBlob(await answer.arrayBuffer()));
}
