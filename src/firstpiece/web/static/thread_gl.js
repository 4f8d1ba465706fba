// @ts-check
/**
 * Paints a sewing with WebGL2 into its own hidden canvas, a few thousand stitches at a time.
 *
 * Each stitch is a quad whose corners the vertex shader works out from a texture of needle points,
 * drawn in sewing order so that later thread lies on top.
 *
 * @typedef {import("./view_blob.js").Sewing} Sewing
 * @typedef {{cx: number, cy: number, scale: number, width: number, height: number, isBack: boolean}} View
 *   centre in mm, device pixels per mm, size in device pixels, seen from behind
 */

import { CLOTH_FRAGMENT, CLOTH_VERTEX, TEXTURE_WIDTH, THREAD_FRAGMENT, THREAD_VERTEX } from "./thread_shaders.js";

const CHUNK = 1024;
/** White bobbin thread and white backing are the rule. */
/** @type {import("./view_blob.js").Rgb} */
export const BOBBIN = [243, 241, 236];
/** @type {import("./view_blob.js").Rgb} */
export const BACKING = [226, 223, 216];
const FELT = 4;

export class GlPainter {
  /**
   * @param {Sewing} sewing
   */
  constructor(sewing) {
    this.sewing = sewing;
    this.dress = { cloth: sewing.cloth, weave: sewing.weave };
    this.canvas = document.createElement("canvas");
    this.isLost = false;
    const gl = this.canvas.getContext("webgl2", {
      alpha: false,
      antialias: false,
      depth: false,
      preserveDrawingBuffer: true,
    });
    if (!gl) throw new Error("no WebGL2");
    this.gl = gl;
    this.chunks = chunkBoxes(sewing);
    /** Rows painted so far. */
    this.row = 0;
    /** @type {View} */
    this.view = { cx: 0, cy: 0, scale: 1, width: 1, height: 1, isBack: false };
    /** @type {() => void} called when the picture must be painted anew */
    this.onRestored = () => {};
    this.canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.isLost = true;
    });
    this.canvas.addEventListener("webglcontextrestored", () => {
      this.build();
      this.isLost = false;
      this.onRestored();
    });
    this.build();
  }

  /** Makes programs and textures; also called again after the context was lost. */
  build() {
    const { gl, sewing } = this;
    this.thread = program(gl, THREAD_VERTEX, THREAD_FRAGMENT);
    this.cloth = program(gl, CLOTH_VERTEX, CLOTH_FRAGMENT);
    gl.bindVertexArray(gl.createVertexArray());
    const rows = Math.max(1, Math.ceil(sewing.count / TEXTURE_WIDTH));
    const points = new Float32Array(rows * TEXTURE_WIDTH * 4);
    for (let i = 0; i < sewing.count; i++) {
      points[4 * i] = sewing.x[i];
      points[4 * i + 1] = sewing.y[i];
      points[4 * i + 2] = sewing.thread[i];
      points[4 * i + 3] = sewing.marks[i];
    }
    texture(gl, 0, TEXTURE_WIDTH, rows, points);
    const palette = new Float32Array(Math.max(1, sewing.threads.length) * 4);
    sewing.threads.forEach((rgb, i) => palette.set(linear(rgb), 4 * i));
    texture(gl, 1, Math.max(1, sewing.threads.length), 1, palette);
  }

  /**
   * Begins a picture: paints the cloth and forgets the one before.
   * @param {View} view
   */
  start(view) {
    const { gl, canvas } = this;
    this.view = view;
    this.row = 0;
    if (canvas.width !== view.width || canvas.height !== view.height) {
      canvas.width = view.width;
      canvas.height = view.height;
    }
    gl.viewport(0, 0, view.width, view.height);
    gl.disable(gl.BLEND);
    this.use(this.cloth);
    const cloth = linear(view.isBack ? BACKING : this.dress.cloth);
    gl.uniform3f(this.place("u_cloth"), cloth[0], cloth[1], cloth[2]);
    gl.uniform1i(this.place("u_weave"), view.isBack ? FELT : this.dress.weave);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    this.use(this.thread);
    const half = Math.max(this.sewing.laidMm / 2, 0.6 / view.scale);
    gl.uniform1f(this.place("u_half"), half);
    gl.uniform1f(this.place("u_reach"), half * view.scale < 1.2 ? 1.0 + 0.6 / (half * view.scale) : 1.7);
    gl.uniform1i(this.place("u_points"), 0);
    gl.uniform1i(this.place("u_palette"), 1);
    const bobbin = linear(BOBBIN);
    gl.uniform3f(this.place("u_bobbin"), bobbin[0], bobbin[1], bobbin[2]);
    gl.uniform1f(this.place("u_back"), view.isBack ? 1 : 0);
  }

  /**
   * Paints on until the time is used up; true when all rows before `end` are painted.
   * @param {number} budgetMs
   * @param {number} end rows
   */
  step(budgetMs, end) {
    const { gl, view } = this;
    const until = performance.now() + budgetMs;
    const pixel = new Uint8Array(4);
    const first = this.place("u_first");
    while (this.row < end && !this.isLost) {
      const chunk = this.chunks[Math.floor(this.row / CHUNK)];
      const from = this.row;
      this.row = Math.min(end, chunk.first + chunk.count);
      if (!meets(chunk.box, view)) continue;
      gl.uniform1i(first, from);
      gl.drawArrays(gl.TRIANGLES, 0, (this.row - from) * 6);
      // Without this the driver queues everything and the time budget means nothing.
      gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
      if (performance.now() > until) break;
    }
    return this.row >= end;
  }

  /** @param {WebGLProgram | undefined} chosen */
  use(chosen) {
    const { gl, view } = this;
    this.current = chosen;
    gl.useProgram(chosen ?? null);
    const west = view.isBack ? -1 : 1;
    gl.uniform4f(this.place("u_view"), view.cx, view.cy, (2 * west * view.scale) / view.width, (2 * view.scale) / view.height);
    gl.uniform1f(this.place("u_scale"), view.scale);
  }

  /** @param {string} name */
  place(name) {
    return this.current ? this.gl.getUniformLocation(this.current, name) : null;
  }
}

/**
 * @param {Sewing} sewing
 * @returns {{first: number, count: number, box: [number, number, number, number]}[]}
 */
export function chunkBoxes(sewing) {
  const chunks = [];
  for (let first = 0; first < sewing.count; first += CHUNK) {
    const count = Math.min(CHUNK, sewing.count - first);
    let [left, bottom, right, top] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let i = Math.max(0, first - 1); i < first + count; i++) {
      left = Math.min(left, sewing.x[i]);
      right = Math.max(right, sewing.x[i]);
      bottom = Math.min(bottom, sewing.y[i]);
      top = Math.max(top, sewing.y[i]);
    }
    chunks.push({ first, count, box: /** @type {[number, number, number, number]} */ ([left, bottom, right, top]) });
  }
  return chunks;
}

/**
 * @param {[number, number, number, number]} box
 * @param {View} view
 */
export function meets(box, view) {
  const w = view.width / view.scale / 2 + 1;
  const h = view.height / view.scale / 2 + 1;
  return box[0] < view.cx + w && box[2] > view.cx - w && box[1] < view.cy + h && box[3] > view.cy - h;
}

/**
 * @param {import("./view_blob.js").Rgb} rgb
 * @returns {[number, number, number, number]}
 */
function linear(rgb) {
  return [(rgb[0] / 255) ** 2.2, (rgb[1] / 255) ** 2.2, (rgb[2] / 255) ** 2.2, 1];
}

/**
 * @param {WebGL2RenderingContext} gl
 * @param {string} vertex
 * @param {string} fragment
 */
function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, source] of /** @type {[number, string][]} */ ([
    [gl.VERTEX_SHADER, vertex],
    [gl.FRAGMENT_SHADER, fragment],
  ])) {
    const shader = gl.createShader(kind);
    if (!shader) throw new Error("no shader");
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) {
    throw new Error(gl.getProgramInfoLog(made) || "the shaders do not link");
  }
  return made;
}

/**
 * @param {WebGL2RenderingContext} gl
 * @param {number} unit
 * @param {number} width
 * @param {number} height
 * @param {Float32Array} values
 */
function texture(gl, unit, width, height, values) {
  gl.activeTexture(gl.TEXTURE0 + unit);
  gl.bindTexture(gl.TEXTURE_2D, gl.createTexture());
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA32F, width, height, 0, gl.RGBA, gl.FLOAT, values);
}
