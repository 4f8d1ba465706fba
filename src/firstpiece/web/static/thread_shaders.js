// @ts-check
/**
 * The programs that draw thread and cloth. A thread is a lit round rod that dips into the cloth at
 * both ends; light comes from the upper left. From behind, bobbin thread lies along each stitch and
 * the top thread shows at its ends, further where the needle turned.
 */

export const TEXTURE_WIDTH = 2048;
/** Share of a stitch at each end where the top thread shows behind: as `thread_use.py` has it. */
export const PULLED_TURN = 0.3333;
export const PULLED_FLAT = 0.1;

export const THREAD_VERTEX = `#version 300 es
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
uniform float u_back;     // 1 when the work is seen from behind
flat out vec2 v_pulled;   // how far the top thread reaches round from either end [mm]
vec4 point(int i) { return texelFetch(u_points, ivec2(i % ${TEXTURE_WIDTH}, i / ${TEXTURE_WIDTH}), 0); }
// A needle that turns sharply draws the top thread round to the back further than one going on.
float pulled(vec2 one, vec2 other, float laid) {
  float turn = dot(normalize(one + 1e-6), normalize(other + 1e-6));
  return mod(laid, 2.0) > 0.5 && turn < -0.5 ? ${PULLED_TURN} : ${PULLED_FLAT};
}
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
  if (u_back > 0.5) {
    vec4 next = point(i + 1);
    vec2 before = i > 1 ? a - point(i - 2).xy : step_mm;
    v_pulled = v_length * vec2(pulled(before, step_mm, point(i - 1).w), pulled(step_mm, next.xy - b.xy, next.w));
  }
  v_color = texelFetch(u_palette, ivec2(int(b.z), 0), 0).rgb;
  gl_Position = vec4((at - u_view.xy) * u_view.zw, 0.0, 1.0);
}`;

export const THREAD_FRAGMENT = `#version 300 es
precision highp float;
uniform float u_half;
uniform float u_scale;    // pixels per mm
in vec2 v_at;
flat in float v_length;
flat in vec2 v_dir;
flat in vec3 v_color;
flat in float v_phase;
flat in vec2 v_pulled;
uniform float u_back;
uniform vec3 u_bobbin;
out vec4 o_color;
void main() {
  // Seen from behind, left and right change places and the light does not.
  float west = 1.0 - 2.0 * u_back;
  vec3 LIGHT = vec3(-0.4364 * west, 0.4364, 0.7868);
  vec3 HALFWAY = vec3(-0.2308 * west, 0.2308, 0.9453);
  bool is_bobbin = u_back > 0.5 && v_at.x > v_pulled.x && v_at.x < v_length - v_pulled.y;
  vec3 dye = is_bobbin ? u_bobbin : v_color;
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
  vec3 color = dye * tone + (dye * 0.6 + 0.4) * glint * 0.18;
  color = pow(clamp(color, 0.0, 1.0), vec3(1.0 / 2.2));
  float alpha = cover + shadow * (1.0 - cover);
  o_color = vec4(color * cover, alpha);
}`;

export const CLOTH_VERTEX = `#version 300 es
precision highp float;
uniform vec4 u_view;
out vec2 v_mm;
void main() {
  vec2 corner = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
  v_mm = corner / u_view.zw + u_view.xy;
  gl_Position = vec4(corner, 0.0, 1.0);
}`;

export const CLOTH_FRAGMENT = `#version 300 es
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
