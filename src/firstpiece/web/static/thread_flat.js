// @ts-check
/**
 * Paints a sewing with plain canvas strokes where WebGL2 is missing: same steps, same views as
 * `GlPainter`, each stitch as a dark edge under a lighter middle.
 *
 * @typedef {import("./view_blob.js").Sewing} Sewing
 * @typedef {import("./thread_gl.js").View} View
 */

import { BACKING, BOBBIN, chunkBoxes, meets } from "./thread_gl.js";
import { PULLED_FLAT, PULLED_TURN } from "./thread_shaders.js";

export class FlatPainter {
  /** @param {Sewing} sewing */
  constructor(sewing) {
    this.sewing = sewing;
    this.dress = { cloth: sewing.cloth, weave: sewing.weave };
    this.canvas = document.createElement("canvas");
    const pen = this.canvas.getContext("2d", { alpha: false });
    if (!pen) throw new Error("no canvas");
    this.pen = pen;
    this.isLost = false;
    this.onRestored = () => {};
    this.chunks = chunkBoxes(sewing);
    /** Rows painted so far. */
    this.row = 0;
    /** @type {View} */
    this.view = { cx: 0, cy: 0, scale: 1, width: 1, height: 1, isBack: false };
  }

  /** @param {View} view */
  start(view) {
    this.view = view;
    this.row = 0;
    this.canvas.width = view.width;
    this.canvas.height = view.height;
    this.pen.fillStyle = css(view.isBack ? BACKING : this.dress.cloth, 1);
    this.pen.fillRect(0, 0, view.width, view.height);
    this.pen.lineCap = "round";
  }

  /**
   * @param {number} budgetMs
   * @param {number} end rows
   * @returns {boolean} true when all rows before `end` are painted
   */
  step(budgetMs, end) {
    const until = performance.now() + budgetMs;
    while (this.row < end) {
      const chunk = this.chunks[Math.floor(this.row / this.chunks[0].count)];
      const from = this.row;
      this.row = Math.min(end, chunk.first + chunk.count);
      if (meets(chunk.box, this.view)) this.paint(from, this.row);
      if (performance.now() > until) break;
    }
    return this.row >= end;
  }

  /**
   * @param {number} first
   * @param {number} end
   */
  paint(first, end) {
    const { sewing, view } = this;
    let start = Math.max(1, first);
    while (start < end) {
      const thread = sewing.thread[start];
      let stop = start;
      while (stop < end && sewing.thread[stop] === thread) stop++;
      const rgb = sewing.threads[thread];
      this.stroke(this.path(start, stop, 0, 1), view.isBack ? BOBBIN : rgb);
      if (view.isBack) this.stroke(this.ends(start, stop), rgb);
      start = stop;
    }
  }

  /**
   * A part of each stitch, from one share of its length to another.
   * @param {number} start
   * @param {number} stop
   * @param {number} from
   * @param {number} to
   */
  path(start, stop, from, to) {
    const { sewing, view } = this;
    const { x, y, marks } = sewing;
    const west = view.isBack ? -1 : 1;
    const path = new Path2D();
    const px = (/** @type {number} */ mm) => (mm - view.cx) * view.scale * west + view.width / 2;
    const py = (/** @type {number} */ mm) => view.height / 2 - (mm - view.cy) * view.scale;
    for (let i = start; i < stop; i++) {
      if (!(marks[i] & 1)) continue;
      const [dx, dy] = [x[i] - x[i - 1], y[i] - y[i - 1]];
      path.moveTo(px(x[i - 1] + from * dx), py(y[i - 1] + from * dy));
      path.lineTo(px(x[i - 1] + to * dx), py(y[i - 1] + to * dy));
    }
    return path;
  }

  /**
   * What of the top thread shows behind; here every stitch of a run is taken to turn like its first.
   * @param {number} start
   * @param {number} stop
   */
  ends(start, stop) {
    const { x, y } = this.sewing;
    const path = new Path2D();
    for (let i = start; i < stop; i++) {
      const j = Math.max(i, 2);
      const turn = (x[j] - x[j - 1]) * (x[j - 1] - x[j - 2]) + (y[j] - y[j - 1]) * (y[j - 1] - y[j - 2]);
      const share = turn < 0 ? PULLED_TURN : PULLED_FLAT;
      path.addPath(this.path(i, i + 1, 0, share));
      path.addPath(this.path(i, i + 1, 1 - share, 1));
    }
    return path;
  }

  /**
   * A dark edge under a lighter middle.
   * @param {Path2D} path
   * @param {import("./view_blob.js").Rgb} rgb
   */
  stroke(path, rgb) {
    const { pen, sewing, view } = this;
    const width = Math.max(1.2, sewing.laidMm * view.scale);
    for (const [tone, share] of [[0.72, 1], [1.06, 0.62]]) {
      pen.strokeStyle = css(rgb, tone);
      pen.lineWidth = width * share;
      pen.stroke(path);
    }
  }
}

/**
 * @param {import("./view_blob.js").Rgb} rgb
 * @param {number} tone
 */
function css(rgb, tone) {
  return `rgb(${rgb.map((v) => Math.min(255, Math.round(v * tone))).join(" ")})`;
}
