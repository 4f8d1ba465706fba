// @ts-check
/** The traveller comes to life: progress, the thread view with its buttons and pins, prices, copy. */

import { follow } from "./progress.js";
import { openThreadView } from "./thread_view.js";

const wait = /** @type {HTMLElement} */ (document.getElementById("wait"));
const here = wait.dataset.here ?? "";

if (wait.dataset.status === "running") watchPreparing();
watchPrices();
wakeThreadView();
wakeCopy();

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
        refreshPart("early");
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

function watchPrices() {
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
    () => refreshPart("prices"),
  );
}

/**
 * Takes one part of the page anew from the server and leaves the rest alone.
 * @param {string} id
 */
async function refreshPart(id) {
  const answer = await fetch(here, { credentials: "same-origin" });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById(id);
  if (fresh) document.getElementById(id)?.replaceWith(fresh);
}

async function wakeThreadView() {
  const box = document.getElementById("thread-view");
  if (!box) return;
  const view = await openThreadView(box).catch(() => null);
  if (!view) {
    box.dataset.failed = "true";
    return;
  }
  const hands = document.getElementById("hands");
  hands?.removeAttribute("hidden");
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
  hands?.addEventListener("click", (event) => {
    const button = /** @type {Element} */ (event.target).closest("button");
    if (button) acts[button.dataset.do ?? ""]?.();
  });
  hands?.addEventListener("change", (event) => {
    const tick = /** @type {HTMLInputElement} */ (event.target);
    if (tick.dataset.do === "pins") box.classList.toggle("no-pins", !tick.checked);
    if (tick.dataset.do === "areas") {
      box.querySelector(".areas")?.setAttribute("display", tick.checked ? "inline" : "none");
    }
  });
  document.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement | null} */ (
      /** @type {Element} */ (event.target).closest("[data-show]")
    );
    if (!link) return;
    event.preventDefault();
    const [x, y] = (link.dataset.show ?? "").split(",").map(Number);
    view.look(x, y, Math.max(view.view.scale, view.fittedScaleFor(view.view) * 4));
    box.scrollIntoView({ block: "center" });
    box.focus({ preventScroll: true });
  });
}

function wakeCopy() {
  const button = document.getElementById("copy");
  const message = /** @type {HTMLTextAreaElement | null} */ (document.getElementById("message"));
  if (!button || !message || !navigator.clipboard) return;
  button.hidden = false;
  button.addEventListener("click", async () => {
    await navigator.clipboard.writeText(message.value);
    button.textContent = button.dataset.done ?? "";
  });
}
