// @ts-check
/**
 * The cividis scale: evenly lighter for every eye, colour-blind ones included (Nuñez, Anderton and
 * Renslow 2018, PLOS ONE 13(7) e0199239), at the same stops as the pictures on paper.
 */

const STOPS = [
  [0, 0x00224e], [19, 0x00306f], [21, 0x003170], [23, 0x013271], [28, 0x123570], [34, 0x1e3a6f],
  [52, 0x36466c], [84, 0x565c6d], [126, 0x7b7a78], [147, 0x8f8a78], [179, 0xaea371],
  [205, 0xc9b965], [232, 0xe7d150], [243, 0xf3db42], [251, 0xfde334], [255, 0xfee838],
];

/**
 * @param {number} share 0 to 1
 * @returns {[number, number, number]} red, green, blue from 0 to 255
 */
export function cividis(share) {
  const at = 255 * Math.min(1, Math.max(0, share));
  const k = Math.max(1, STOPS.findIndex(([place]) => place >= at));
  const [[from, low], [to, high]] = [STOPS[k - 1], STOPS[k]];
  const part = (at - from) / (to - from);
  const mixed = (/** @type {number} */ shift) => {
    const [a, b] = [(low >> shift) & 255, (high >> shift) & 255];
    return Math.round(a + part * (b - a));
  };
  return [mixed(16), mixed(8), mixed(0)];
}
