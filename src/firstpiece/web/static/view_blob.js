// @ts-check
/**
 * Reads the stitch plan that `view_blob.py` packed (layout "FPV2"; written down there).
 *
 * @typedef {[number, number, number]} Rgb red, green, blue from 0 to 255
 *
 * @typedef {object} Sewing
 * @property {number} count rows of the plan
 * @property {Float32Array} x position of each row, mm, x right
 * @property {Float32Array} y position of each row, mm, y up
 * @property {Int16Array} area number of the area a row belongs to, or -1
 * @property {Uint8Array} thread index into `threads`
 * @property {Uint8Array} marks bit 0: thread lies from the row before to this one; bits 1 and 2: why;
 *   bits 3 to 5: what the machine does
 * @property {Rgb[]} threads
 * @property {number} laidMm width a laid thread covers, mm
 * @property {Rgb} cloth
 * @property {number} weave 0 knit, 1 twill, 2 plain, 3 terry, 4 fleece
 */

const HEADER_BYTES = 32;

/**
 * @param {ArrayBuffer} bytes
 * @returns {Sewing}
 */
export function readViewBlob(bytes) {
  const head = new DataView(bytes);
  if (bytes.byteLength < HEADER_BYTES || head.getUint32(0) !== 0x46505632) {
    throw new Error("these bytes are not a view blob");
  }
  const wide = (head.getUint32(4, true) & 1) === 1;
  const count = head.getUint32(8, true);
  const threadCount = head.getUint32(12, true);
  const unit = head.getFloat32(16, true);
  const Steps = wide ? Int32Array : Int16Array;
  let at = HEADER_BYTES + 4 * threadCount;
  const dx = new Steps(bytes, at, count);
  at += dx.byteLength;
  const dy = new Steps(bytes, at, count);
  at += dy.byteLength;
  const threads = [];
  for (let i = 0; i < threadCount; i++) threads.push(rgb(head.getUint32(HEADER_BYTES + 4 * i, true)));
  return {
    count,
    x: summed(dx, unit),
    y: summed(dy, unit),
    area: new Int16Array(bytes, at, count),
    thread: new Uint8Array(bytes, at + 2 * count, count),
    marks: new Uint8Array(bytes, at + 3 * count, count),
    threads,
    laidMm: head.getFloat32(20, true),
    cloth: rgb(head.getUint32(24, true)),
    weave: head.getUint32(28, true),
  };
}

/**
 * @param {number} code
 * @returns {Rgb}
 */
function rgb(code) {
  return [(code >> 16) & 255, (code >> 8) & 255, code & 255];
}

/**
 * @param {Int16Array | Int32Array} steps
 * @param {number} unit
 */
function summed(steps, unit) {
  const out = new Float32Array(steps.length);
  let sum = 0;
  for (let i = 0; i < steps.length; i++) {
    sum += steps[i];
    out[i] = sum * unit;
  }
  return out;
}
