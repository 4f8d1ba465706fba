// @ts-check
/** Forecast maps over the thread: one at a time, in cividis, with its scale and the figure under the hand. */

import { cividis } from "./cividis.js";
import { readLayerBlob, valueAt } from "./layer_blob.js";
import { pixelOf } from "./view_hands.js";

const REST_MS = 250;
const TICKS = 5;

export class ForecastLayers {
  /**
   * @param {import("./thread_view.js").ThreadView} view
   * @param {HTMLElement} legend holds `.scale`, `.scale-ends` and `.reading`; words in its data
   */
  constructor(view, legend) {
    this.view = view;
    this.legend = legend;
    /** @type {Promise<import("./layer_blob.js").Layer[]> | null} */
    this.fetched = null;
    /** @type {import("./layer_blob.js").Layer | null} */
    this.shown = null;
    this.timer = 0;
    view.box.addEventListener("pointermove", (e) => {
      const at = pixelOf(view, e);
      this.tell(...view.toMm(at.x, at.y), false);
    });
    view.box.addEventListener("pointerdown", (e) => {
      const at = pixelOf(view, e);
      this.tell(...view.toMm(at.x, at.y), false);
    });
    // By keyboard the arrow keys move the picture under a cross in its middle.
    view.box.addEventListener("keydown", () => this.tell(view.view.cx, view.view.cy, true));
    view.box.addEventListener("focus", () => this.tell(view.view.cx, view.view.cy, true));
  }

  /**
   * @param {string} name of a map, or "" for none
   * @param {string} [caution] how far it can be trusted
   */
  async show(name, caution = "") {
    const layer = name ? (await this.all()).find((l) => l.name === name) : undefined;
    this.shown = layer ?? null;
    this.legend.hidden = !layer;
    this.view.box.classList.toggle("has-layer", Boolean(layer));
    this.view.cover(layer ? overlay(layer) : null);
    const told = this.legend.querySelector(".caution");
    if (told) told.textContent = caution;
    if (layer) this.drawScale(layer);
  }

  all() {
    this.fetched ??= fetch(this.view.box.dataset.layers ?? "", { credentials: "same-origin" })
      .then((answer) => (answer.ok ? answer.arrayBuffer() : Promise.reject(new Error("no maps"))))
      .then(readLayerBlob);
    return this.fetched;
  }

  /** @param {import("./layer_blob.js").Layer} layer */
  drawScale(layer) {
    const scale = /** @type {HTMLCanvasElement} */ (this.legend.querySelector(".scale"));
    const pen = scale.getContext("2d");
    for (let x = 0; pen && x < scale.width; x++) {
      pen.fillStyle = `rgb(${cividis(x / (scale.width - 1)).join(" ")})`;
      pen.fillRect(x, 0, 1, scale.height);
    }
    const ends = /** @type {HTMLElement} */ (this.legend.querySelector(".scale-ends"));
    const ticks = Array.from({ length: TICKS }, (_, i) => layer.low + (i / (TICKS - 1)) * (layer.high - layer.low));
    ends.replaceChildren(
      ...ticks.map((value, i) => {
        const tick = document.createElement("span");
        tick.textContent = i === TICKS - 1 ? withUnit(value, layer) : shortly(value, layer.high);
        return tick;
      }),
    );
    this.say("");
  }

  /**
   * Writes the figure at a place; by keyboard it is also read out, once the hand rests.
   * @param {number} x mm
   * @param {number} y mm
   * @param {boolean} isKeyboard
   */
  tell(x, y, isKeyboard) {
    const layer = this.shown;
    if (!layer) return;
    this.view.box.classList.toggle("has-cross", isKeyboard);
    clearTimeout(this.timer);
    this.timer = window.setTimeout(
      () => {
        const [cx, cy] = isKeyboard ? [this.view.view.cx, this.view.view.cy] : [x, y];
        const value = valueAt(layer, cx, cy);
        const words = this.legend.dataset;
        const where = (words.at ?? "").replace("{x}", cx.toFixed(1)).replace("{y}", cy.toFixed(1));
        this.say(`${where} ${value === null ? words.nothing : withUnit(value, layer)}`);
      },
      isKeyboard ? REST_MS : 0,
    );
  }

  /** @param {string} words */
  say(words) {
    const reading = this.legend.querySelector(".reading");
    if (reading) reading.textContent = words || (this.legend.dataset.hint ?? "");
  }
}

/**
 * @param {import("./layer_blob.js").Layer} layer
 * @returns {import("./thread_view.js").Overlay}
 */
function overlay(layer) {
  const picture = document.createElement("canvas");
  [picture.width, picture.height] = [layer.cols, layer.rows];
  const pixels = new ImageData(layer.cols, layer.rows);
  const shades = Array.from({ length: 256 }, (_, code) => cividis((code - 1) / 254));
  layer.codes.forEach((code, i) => {
    if (code === 0) return;
    pixels.data.set(shades[code], 4 * i);
    pixels.data[4 * i + 3] = 255;
  });
  picture.getContext("2d")?.putImageData(pixels, 0, 0);
  const { left, top, cols, rows, cell } = layer;
  return { picture, left, top, width: cols * cell, height: rows * cell };
}

/**
 * @param {number} value
 * @param {import("./layer_blob.js").Layer} layer
 */
function withUnit(value, layer) {
  const unit = layer.unit.startsWith("1/") ? `per\u00a0${layer.unit.slice(2)}` : layer.unit;
  return `${shortly(value, layer.high)}\u00a0${unit}`;
}

/**
 * @param {number} value
 * @param {number} high
 */
function shortly(value, high) {
  return value.toFixed(high >= 100 ? 0 : high >= 4 ? 1 : 2);
}
