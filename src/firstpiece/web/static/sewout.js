// @ts-check
/** The sew-out's section: its picture, the sentence that says what is shown, buttons and pins. */

import { ForecastLayers } from "./forecast_layers.js";
import { Playback } from "./playback.js";
import { StitchTable } from "./stitch_table.js";
import { openThreadView } from "./thread_view.js";

/** @returns {Promise<void>} */
export async function wakeSewout() {
  const box = document.getElementById("thread-view");
  if (!box) return;
  const view = await openThreadView(box).catch(() => null);
  if (!view) {
    box.dataset.failed = "true";
    return;
  }
  for (const part of document.querySelectorAll("#sewn [hidden].wakes")) part.removeAttribute("hidden");
  wakeHands(view);
  wakeSentence(view);
  wakePins(view);
  const bar = document.getElementById("playback");
  const playback = bar ? new Playback(view, bar) : null;
  const table = document.getElementById("stitch-table");
  if (table) {
    new StitchTable(view, table, (row) => {
      const { x, y } = view.sewing;
      playback?.moveToRow(row);
      view.look(x[row], y[row], Math.max(view.view.scale, view.fittedScaleFor(view.view) * 6));
      box.scrollIntoView({ block: "center" });
    });
  }
}

/** @param {import("./thread_view.js").ThreadView} view */
function wakeHands(view) {
  /** @type {Record<string, () => void>} */
  const acts = {
    closer: () => view.zoom(1.6),
    further: () => view.zoom(1 / 1.6),
    stitches: () => view.showStitches(),
    whole: () => view.showWhole(),
    left: () => view.nudge(-0.2, 0),
    right: () => view.nudge(0.2, 0),
    up: () => view.nudge(0, 0.2),
    down: () => view.nudge(0, -0.2),
  };
  document.getElementById("hands")?.addEventListener("click", (event) => {
    const button = /** @type {Element} */ (event.target).closest("button");
    if (button) acts[button.dataset.do ?? ""]?.();
  });
}

/** @param {import("./thread_view.js").ThreadView} view */
function wakeSentence(view) {
  const { box } = view;
  const legend = /** @type {HTMLElement} */ (document.getElementById("legend"));
  const layers = new ForecastLayers(view, legend);
  const elsewhere = document.getElementById("elsewhere");
  /** @type {Record<string, (value: string, chosen: HTMLOptionElement) => void>} */
  const choices = {
    side: (value) => view.turn(value === "back"),
    cloth: (value, chosen) => {
      const hex = chosen.dataset.rgb ?? "000000";
      const rgb = [0, 2, 4].map((i) => parseInt(hex.slice(i, i + 2), 16));
      view.dress(/** @type {import("./view_blob.js").Rgb} */ (rgb), Number(chosen.dataset.weave));
      box.querySelector(".areas rect")?.setAttribute("fill", `#${hex}`);
      if (!elsewhere) return;
      elsewhere.hidden = value === elsewhere.dataset.planned;
      const field = /** @type {HTMLInputElement | null} */ (elsewhere.querySelector("input[name=garment]"));
      if (field) field.value = value;
    },
    showing: (value, chosen) => {
      box.querySelector(".areas")?.setAttribute("display", value === "areas" ? "inline" : "none");
      layers.show(["thread", "areas"].includes(value) ? "" : value, chosen.dataset.caution ?? "");
    },
  };
  const sentence = document.getElementById("shown");
  sentence?.addEventListener("change", (event) => {
    const field = /** @type {HTMLSelectElement | HTMLInputElement} */ (event.target);
    if (field instanceof HTMLInputElement) box.classList.toggle("no-pins", !field.checked);
    else choices[field.dataset.do ?? ""]?.(field.value, field.selectedOptions[0]);
  });
}

/** @param {import("./thread_view.js").ThreadView} view */
function wakePins(view) {
  document.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement | null} */ (
      /** @type {Element} */ (event.target).closest("[data-show]")
    );
    if (!link) return;
    event.preventDefault();
    const [x, y] = (link.dataset.show ?? "").split(",").map(Number);
    view.look(x, y, Math.max(view.view.scale, view.fittedScaleFor(view.view) * 4));
    view.box.scrollIntoView({ block: "center" });
    view.box.focus({ preventScroll: true });
  });
}
