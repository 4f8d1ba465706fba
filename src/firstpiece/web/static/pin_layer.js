// @ts-check
/** What lies over the thread: numbered pins, and a rule of a round length under the picture. */

const PIN_PX = 27;

/**
 * Moves the pins to where the view now shows their places.
 * @param {SVGSVGElement} pins
 * @param {import("./thread_gl.js").View} view
 * @param {number} ratio device pixels per CSS pixel
 */
export function placePins(pins, view, ratio) {
  const west = view.isBack ? -1 : 1;
  const [w, h] = [view.width / view.scale, view.height / view.scale];
  pins.setAttribute("viewBox", `${view.cx - w / 2} ${-view.cy - h / 2} ${w} ${h}`);
  pins.querySelector(".areas")?.setAttribute("transform", view.isBack ? `translate(${2 * view.cx} 0) scale(-1 1)` : "");
  const size = ratio / view.scale;
  /** @type {[number, number][]} */
  const placed = [];
  for (const pin of pins.querySelectorAll("[data-x]")) {
    const at = /** @type {SVGElement} */ (pin).dataset;
    let x = view.cx + (Number(at.x) - view.cx) * west;
    const y = -Number(at.y);
    // Pins that would cover one another stand side by side; coming closer parts them.
    while (placed.some(([px, py]) => Math.hypot(px - x, py - y) < PIN_PX * size)) x += PIN_PX * size;
    placed.push([x, y]);
    pin.setAttribute("transform", `translate(${x} ${y}) scale(${size})`);
  }
}

/**
 * A rule of a round length under the picture, so that every zoom has a scale.
 * @param {HTMLElement} ruler
 * @param {number} pxPerMm
 * @param {number} room px
 */
export function drawRuler(ruler, pxPerMm, room) {
  const lengths = [0.5, 1, 2, 5, 10, 20, 50, 100, 200];
  const fits = lengths.filter((mm) => mm * pxPerMm <= Math.min(160, room * 0.4));
  const mm = fits.at(-1) ?? lengths[0];
  const line = /** @type {HTMLElement | null} */ (ruler.querySelector(".ruler-line"));
  const word = ruler.querySelector(".ruler-word");
  line?.style.setProperty("width", `${mm * pxPerMm}px`);
  if (word) word.textContent = `${mm} mm`;
}
