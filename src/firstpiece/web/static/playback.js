// @ts-check
/**
 * The sewing sewn again before one's eyes, at the machine's pace or quicker, and a slider to any
 * moment of it. Who asked the screen for stillness gets a step a second instead of a film.
 */

import { ACTION, actionOf, clock, rowsAt, rowTimes } from "./sewing_pace.js";

const STILL_STEP_MS = 1000;

export class Playback {
  /**
   * @param {import("./thread_view.js").ThreadView} view
   * @param {HTMLElement} bar holds the button, the slider, the pace and the words
   */
  constructor(view, bar) {
    this.view = view;
    this.bar = bar;
    this.times = rowTimes(view.sewing, JSON.parse(bar.dataset.pace ?? "{}"));
    this.total = this.times.at(-1) ?? 0;
    this.seconds = this.total;
    this.last = 0;
    this.isSewing = false;
    this.button = /** @type {HTMLButtonElement} */ (bar.querySelector("button"));
    this.slider = /** @type {HTMLInputElement} */ (bar.querySelector("input[type=range]"));
    this.pace = /** @type {HTMLSelectElement} */ (bar.querySelector("select"));
    this.words = /** @type {HTMLElement} */ (bar.querySelector(".moment"));
    this.slider.max = String(Math.ceil(this.total));
    this.slider.value = this.slider.max;
    bar.dataset.seconds = this.total.toFixed(1);
    this.counts = countStitches(view.sewing);
    this.button.addEventListener("click", () => (this.isSewing ? this.hold() : this.sew()));
    this.slider.addEventListener("input", () => {
      this.hold();
      const isEnd = this.slider.value === this.slider.max;
      this.moveTo(isEnd ? this.total : Number(this.slider.value));
    });
    this.tell();
  }

  sew() {
    if (this.seconds >= this.total) this.moveTo(0);
    this.isSewing = true;
    this.button.textContent = this.bar.dataset.hold ?? "";
    this.last = performance.now();
    const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const step = () => {
      if (!this.isSewing) return;
      const now = performance.now();
      this.moveTo(this.seconds + ((now - this.last) / 1000) * Number(this.pace.value));
      this.last = now;
      if (this.seconds >= this.total) return this.hold();
      if (isStill) setTimeout(step, STILL_STEP_MS);
      else requestAnimationFrame(step);
    };
    if (isStill) setTimeout(step, STILL_STEP_MS);
    else requestAnimationFrame(step);
  }

  hold() {
    this.isSewing = false;
    this.button.textContent = this.bar.dataset.sew ?? "";
  }

  /** @param {number} seconds since the first stitch */
  moveTo(seconds) {
    this.seconds = Math.min(Math.max(0, seconds), this.total);
    this.slider.value = String(Math.floor(this.seconds));
    this.view.sewTo(this.seconds >= this.total ? this.view.sewing.count : rowsAt(this.times, this.seconds));
    this.tell();
  }

  /** @param {number} row shown as the last one sewn */
  moveToRow(row) {
    this.hold();
    this.seconds = this.times[row] ?? this.total;
    this.slider.value = String(Math.floor(this.seconds));
    this.view.sewTo(row + 1);
    this.tell();
  }

  tell() {
    const { sewing, end } = this.view;
    const row = Math.max(0, end - 1);
    const thread = (this.bar.dataset.threads ?? "").split("|")[sewing.thread[row]] ?? "";
    const words = (this.bar.dataset.moment ?? "")
      .replace("{n}", grouped(this.counts[row] ?? 0))
      .replace("{of}", grouped(this.counts.at(-1) ?? 0))
      .replace("{now}", clock(this.seconds))
      .replace("{all}", clock(this.total))
      .replace("{thread}", thread);
    this.words.textContent = words;
    this.slider.setAttribute("aria-valuetext", words);
    this.bar.dataset.end = String(end);
  }
}

/**
 * @param {import("./view_blob.js").Sewing} sewing
 * @returns {Uint32Array} stitches up to and with each row
 */
export function countStitches(sewing) {
  const counts = new Uint32Array(sewing.count);
  let n = 0;
  for (let i = 0; i < sewing.count; i++) {
    if (actionOf(sewing, i) === ACTION.stitch) n += 1;
    counts[i] = n;
  }
  return counts;
}

/** @param {number} n */
export function grouped(n) {
  return String(n).replace(/\B(?=(\d{3})+$)/g, "\u202f");
}
