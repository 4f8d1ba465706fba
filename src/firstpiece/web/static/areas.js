// @ts-check
/** The areas by hand: tap one to choose it, put marks for lines and corners, or do both by keys. */

/** @typedef {[number, number]} Point millimetres from the middle, y up */

/** @returns {void} */
export function wakeAreas() {
  const bench = document.getElementById("bench");
  if (bench) new Bench(bench);
}

class Bench {
  /** @param {HTMLElement} bench */
  constructor(bench) {
    this.here = bench.dataset.here ?? "";
    this.box = /** @type {HTMLElement} */ (document.getElementById("bench-view"));
    this.svg = /** @type {SVGSVGElement} */ (this.box.querySelector("svg"));
    this.word = document.getElementById("bench-word");
    /** @type {Point[]} */
    this.marks = [];
    /** @type {Point} */
    this.cross = [0, 0];
    this.isMarking = false;
    const { x, y, width, height } = this.svg.viewBox.baseVal;
    this.whole = [x, y, width, height];
    this.window = [...this.whole];
    void this.showAreas(bench.dataset.chosen ?? "");
    this.listen();
    this.wakeForms();
    this.draw();
  }

  /** @param {string} chosen */
  async showAreas(chosen) {
    const answer = await fetch(`${this.here}/pictures/cleaned.svg`, { credentials: "same-origin" });
    if (!answer.ok) return;
    const drawing = new DOMParser().parseFromString(await answer.text(), "image/svg+xml");
    const group = this.svg.querySelector(".bench-areas");
    if (!group) return;
    group.replaceChildren(...[...drawing.querySelectorAll("path")].map((p) => document.importNode(p, true)));
    this.choose(chosen);
    const waiting = document.querySelector("#ways [data-wait]");
    if (waiting) void this.showWays(/** @type {HTMLElement} */ (waiting));
  }

  /** @param {HTMLElement} waiting */
  async showWays(waiting) {
    const box = /** @type {HTMLElement} */ (waiting.parentElement);
    waiting.textContent = waiting.dataset.wait ?? "";
    const answer = await fetch(box.dataset.ways ?? "", { credentials: "same-origin" });
    if (!answer.ok) return waiting.remove();
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const found = page.getElementById("ways-found");
    if (found) box.replaceChildren(found);
  }

  /** @param {string} number */
  choose(number) {
    for (const path of this.svg.querySelectorAll("path[data-id]")) {
      path.classList.toggle("is-chosen", path.getAttribute("data-id") === number);
    }
  }

  listen() {
    document.getElementById("bench-hands")?.removeAttribute("hidden");
    /** @type {Record<string, () => void>} */
    const acts = {
      closer: () => this.zoom(0.625),
      further: () => this.zoom(1.6),
      whole: () => this.look([...this.whole]),
      marking: () => this.setMarking(!this.isMarking),
      unmark: () => this.unmark(),
      left: () => this.move(-1, 0),
      right: () => this.move(1, 0),
      up: () => this.move(0, 1),
      down: () => this.move(0, -1),
      here: () => this.act(),
    };
    document.getElementById("bench-hands")?.addEventListener("click", (event) => {
      const button = /** @type {Element} */ (event.target).closest("button");
      if (button) acts[button.dataset.hand ?? ""]?.();
    });
    /** @type {Record<string, string>} */
    const keys = {
      "+": "closer", "=": "closer", "-": "further", 0: "whole", ArrowLeft: "left",
      ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", Enter: "here", " ": "here",
      Backspace: "unmark", m: "marking",
    };
    this.box.addEventListener("keydown", (event) => {
      const act = acts[keys[event.key] ?? ""];
      if (!act || event.altKey || event.metaKey || event.ctrlKey) return;
      event.preventDefault();
      act();
    });
    this.svg.addEventListener("click", (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM()?.inverse());
      this.cross = [at.x, -at.y];
      this.act();
    });
  }

  act() {
    if (this.isMarking) this.marks.push([...this.cross]);
    else this.chooseAtCross();
    this.draw();
  }

  chooseAtCross() {
    const at = new DOMPoint(this.cross[0], -this.cross[1]);
    const paths = /** @type {SVGGeometryElement[]} */ ([...this.svg.querySelectorAll("path[data-id]")]);
    const hit = paths.find((path) => path.isPointInFill(at));
    if (!hit) return;
    location.href = `${this.here}?area=${hit.dataset.id}#areas`;
  }

  unmark() {
    this.marks.pop();
    this.draw();
  }

  /** @param {boolean} isMarking */
  setMarking(isMarking) {
    this.isMarking = isMarking;
    document.querySelector('#bench-hands [data-hand="marking"]')?.setAttribute("aria-pressed", String(isMarking));
    this.box.classList.toggle("is-marking", isMarking);
  }

  /**
   * Moves the cross by a fiftieth of what is seen.
   * @param {number} right
   * @param {number} up
   */
  move(right, up) {
    const step = this.window[2] / 50;
    this.cross = [this.cross[0] + right * step, this.cross[1] + up * step];
    this.draw();
  }

  /** @param {number} share of what is seen now */
  zoom(share) {
    const [, , w, h] = this.window;
    const [cx, cy] = [this.cross[0], -this.cross[1]];
    this.look([cx - (w * share) / 2, cy - (h * share) / 2, w * share, h * share]);
  }

  /** @param {number[]} window */
  look(window) {
    this.window = window;
    this.svg.setAttribute("viewBox", window.join(" "));
    this.draw();
  }

  draw() {
    const unit = this.window[2] / 120;
    const [x, y] = this.cross;
    const points = this.marks.map(([mx, my]) => `${mx},${-my}`);
    this.svg.querySelector(".marks")?.setAttribute("points", points.join(" "));
    this.svg.querySelector(".bench-cross")?.setAttribute("transform", `translate(${x} ${-y}) scale(${2 * unit})`);
    const dots = this.marks.map(([mx, my]) => {
      const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      dot.setAttribute("cx", String(mx));
      dot.setAttribute("cy", String(-my));
      dot.setAttribute("r", String(unit));
      return dot;
    });
    this.svg.querySelector(".mark-dots")?.replaceChildren(...dots);
    const text = this.marks.map(([mx, my]) => `${mx.toFixed(3)},${my.toFixed(3)}`).join(" ");
    for (const field of document.querySelectorAll('.area-form input[name="marks"]')) {
      /** @type {HTMLInputElement} */ (field).value = text;
    }
    if (this.word && this.marks.length) {
      this.word.textContent = (this.word.dataset.mark ?? "").replace("{n}", String(this.marks.length));
    }
  }

  /** A form that needs marks begins marking when none are there yet. */
  wakeForms() {
    for (const form of document.querySelectorAll(".area-form[data-marks]")) {
      form.addEventListener("focusin", () => {
        if (!this.marks.length) this.setMarking(true);
      });
    }
  }
}
