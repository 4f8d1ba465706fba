// @ts-check
/** The cleaned areas wiped over the picture as it came: by the slider's keys, or by hand. */

export function wakeWipe() {
  const wipe = document.getElementById("wipe");
  const sentence = document.getElementById("seen");
  const pair = document.getElementById("pair");
  const slider = /** @type {HTMLInputElement | null | undefined} */ (wipe?.querySelector("input"));
  const rect = wipe?.querySelector("#wiped rect");
  const edge = wipe?.querySelector(".wipe-edge");
  const picture = wipe?.querySelector("svg");
  if (!wipe || !sentence || !pair || !slider || !rect || !edge || !picture) return;
  const left = Number(rect.getAttribute("x"));
  const whole = Number(/** @type {SVGElement} */ (rect).dataset.whole);
  const draw = () => {
    const width = (whole * Number(slider.value)) / 100;
    rect.setAttribute("width", String(width));
    for (const name of ["x1", "x2"]) edge.setAttribute(name, String(left + width));
  };
  slider.addEventListener("input", draw);
  picture.addEventListener("pointermove", (event) => {
    if (event.pointerType === "mouse" && event.buttons === 0) return;
    const box = picture.getBoundingClientRect();
    slider.value = String((100 * (event.clientX - box.left)) / box.width);
    draw();
  });
  sentence.hidden = false;
  sentence.addEventListener("change", (event) => {
    const isWipe = /** @type {HTMLSelectElement} */ (event.target).value === "wipe";
    wipe.hidden = !isWipe;
    pair.hidden = isWipe;
    draw();
  });
}
