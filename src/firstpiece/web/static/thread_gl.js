// @ts-check
/**
 * Paints a sewing with WebGL2 into its own hidden canvas, a few thousand stitches at a time.
 *
 * Each stitch is a quad whose corners the vertex shader works out from a texture of needle points,
 * drawn in sewing order so that later thread lies on top. A thread is a lit round rod that dips into
 * the cloth at both ends; light comes from the upper left.
 *
 * @typedef {import("./view_blob.js").Sewing} Sewing
 * @typedef {{cx: number, cy: number, scale: number, width: number, height: number}} View
 *   centre in mm, device pixels per mm, size in device pixels
 */

const TEXTURE_WIDTH = 2048;
const CHUNK = 1024;

const THREAD_VERTEX = `#version 300 es
precision highp float;
precision highp int;
uniform highp sampler2D u_points;
uniform highp sampler2D u_palette;
uniform vec4 u_view;      // centre x, y [mm]; clip units per mm
uniform float u_half;     // half the laid width [mm]
uniform float u_reach;    // how far the quad reaches beyond the thread, in half widths
uniform int u_first;
out vec2 v_at;            // along [mm], across [half widths]
flat out float v_length;
flat out vec2 v_dir;
flat out vec3 v_color;
flat out float v_phase;  // where in its twist this stitch begins
vec4 point(int i) { return texelFetch(u_points, ivec2(i % ${TEXTURE_WIDTH}, i / ${TEXTURE_WIDTH}), 0); }
void main() {
  int i = u_first + gl_VertexID / 6;
  int corner = gl_VertexID % 6;
  vec4 b = point(i);
  if (i == 0 || mod(b.w, 2.0) < 0.5) { gl_Position = vec4(2.0, 2.0, 0.0, 1.0); return; }
  vec2 a = point(i - 1).xy;
  vec2 step_mm = b.xy - a;
  v_length = length(step_mm);
  v_dir = v_length > 1e-4 ? step_mm / v_length : vec2(1.0, 0.0);
  bool far = corner == 1 || corner == 2 || corner == 4;
  float side = (corner == 2 || corner == 4 || corner == 5) ? 1.0 : -1.0;
  float reach = u_half * u_reach;
  float along = far ? v_length + reach : -reach;
  vec2 at = a + v_dir * along + vec2(-v_dir.y, v_dir.x) * side * reach;
  v_at = vec2(along, side * u_reach);
  v_phase = fract(sin(float(i) * 78.233) * 43758.5453);
  v_color = texelFetch(u_palette, ivec2(int(b.z), 0), 0).rgb;
  gl_Position = vec4((at - u_view.xy) * u_view.zw, 0.0, 1.0);
}`;

const THREAD_FRAGMENT = `#version 300 es
precision highp float;
uniform float u_half;
uniform float u_scale;    // pixels per mm
in vec2 v_at;
flat in float v_length;
flat in vec2 v_dir;
flat in vec3 v_color;
flat in float v_phase;
out vec4 o_color;
const vec3 LIGHT = vec3(-0.4364, 0.4364, 0.7868);
const vec3 HALFWAY = vec3(-0.2308, 0.2308, 0.9453);
void main() {
  float beyond = (v_at.x < 0.0 ? -v_at.x : max(0.0, v_at.x - v_length)) / u_half;
  float d = length(vec2(beyond, v_at.y));
  float half_px = u_half * u_scale;
  float cover = clamp((1.0 - d) * half_px + 0.5, 0.0, 1.0);
  vec2 across = vec2(-v_dir.y, v_dir.x) * sign(v_at.y);
  float shade = clamp(1.0 - (d - 1.0) / 0.7, 0.0, 1.0) * clamp(0.25 - dot(across, LIGHT.xy), 0.0, 1.0);
  float shadow = (1.0 - cover) * shade * 0.5 * smoothstep(1.0, 3.0, half_px);
  if (cover + shadow < 0.01) discard;
  float s = clamp(v_at.y, -1.0, 1.0);
  // The rod bends down into the hole at each end; a short stitch is all bend.
  float bend = min(0.5, v_length * 0.5);
  float from_end = min(v_at.x, v_length - v_at.x);
  float dip = 1.0 - smoothstep(-u_half, bend, from_end);
  float tilt = 0.5 * dip * dip * (v_at.x * 2.0 < v_length ? 1.0 : -1.0);
  vec3 tangent = normalize(vec3(v_dir, tilt));
  vec3 side = vec3(-v_dir.y, v_dir.x, 0.0);
  vec3 up = cross(tangent, side);
  vec3 normal = side * s + up * sqrt(max(0.0, 1.0 - s * s));
  float lit = max(dot(normal, LIGHT), 0.0);
  float th = dot(tangent, HALFWAY);
  float sheen = pow(max(0.0, 1.0 - th * th), 14.0);
  float glint = pow(max(dot(normal, HALFWAY), 0.0), 18.0) * sheen;
  // Two plies twisted together, each of fine filaments that lie along the twist.
  float turn = v_phase + v_at.x / 0.9 + 0.30 * asin(s);
  float near = smoothstep(8.0, 26.0, u_scale);
  float ply = abs(sin(3.1416 * turn));
  float groove = 1.0 - 0.30 * near * (1.0 - smoothstep(0.0, 0.42, ply));
  float lane = floor(turn * 14.0 + s * 2.0);
  float filament = 1.0 + 0.10 * smoothstep(18.0, 45.0, u_scale) * (fract(sin(lane * 12.9898) * 43758.5453) - 0.5);
  float tone = (0.42 + 0.76 * lit + 0.16 * sheen) * groove * filament * (1.0 - 0.24 * dip * dip);
  vec3 color = v_color * tone + (v_color * 0.6 + 0.4) * glint * 0.18;
  color = pow(clamp(color, 0.0, 1.0), vec3(1.0 / 2.2));
  float alpha = cover + shadow * (1.0 - cover);
  o_color = vec4(color * cover, alpha);
}`;

const CLOTH_VERTEX = `#version 300 es
precision highp float;
uniform vec4 u_view;
out vec2 v_mm;
void main() {
  vec2 corner = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
  v_mm = corner / u_view.zw + u_view.xy;
  gl_Position = vec4(corner, 0.0, 1.0);
}`;

const CLOTH_FRAGMENT = `#version 300 es
precision highp float;
uniform vec3 u_cloth;
uniform int u_weave;
uniform float u_scale;
in vec2 v_mm;
out vec4 o_color;
float grain(vec2 p) { return fract(sin(dot(p, vec2(127.1, 311.7))) * 43758.5453); }
float cloud(vec2 p) {
  vec2 i = floor(p), f = fract(p);
  f = f * f * (3.0 - 2.0 * f);
  return mix(mix(grain(i), grain(i + vec2(1, 0)), f.x), mix(grain(i + vec2(0, 1)), grain(i + vec2(1, 1)), f.x), f.y);
}
// Each weave gives a height from -1 to 1; cell is the size of its repeat in mm.
float weave(vec2 p, out float cell) {
  if (u_weave == 0) {
    cell = 0.8;
    vec2 q = p / vec2(0.8, 0.62);
    float leg = abs(fract(q.x) - 0.5) * 2.0;
    float loop_ = sin(6.2832 * (q.y + leg * 0.55));
    return 0.6 * loop_ + 0.4 * cos(6.2832 * q.x * 2.0);
  }
  if (u_weave == 1) {
    cell = 0.7;
    float rib = sin(6.2832 * (p.x + p.y) / 0.7);
    return 0.75 * rib + 0.25 * sin(6.2832 * (p.x - p.y) / 0.35);
  }
  if (u_weave == 2) {
    cell = 0.6;
    vec2 q = p / 0.6;
    return sin(6.2832 * q.x) * sin(6.2832 * q.y);
  }
  cell = u_weave == 3 ? 1.3 : 0.9;
  return (cloud(p / cell * 1.6) + 0.6 * cloud(p / cell * 4.0) - 0.8) * 1.4;
}
void main() {
  float cell;
  float height = weave(v_mm, cell);
  float seen = smoothstep(2.5, 9.0, cell * u_scale);
  float unevenness = cloud(v_mm * 0.35) - 0.5;
  vec3 color = u_cloth * (1.0 + 0.15 * height * seen + 0.05 * unevenness + 0.025 * (grain(floor(v_mm * 14.0)) - 0.5) * seen);
  color += 0.012 * height * seen;
  o_color = vec4(pow(clamp(color, 0.0, 1.0), vec3(1.0 / 2.2)), 1.0);
}`;

export class GlPainter {
  /**
   * @param {Sewing} sewing
   */
  constructor(sewing) {
    this.sewing = sewing;
    this.canvas = document.createElement("canvas");
    this.isLost = false;
    const gl = this.canvas.getContext("webgl2", {
      alpha: false,
      antialias: false,
      depth: false,
      preserveDrawingBuffer: true,
    });
    if (!gl) throw new Error("no WebGL2");
    this.gl = gl;
    this.chunks = chunkBoxes(sewing);
    this.next = 0;
    /** @type {View} */
    this.view = { cx: 0, cy: 0, scale: 1, width: 1, height: 1 };
    /** @type {() => void} called when the picture must be painted anew */
    this.onRestored = () => {};
    this.canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.isLost = true;
    });
    this.canvas.addEventListener("webglcontextrestored", () => {
      this.build();
      this.isLost = false;
      this.onRestored();
    });
    this.build();
  }

  /** Makes programs and textures; also called again after the context was lost. */
  build() {
    const { gl, sewing } = this;
    this.thread = program(gl, THREAD_VERTEX, THREAD_FRAGMENT);
    this.cloth = program(gl, CLOTH_VERTEX, CLOTH_FRAGMENT);
    gl.bindVertexArray(gl.createVertexArray());
    const rows = Math.max(1, Math.ceil(sewing.count / TEXTURE_WIDTH));
    const points = new Float32Array(rows * TEXTURE_WIDTH * 4);
    for (let i = 0; i < sewing.count; i++) {
      points.set([sewing.x[i], sewing.y[i], sewing.thread[i], sewing.marks[i]], 4 * i);
    }
    texture(gl, 0, TEXTURE_WIDTH, rows, points);
    const palette = new Float32Array(Math.max(1, sewing.threads.length) * 4);
    sewing.threads.forEach((rgb, i) => palette.set(linear(rgb), 4 * i));
    texture(gl, 1, Math.max(1, sewing.threads.length), 1, palette);
  }

  /**
   * Begins a picture: paints the cloth and forgets the one before.
   * @param {View} view
   */
  start(view) {
    const { gl, canvas } = this;
    this.view = view;
    this.next = 0;
    if (canvas.width !== view.width || canvas.height !== view.height) {
      canvas.width = view.width;
      canvas.height = view.height;
    }
    gl.viewport(0, 0, view.width, view.height);
    gl.disable(gl.BLEND);
    this.use(this.cloth);
    const cloth = linear(this.sewing.cloth);
    gl.uniform3f(this.place("u_cloth"), cloth[0], cloth[1], cloth[2]);
    gl.uniform1i(this.place("u_weave"), this.sewing.weave);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    this.use(this.thread);
    const half = Math.max(this.sewing.laidMm / 2, 0.6 / view.scale);
    gl.uniform1f(this.place("u_half"), half);
    gl.uniform1f(this.place("u_reach"), half * view.scale < 1.2 ? 1.0 + 0.6 / (half * view.scale) : 1.7);
    gl.uniform1i(this.place("u_points"), 0);
    gl.uniform1i(this.place("u_palette"), 1);
  }

  /**
   * Paints on until the time is used up; true when the picture is whole.
   * @param {number} budgetMs
   */
  step(budgetMs) {
    const { gl, view } = this;
    const until = performance.now() + budgetMs;
    const pixel = new Uint8Array(4);
    const first = this.place("u_first");
    while (this.next < this.chunks.length && !this.isLost) {
      const chunk = this.chunks[this.next++];
      if (!meets(chunk.box, view)) continue;
      gl.uniform1i(first, chunk.first);
      gl.drawArrays(gl.TRIANGLES, 0, chunk.count * 6);
      // Without this the driver queues everything and the time budget means nothing.
      gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
      if (performance.now() > until) break;
    }
    return this.next >= this.chunks.length;
  }

  /** @param {WebGLProgram | undefined} chosen */
  use(chosen) {
    const { gl, view } = this;
    this.current = chosen;
    gl.useProgram(chosen ?? null);
    gl.uniform4f(this.place("u_view"), view.cx, view.cy, (2 * view.scale) / view.width, (2 * view.scale) / view.height);
    gl.uniform1f(this.place("u_scale"), view.scale);
  }

  /** @param {string} name */
  place(name) {
    return this.current ? this.gl.getUniformLocation(this.current, name) : null;
  }
}

/**
 * @param {Sewing} sewing
 * @returns {{first: number, count: number, box: [number, number, number, number]}[]}
 */
export function chunkBoxes(sewing) {
  const chunks = [];
  for (let first = 0; first < sewing.count; first += CHUNK) {
    const count = Math.min(CHUNK, sewing.count - first);
    let [left, bottom, right, top] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let i = Math.max(0, first - 1); i < first + count; i++) {
      left = Math.min(left, sewing.x[i]);
      right = Math.max(right, sewing.x[i]);
      bottom = Math.min(bottom, sewing.y[i]);
      top = Math.max(top, sewing.y[i]);
    }
    chunks.push({ first, count, box: /** @type {[number, number, number, number]} */ ([left, bottom, right, top]) });
  }
  return chunks;
}

/**
 * @param {[number, number, number, number]} box
 * @param {View} view
 */
export function meets(box, view) {
  const w = view.width / view.scale / 2 + 1;
  const h = view.height / view.scale / 2 + 1;
  return box[0] < view.cx + w && box[2] > view.cx - w && box[1] < view.cy + h && box[3] > view.cy - h;
}

/**
 * @param {import("./view_blob.js").Rgb} rgb
 * @returns {[number, number, number, number]}
 */
function linear(rgb) {
  return [(rgb[0] / 255) ** 2.2, (rgb[1] / 255) ** 2.2, (rgb[2] / 255) ** 2.2, 1];
}

/**
 * @param {WebGL2RenderingContext} gl
 * @param {string} vertex
 * @param {string} fragment
 */
function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, source] of /** @type {[number, string][]} */ ([
    [gl.VERTEX_SHADER, vertex],
    [gl.FRAGMENT_SHADER, fragment],
  ])) {
    const shader = gl.createShader(kind);
    if (!shader) throw new Error("no shader");
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) {
    throw new Error(gl.getProgramInfoLog(made) || "the shaders do not link");
  }
  return made;
}

/**
 * @param {WebGL2RenderingContext} gl
 * @param {number} unit
 * @param {number} width
 * @param {number} height
 * @param {Float32Array} values
 */
function texture(gl, unit, width, height, values) {
  gl.activeTexture(gl.TEXTURE0 + unit);
  gl.bindTexture(gl.TEXTURE_2D, gl.createTexture());
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA32F, width, height, 0, gl.RGBA, gl.FLOAT, values);
}
