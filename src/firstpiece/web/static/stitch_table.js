// @ts-check
/**
 * Every movement of the needle as a table, a page at a time: for screen readers, and for whoever
 * wants to know what happens at one place.
 */

import { actionOf } from "./sewing_pace.js";

const ROWS = 40;

export class StitchTable {
  /**
   * @param {import("./thread_view.js").ThreadView} view
   * @param {HTMLElement} part a `details` with the table, its buttons and its words
   * @param {(row: number) => void} show called with the row a person wants to see
   */
  constructor(view, part, show) {
    this.view = view;
    this.part = part;
    this.show = show;
    this.first = 0;
    this.body = /** @type {HTMLElement} */ (part.querySelector("tbody"));
    this.from = /** @type {HTMLInputElement} */ (part.querySelector("input"));
    this.from.max = String(view.sewing.count);
    part.addEventListener("toggle", () => this.fill());
    part.querySelector("[data-page=back]")?.addEventListener("click", () => this.turnTo(this.first - ROWS));
    part.querySelector("[data-page=on]")?.addEventListener("click", () => this.turnTo(this.first + ROWS));
    this.from.addEventListener("change", () => this.turnTo(Number(this.from.value) - 1));
    this.body.addEventListener("click", (event) => {
      const button = /** @type {Element} */ (event.target).closest("button");
      if (button) this.show(Number(button.dataset.row));
    });
  }

  /** @param {number} row that comes first */
  turnTo(row) {
    const last = Math.max(0, this.view.sewing.count - 1);
    this.first = Math.min(Math.max(0, Math.floor(row) || 0), Math.floor(last / ROWS) * ROWS);
    this.fill();
  }

  fill() {
    if (!(/** @type {HTMLDetailsElement} */ (this.part).open)) return;
    const { sewing } = this.view;
    const words = this.part.dataset;
    const actions = (words.actions ?? "").split("|");
    const roles = (words.roles ?? "").split("|");
    const threads = (words.threads ?? "").split("|");
    const end = Math.min(this.first + ROWS, sewing.count);
    this.from.value = String(this.first + 1);
    const rows = [];
    for (let i = this.first; i < end; i++) {
      const action = actionOf(sewing, i);
      const length = i ? Math.hypot(sewing.x[i] - sewing.x[i - 1], sewing.y[i] - sewing.y[i - 1]) : 0;
      const place = document.createElement("th");
      place.scope = "row";
      const button = document.createElement("button");
      button.type = "button";
      button.className = "as-link";
      button.dataset.row = String(i);
      button.textContent = String(i + 1);
      button.setAttribute("aria-label", (words.see ?? "").replace("{n}", String(i + 1)));
      place.append(button);
      const row = document.createElement("tr");
      const area = sewing.area[i] >= 0 ? (words.area ?? "").replace("{n}", String(sewing.area[i])) : "";
      row.append(
        place,
        cell(actions[action] + (action === 0 ? `, ${roles[(sewing.marks[i] >> 1) & 3]}` : "")),
        cell(sewing.x[i].toFixed(2), "num"),
        cell(sewing.y[i].toFixed(2), "num"),
        cell(action <= 1 ? length.toFixed(2) : "", "num"),
        cell(threads[sewing.thread[i]] ?? ""),
        cell(area),
      );
      rows.push(row);
    }
    this.body.replaceChildren(...rows);
    const told = this.part.querySelector(".page-words");
    if (told) {
      told.textContent = (words.page ?? "")
        .replace("{a}", String(this.first + 1))
        .replace("{b}", String(end))
        .replace("{n}", String(sewing.count));
    }
    for (const [name, isOff] of /** @type {[string, boolean][]} */ ([["back", this.first === 0], ["on", end >= sewing.count]])) {
      const button = /** @type {HTMLButtonElement | null} */ (this.part.querySelector(`[data-page=${name}]`));
      if (button) button.disabled = isOff;
    }
  }
}

/**
 * @param {string} text
 * @param {string} [kind]
 */
function cell(text, kind = "") {
  const made = document.createElement("td");
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}
