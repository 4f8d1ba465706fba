// @ts-check
/**
 * Follows a task: server-sent events, or a question every second where they do not get through.
 *
 * @typedef {{status: string, fraction: number, stage: string, fault: string, version?: number}} State
 */

const ENDED = ["done", "failed", "stopped", "interrupted", "idle"];

/**
 * @param {string} here address of the run
 * @param {string} task "prepare", "prices", "fit" or "remedies"
 * @param {(state: State) => void} show called at every change
 * @param {() => void} end called once when the task has ended
 */
export function follow(here, task, show, end) {
  let isOver = false;
  /** @param {State} state */
  const take = (state) => {
    if (isOver) return;
    show(state);
    if (!ENDED.includes(state.status)) return;
    isOver = true;
    source?.close();
    end();
  };
  const source = "EventSource" in window ? new EventSource(`${here}/events?of=${task}`) : null;
  source?.addEventListener("state", (event) => take(JSON.parse(event.data)));
  let misses = 0;
  const poll = async () => {
    if (isOver) return;
    try {
      const answer = await fetch(`${here}/state?of=${task}`, { credentials: "same-origin" });
      if (answer.ok) take(await answer.json());
    } catch {
      // The server may be starting again; ask once more.
    }
    setTimeout(poll, 1000);
  };
  if (!source) poll();
  source?.addEventListener("error", () => {
    misses += 1;
    if (isOver || misses < 3) return;
    source.close();
    poll();
  });
}
