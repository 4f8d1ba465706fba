// @ts-check
/** Small things that every sheet does: take a part anew from the server, copy a message. */

/**
 * Takes one part of the page anew from the server and leaves the rest alone.
 * @param {string} here address of the page
 * @param {string} id
 */
export async function refreshPart(here, id) {
  const answer = await fetch(here, { credentials: "same-origin" });
  if (!answer.ok) return null;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById(id);
  if (!fresh) return null;
  document.getElementById(id)?.replaceWith(fresh);
  wakeCopy();
  return fresh;
}

/** Buttons that copy a message; without a clipboard they stay away. */
export function wakeCopy() {
  if (!navigator.clipboard) return;
  for (const button of document.querySelectorAll("button[data-copy][hidden]")) {
    const { copy, done } = /** @type {HTMLElement} */ (button).dataset;
    button.removeAttribute("hidden");
    button.addEventListener("click", async () => {
      const message = /** @type {HTMLTextAreaElement | null} */ (document.getElementById(copy ?? ""));
      await navigator.clipboard.writeText(message?.value ?? "");
      button.textContent = done ?? "";
    });
  }
}
