// @ts-check
/**
 * Paints a sewing with plain canvas strokes where WebGL2 is missing: same steps, same views as
 * `GlPainter`, each stitch as a dark edge under a lighter middle.
 *
 * @typedef {import("./view_blob.js").Sewing} Sewing
 * @typedef {import("./thread_gl.js").View} View
 */

import { chunkBoxes, meets } from "./thread_gl.js";

export class FlatPainter {
  /** @param {Sewing} sewing */
  constructor(sewing) {
    this.sewing = sewing;
    this.canvas = document.createElement("canvas");
    const pen = this.canvas.getContext("2d", { alpha: false });
    if (!pen) throw new Error("no canvas");
    this.pen = pen;
    this.isLost = false;
    this.onRestored = () => {};
    this.chunks = chunkBoxes(sewing);
    this.next = 0;
    /** @type {View} */
    this.view = { cx: 0, cy: 0, scale: 1, width: 1, height: 1 };
  }

  /** @param {View} view */
  start(view) {
    this.view = view;
    this.next = 0;
    this.canvas.width = view.width;
    this.canvas.height = view.height;
    this.pen.fillStyle = css(this.sewing.cloth, 1);
    this.pen.fillRect(0, 0, view.width, view.height);
    this.pen.lineCap = "round";
  }

  /**
   * @param {number} budgetMs
   * @returns {boolean} true when the picture is whole
   */
  step(budgetMs) {
    const until = performance.now() + budgetMs;
    while (this.next < this.chunks.length) {
      const chunk = this.chunks[this.next++];
      if (!meets(chunk.box, this.view)) continue;
      this.paint(chunk.first, chunk.first + chunk.count);
      if (performance.now() > until) break;
    }
    return this.next >= this.chunks.length;
  }

  /**
   * @param {number} first
   * @param {number} end
   */
  paint(first, end) {
    const { pen, sewing, view } = this;
    const width = Math.max(1.2, sewing.laidMm * view.scale);
    const px = (/** @type {number} */ i) => (sewing.x[i] - view.cx) * view.scale + view.width / 2;
    const py = (/** @type {number} */ i) => view.height / 2 - (sewing.y[i] - view.cy) * view.scale;
    let start = Math.max(1, first);
    while (start < end) {
      const thread = sewing.thread[start];
      let stop = start;
      const path = new Path2D();
      for (; stop < end && sewing.thread[stop] === thread; stop++) {
        if (!(sewing.marks[stop] & 1)) continue;
        path.moveTo(px(stop - 1), py(stop - 1));
        path.lineTo(px(stop), py(stop));
      }
      const rgb = sewing.threads[thread];
      pen.strokeStyle = css(rgb, 0.72);
      pen.lineWidth = width;
      pen.stroke(path);
      pen.strokeStyle = css(rgb, 1.06);
      pen.lineWidth = width * 0.62;
      pen.stroke(path);
      start = stop;
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
