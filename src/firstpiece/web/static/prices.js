// @ts-check
/** The price table fills in as each height is planned. */

import { follow } from "./progress.js";
import { refreshPart } from "./sheet.js";

/** @param {string} here address of the run */
export function wakePrices(here) {
  const bar = /** @type {HTMLProgressElement | null} */ (document.getElementById("price-bar"));
  if (!bar) return;
  const stage = document.getElementById("price-stage");
  follow(
    here,
    "prices",
    (state) => {
      bar.value = state.fraction;
      if (stage && state.stage) stage.textContent = state.stage;
    },
    () => refreshPart(here, "prices"),
  );
}
