// @ts-check
/**
 * The arrival form: the picture can be dropped, is shown at once, and a refusal costs nothing that
 * was filled in (the form is sent in the background and stays where it is).
 */

const form = /** @type {HTMLFormElement} */ (document.getElementById("arrival"));
const drop = /** @type {HTMLElement} */ (document.getElementById("drop"));
const input = /** @type {HTMLInputElement} */ (document.getElementById("picture"));
const preview = /** @type {HTMLImageElement} */ (document.getElementById("drop-preview"));
const word = /** @type {HTMLElement} */ (document.getElementById("drop-word"));
const fault = /** @type {HTMLElement} */ (document.getElementById("fault"));
const sending = /** @type {HTMLElement} */ (document.getElementById("sending"));

for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("is-over");
  });
}
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) drop.classList.remove("is-over");
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("is-over");
  const files = event.dataTransfer?.files;
  if (!files?.length) return;
  input.files = files;
  showChosen();
});
document.addEventListener("paste", (event) => {
  const files = event.clipboardData?.files;
  if (!files?.length) return;
  input.files = files;
  showChosen();
});
input.addEventListener("change", showChosen);

function showChosen() {
  const file = input.files?.[0];
  if (!file) return;
  if (preview.src) URL.revokeObjectURL(preview.src);
  preview.src = URL.createObjectURL(file);
  preview.hidden = false;
  preview.onerror = () => {
    preview.hidden = true;
  };
  word.textContent = file.name;
  document.getElementById("go")?.focus();
}

form.addEventListener("submit", async (event) => {
  const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
  event.preventDefault();
  sending.hidden = false;
  try {
    const answer = await fetch(button?.getAttribute("formaction") ?? form.action, {
      method: "POST",
      body: new FormData(form),
      credentials: "same-origin",
    });
    if (answer.ok && answer.redirected) {
      location.assign(answer.url);
      return;
    }
    tell(await sentenceOf(answer));
  } catch {
    tell("Firstpiece does not answer; is its window still open?");
  }
});

/** @param {Response} answer */
async function sentenceOf(answer) {
  const text = await answer.text();
  if (!answer.headers.get("content-type")?.includes("html")) return text.trim();
  const page = new DOMParser().parseFromString(text, "text/html");
  return page.querySelector(".wait-line")?.textContent?.trim() || text.slice(0, 200);
}

/** @param {string} sentence */
function tell(sentence) {
  sending.hidden = true;
  fault.textContent = sentence;
  fault.setAttribute("role", "alert");
  fault.scrollIntoView({ block: "nearest" });
}
