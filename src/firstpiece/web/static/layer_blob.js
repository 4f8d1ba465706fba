// @ts-check
/**
 * Reads the forecast maps that `layer_blob.py` packed (layout "FPL1"; written down there).
 *
 * @typedef {object} Layer
 * @property {string} name
 * @property {string} unit
 * @property {number} rows
 * @property {number} cols
 * @property {number} left mm
 * @property {number} top mm
 * @property {number} cell mm
 * @property {number} low
 * @property {number} high
 * @property {Uint8Array} codes 0 says nothing, 1 to 255 run from low to high
 */

const HEAD_BYTES = 48;

/**
 * @param {ArrayBuffer} bytes
 * @returns {Layer[]}
 */
export function readLayerBlob(bytes) {
  const head = new DataView(bytes);
  if (bytes.byteLength < 8 || head.getUint32(0) !== 0x46504c31) throw new Error("these bytes are no forecast maps");
  const count = head.getUint32(4, true);
  const text = (/** @type {number} */ at, /** @type {number} */ length) =>
    new TextDecoder().decode(new Uint8Array(bytes, at, length)).trim();
  const layers = [];
  let at = 8 + HEAD_BYTES * count;
  for (let i = 0; i < count; i++) {
    const own = 8 + HEAD_BYTES * i;
    const [rows, cols] = [head.getUint32(own + 20, true), head.getUint32(own + 24, true)];
    const [left, top, cell, low, high] = [28, 32, 36, 40, 44].map((o) => head.getFloat32(own + o, true));
    const codes = new Uint8Array(bytes, at, rows * cols);
    layers.push({ name: text(own, 12), unit: text(own + 12, 8), rows, cols, left, top, cell, low, high, codes });
    at += rows * cols;
  }
  return layers;
}

/**
 * @param {Layer} layer
 * @param {number} x mm
 * @param {number} y mm
 * @returns {number | null} the value there, or null where the map says nothing
 */
export function valueAt(layer, x, y) {
  const col = Math.floor((x - layer.left) / layer.cell);
  const row = Math.floor((layer.top - y) / layer.cell);
  if (col < 0 || row < 0 || col >= layer.cols || row >= layer.rows) return null;
  const code = layer.codes[row * layer.cols + col];
  return code === 0 ? null : layer.low + ((code - 1) / 254) * (layer.high - layer.low);
}
