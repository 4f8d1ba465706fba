// @ts-check
/** The traveller comes to life: progress, the sew-out, prices, messages to copy. */

import { wakeAreas } from "./areas.js";
import { follow } from "./progress.js";
import { wakePrices } from "./prices.js";
import { refreshPart, wakeCopy } from "./sheet.js";
import { wakeSewout } from "./sewout.js";
import { wakeWipe } from "./wipe.js";

const wait = /** @type {HTMLElement} */ (document.getElementById("wait"));
const here = wait.dataset.here ?? "";

if (wait.dataset.status === "running") watchPreparing();
wakeSewout();
wakeWipe();
wakeAreas();
wakePrices(here);
wakeCopy();
// A link to a place inside a quiet section opens it.
addEventListener("hashchange", openTarget);
openTarget();
addEventListener("beforeprint", () => {
  for (const part of document.querySelectorAll("details")) part.open = part.open || part.id !== "stitch-table";
});

function openTarget() {
  const target = location.hash ? document.getElementById(location.hash.slice(1)) : null;
  for (const part of target?.querySelectorAll(":scope > details") ?? []) part.setAttribute("open", "");
  target?.closest("details")?.setAttribute("open", "");
  if (target instanceof HTMLDetailsElement) target.open = true;
}

function watchPreparing() {
  const bar = /** @type {HTMLProgressElement} */ (document.getElementById("bar"));
  const stage = document.getElementById("stage");
  const share = document.getElementById("share");
  let hasPicture = document.querySelector("#early img") !== null;
  follow(
    here,
    "prepare",
    (state) => {
      bar.value = state.fraction;
      if (stage && state.stage) stage.textContent = state.stage;
      if (share) share.textContent = `${Math.floor(100 * state.fraction)} %`;
      // The picture can be shown from the moment that it could be read.
      if (!hasPicture && state.fraction > 0) {
        hasPicture = true;
        refreshPart(here, "early");
      }
    },
    () => location.reload(),
  );
  const stop = /** @type {HTMLFormElement | null} */ (document.getElementById("stop"));
  stop?.addEventListener("submit", () => {
    const button = stop.querySelector("button");
    if (button) button.disabled = true;
  });
}
