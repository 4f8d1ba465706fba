// @ts-check
/** The price table fills in as each height is planned; so does the search for a size. */

import { follow } from "./progress.js";
import { refreshPart } from "./sheet.js";

/** @param {string} here address of the run */
export function wakePrices(here) {
  watchPart(here, "prices", "price", "prices");
  watchPart(here, "fit", "fit", "budget");
}

/**
 * Shows how far a part of the page is worked out, and takes it anew at the end.
 * @param {string} here
 * @param {string} task
 * @param {string} name beginning of the ids of its bar and its words
 * @param {string} part id of what is taken anew
 */
function watchPart(here, task, name, part) {
  const bar = /** @type {HTMLProgressElement | null} */ (document.getElementById(`${name}-bar`));
  if (!bar) return;
  const stage = document.getElementById(`${name}-stage`);
  follow(
    here,
    task,
    (state) => {
      bar.value = state.fraction;
      if (stage && state.stage) stage.textContent = state.stage;
    },
    () => refreshPart(here, part),
  );
}
