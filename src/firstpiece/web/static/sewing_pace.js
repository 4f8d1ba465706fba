// @ts-check
/**
 * When each row is sewn: the forecast's own speed law, applied row by row.
 *
 * @typedef {{top_speed: number, speed_constant: number, trim_s: number, color_change_s: number, start_s: number}} Pace
 */

export const ACTION = { stitch: 0, jump: 1, trim: 2, change: 3, stop: 4, end: 5 };

/**
 * @param {import("./view_blob.js").Sewing} sewing
 * @param {number} row
 */
export function actionOf(sewing, row) {
  return (sewing.marks[row] >> 3) & 7;
}

/**
 * @param {import("./view_blob.js").Sewing} sewing
 * @param {Pace} pace
 * @returns {Float32Array} seconds at which each row is done
 */
export function rowTimes(sewing, pace) {
  const times = new Float32Array(sewing.count);
  let now = 0;
  let isAtRest = true;
  for (let i = 0; i < sewing.count; i++) {
    const action = actionOf(sewing, i);
    if (action === ACTION.stitch || action === ACTION.jump) {
      const length = i ? Math.hypot(sewing.x[i] - sewing.x[i - 1], sewing.y[i] - sewing.y[i - 1]) : 0;
      now += Math.max(60 / pace.top_speed, (60 * Math.sqrt(length)) / pace.speed_constant);
    }
    if (action === ACTION.stitch && isAtRest) {
      now += pace.start_s;
      isAtRest = false;
    }
    if (action === ACTION.trim) now += pace.trim_s;
    if (action === ACTION.change) now += pace.color_change_s;
    if (action === ACTION.trim || action === ACTION.change || action === ACTION.stop) isAtRest = true;
    times[i] = now;
  }
  return times;
}

/**
 * @param {Float32Array} times
 * @param {number} seconds
 * @returns {number} rows done by then
 */
export function rowsAt(times, seconds) {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= seconds) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * @param {number} seconds
 * @returns {string} minutes and seconds, 2:05
 */
export function clock(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
