// @ts-check
/**
 * The price table grows as each height is planned; so do the search for a size and the prices of
 * remedies. A slider says at once what size a budget buys, between the heights that were planned.
 */

import { follow } from "./progress.js";
import { refreshPart } from "./sheet.js";

/** @param {string} here address of the run */
export function wakePrices(here) {
  const findings = () => watchPart(here, "remedies", "tries", "findings");
  watchPart(here, "prices", "price", "price-table", async () => {
    await refreshPart(here, "prices");
    wakeAfford();
    watchPart(here, "fit", "fit", "budget");
    await refreshPart(here, "findings");
    findings();
  });
  watchPart(here, "fit", "fit", "budget");
  findings();
  wakeAfford();
}

/**
 * Shows how far a part of the page is worked out, and takes it anew at every step and at the end.
 * @param {string} here
 * @param {string} task
 * @param {string} name beginning of the ids of its bar and its words
 * @param {string} part id of what is taken anew
 * @param {() => void} [end]
 */
function watchPart(here, task, name, part, end) {
  if (!document.getElementById(`${name}-bar`)) return;
  let version = 0;
  follow(
    here,
    task,
    (state) => {
      const bar = /** @type {HTMLProgressElement | null} */ (document.getElementById(`${name}-bar`));
      const stage = document.getElementById(`${name}-stage`);
      if (bar) bar.value = state.fraction;
      if (stage && state.stage) stage.textContent = state.stage;
      if (version && state.version !== version && state.status === "running") refreshPart(here, part);
      version = state.version ?? 0;
    },
    end ?? (() => refreshPart(here, part)),
  );
}

/** What a budget buys: the table's own heights, and straight lines between them. */
function wakeAfford() {
  const box = document.getElementById("afford");
  const table = /** @type {HTMLElement | null} */ (document.querySelector("table.prices"));
  if (!box || !table) return;
  const slider = /** @type {HTMLInputElement} */ (box.querySelector("input"));
  const pieces = /** @type {HTMLSelectElement} */ (box.querySelector("select"));
  const money = new Intl.NumberFormat("en-GB", { style: "currency", currency: table.dataset.currency ?? "GBP" });
  const rows = [.../** @type {NodeListOf<HTMLElement>} */ (table.querySelectorAll("tr[data-height]"))];
  const cells = (/** @type {HTMLElement} */ row) => [.../** @type {NodeListOf<HTMLElement>} */ (row.querySelectorAll("[data-each]"))];
  /** @type {{mm: number, each: number}[]} */
  let steps = [];
  const tell = () => {
    const budget = Number(slider.value);
    const column = Number(pieces.value);
    for (const row of rows) {
      cells(row).forEach((cell, k) => cell.classList.toggle("within", k === column && Number(cell.dataset.each) <= budget));
    }
    const shown = /** @type {HTMLElement} */ (box.querySelector(".afford-money"));
    shown.textContent = money.format(budget);
    const words = /** @type {HTMLElement} */ (box.querySelector(".afford-size"));
    words.textContent = sizeFor(steps, budget, box.dataset);
    slider.setAttribute("aria-valuetext", `${shown.textContent}: ${words.textContent}`);
    const field = /** @type {HTMLInputElement | null} */ (document.querySelector("#budget input[name=budget]"));
    if (field) field.value = budget.toFixed(2);
  };
  const choose = () => {
    steps = rows.map((row) => ({ mm: Number(row.dataset.height), each: Number(cells(row)[Number(pieces.value)].dataset.each) }));
    const prices = steps.map((step) => step.each);
    slider.min = String(Math.floor(Math.min(...prices) - 1));
    slider.max = String(Math.ceil(Math.max(...prices) + 1));
    slider.step = "0.5";
    slider.value = String((Math.min(...prices) + Math.max(...prices)) / 2);
    tell();
  };
  box.hidden = false;
  slider.addEventListener("input", tell);
  pieces.addEventListener("change", choose);
  choose();
}

/**
 * @param {{mm: number, each: number}[]} steps rising in height
 * @param {number} budget
 * @param {DOMStringMap} words
 */
function sizeFor(steps, budget, words) {
  const fits = steps.filter((step) => step.each <= budget);
  if (fits.length === 0) return (words.less ?? "").replace("{mm}", steps[0].mm.toFixed(0));
  const low = fits[fits.length - 1];
  const high = steps[steps.indexOf(low) + 1];
  if (!high) return (words.most ?? "").replace("{mm}", low.mm.toFixed(0));
  const mm = low.mm + ((budget - low.each) / (high.each - low.each)) * (high.mm - low.mm);
  return (words.about ?? "").replace("{mm}", mm.toFixed(0));
}
