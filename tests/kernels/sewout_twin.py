"""The slow obvious twin of the sew-out kernels: whole picture at once, plain numpy, no tiles.

Written from the description of the picture, sample by sample arrays over the whole canvas, with
vectors where the kernels use scalars. Constants are the kernels' own: they are choices, not sums.
"""

import numpy as np
from scipy.ndimage import uniform_filter

from firstpiece.kernels import cloth_texture as cloth
from firstpiece.kernels import relief_light as relief
from firstpiece.kernels import thread_laying as laying
from firstpiece.kernels import thread_light as picture
from firstpiece.kernels import thread_sheen as sheen

LIGHT = np.array([sheen.LIGHT_X, sheen.LIGHT_Y, sheen.LIGHT_Z])


def hash_unit(i, j, salt):
    """32-bit mixing of three integers, in Python's unbounded integers."""
    i, j = np.broadcast_arrays(np.asarray(i), np.asarray(j))
    out = np.empty(i.shape)
    for at in np.ndindex(i.shape):
        h = ((int(i[at]) % 2**32) * 0x9E3779B1) % 2**32
        h ^= ((int(j[at]) % 2**32) * 0x85EBCA77) % 2**32
        h ^= (salt * 0xC2B2AE3D) % 2**32
        h ^= h >> 15
        h = (h * 0x2C1B3C6D) % 2**32
        h ^= h >> 12
        h = (h * 0x297A2D39) % 2**32
        h ^= h >> 15
        out[at] = h / 2**32
    return out


def value_noise(x, y, salt):
    i, j = np.floor(x).astype(int), np.floor(y).astype(int)
    u, v = x - i, y - j
    u, v = u * u * (3 - 2 * u), v * v * (3 - 2 * v)
    corner = [[hash_unit(i + a, j + b, salt) for b in (0, 1)] for a in (0, 1)]
    return (
        corner[0][0] * (1 - u) * (1 - v)
        + corner[1][0] * u * (1 - v)
        + corner[0][1] * (1 - u) * v
        + corner[1][1] * u * v
    )


def knit(x, y):
    x = x + 0.10 * (value_noise(x * 0.55, y * 0.55, 11) - 0.5)
    wale = np.floor(x / cloth.WALE_MM)
    s = x / cloth.WALE_MM - wale - 0.5
    side = 2 * np.abs(s)
    t = y / cloth.COURSE_MM - 0.95 * side + 0.24 * hash_unit(wale, 0 * wale, 12)
    course = np.floor(t)
    f = t - course - 0.5
    leg = 1 - 1.9 * f**2 - 3.0 * (side - 0.47 + 0.30 * f) ** 2
    return np.maximum(leg, 0) * (0.90 + 0.2 * hash_unit(2 * wale + (s > 0), course, 13))


def twill(x, y):
    dx, dy = (0.09 * (value_noise(x * 0.4, y * 0.25, salt) - 0.5) for salt in (21, 22))
    # The second noise is taken where the first has moved the point to.
    dy = 0.09 * (value_noise((x + dx) * 0.4, y * 0.25, 22) - 0.5)
    x, y = x + dx, y + dy
    end = np.floor(x / cloth.TWILL_END_MM)
    fx = x / cloth.TWILL_END_MM - end - 0.5
    t = y / (3 * cloth.TWILL_PICK_MM) - end / 3
    step = np.floor(t)
    f = t - step
    over = 1 - 2.2 * fx**2 - 0.55 * ((f - 0.36) / 0.40) ** 2
    under = 0.52 - 0.20 * ((f - 0.89) / 0.14) ** 2 - 0.4 * fx**2
    yarn = 0.90 + 0.12 * hash_unit(end, 0 * end, 23) + 0.08 * hash_unit(end, step, 24)
    return np.maximum(np.where(f < 0.78, over, under), 0) * yarn


def plain(x, y):
    x = x + 0.16 * (value_noise(x * 0.3, y * 0.2, 31) - 0.5)
    y = y + 0.16 * (value_noise(x * 0.2, y * 0.3, 32) - 0.5)
    i, j = np.floor(x / cloth.PLAIN_YARN_MM), np.floor(y / cloth.PLAIN_YARN_MM)
    fx, fy = x / cloth.PLAIN_YARN_MM - i - 0.5, y / cloth.PLAIN_YARN_MM - j - 0.5
    warp = (i + j) % 2 == 0
    across, along = np.where(warp, fx, fy), np.where(warp, fy, fx)
    crown = np.maximum(1 - 3.3 * across**2 - 1.7 * along**2, 0)
    yarn = np.where(warp, hash_unit(i, 0 * i, 33), hash_unit(0 * j, j, 34))
    return crown * (0.88 + 0.22 * yarn)


def tufts(x, y, pitch, salt):
    i0, j0 = np.floor(x / pitch), np.floor(y / pitch)
    best = np.zeros(x.shape)
    for di in (-1, 0, 1):
        for dj in (-1, 0, 1):
            i, j = i0 + di, j0 + dj
            cx = (i + 0.5 + 0.7 * (hash_unit(i, j, salt) - 0.5)) * pitch
            cy = (j + 0.5 + 0.7 * (hash_unit(i, j, salt + 1) - 0.5)) * pitch
            turn = 6.2832 * hash_unit(i, j, salt + 2)
            along = ((x - cx) * np.cos(turn) + (y - cy) * np.sin(turn)) / (0.95 * pitch)
            across = ((y - cy) * np.cos(turn) - (x - cx) * np.sin(turn)) / pitch
            bend = across - 0.42 * along**2 + 0.14
            strand = (2.2 * along + 2 * bend) % 1
            q = np.maximum(1 - along**2, 0)
            crown = (1 - bend**2 / 0.050) * (0.15 + 0.85 * np.sqrt(q))
            crown = crown * (0.86 + 0.56 * strand * (1 - strand))
            crown = crown * (0.62 + 0.4 * hash_unit(i, j, salt + 3))
            best = np.where(q > 0, np.maximum(best, crown), best)
    return best


def fleece(x, y):
    soft = value_noise(x / 0.9, y / 1.1, 51)
    fine = value_noise(x / 0.16, y / 0.16, 56)
    return 0.48 * soft + 0.22 * tufts(x, y, cloth.PILE_MM, 52) + 0.30 * fine


def cloth_heights(weave, x, y, coarseness):
    x, y = x / coarseness, y / coarseness
    draw = {
        cloth.KNIT: knit,
        cloth.TWILL: twill,
        cloth.PLAIN: plain,
        cloth.TERRY: lambda a, b: tufts(a, b, cloth.LOOP_MM, 41),
        cloth.FLEECE: fleece,
    }
    return draw[weave](x, y)


def lay_all(laid, x, y):
    """Which piece is on top at each sample, where across and along it, how high."""
    which = np.full(x.shape, -1)
    across, along = np.zeros(x.shape), np.zeros(x.shape)
    height = np.full(x.shape, -1e3)
    for k, (x0, y0, x1, y1) in enumerate(laid.ends_mm):
        length = np.hypot(x1 - x0, y1 - y0)
        tx, ty = (x1 - x0) / length, (y1 - y0) / length
        v = (x - x0) * tx + (y - y0) * ty
        u = (y - y0) * tx - (x - x0) * ty
        to_end = np.minimum(v, length - v)
        cap = np.clip((laying.TAPER_MM - to_end) / (laying.TAPER_MM + laying.CAP_MM), 0, 1)
        wide = laid.half_mm[k] * np.sqrt(1 - cap**2)
        inside = (to_end >= -laying.CAP_MM) & (np.abs(u) < wide)
        share = np.divide(u, wide, out=np.zeros_like(u), where=inside)
        dive = np.clip(1 - np.maximum(to_end, 0) / laying.DIP_LENGTH_MM, 0, 1)
        axis = laid.arch_mm[k] * (1 - (2 * v / length - 1) ** 2) - laying.DIP_MM * dive**2
        z = laid.rest_mm[k] + axis + laying.CROWN_MM * np.sqrt(1 - share**2)
        on_top = inside & (z > height - laying.OVER_MM)
        which[on_top], across[on_top], along[on_top] = k, share[on_top], v[on_top]
        height[on_top] = z[on_top]
    return which, across, along, height


def dents(laid, radius, x, y):
    dent = np.zeros(x.shape)
    for px, py in laid.ends_mm.reshape(-1, 2):
        f = np.maximum(1 - ((x - px) ** 2 + (y - py) ** 2) / radius**2, 0)
        dent = np.maximum(dent, f**2)
    return dent


def dimness(height, step):
    """Sky left in hollows times what shadows leave."""
    reach = max(1, int(relief.HOLLOW_MM / step))
    hollow = uniform_filter(height, 2 * reach + 1, mode="nearest") - height
    sky = np.minimum(1.10, 1 / np.maximum(0.4, 1 + relief.HOLLOW_DIM * hollow))
    worst = np.full(height.shape, -1.0)
    for far in relief.SHADOW_STEPS_MM:
        shift = round(0.7071 * far / step)
        towards_light = np.roll(height, (shift, shift), axis=(0, 1))
        rise = towards_light - height - far * relief.SHADOW_TAN
        worst = np.maximum(worst, rise / (0.05 + 0.25 * far))
    return sky * (1 - relief.SHADOW_DIM * np.clip(worst + 0.2, 0, 1))


def cloth_light(height, bare, dent, dim, ground, step):
    def neighbour(rows, cols):
        moved = np.roll(height, (rows, cols), axis=(0, 1))
        return np.where(np.roll(bare, (rows, cols), axis=(0, 1)), moved, height)

    gx = (neighbour(0, -1) - neighbour(0, 1)) / (2 * step)
    gy = (neighbour(1, 0) - neighbour(-1, 0)) / (2 * step)
    normal = np.stack([-gx, -gy, np.ones_like(gx)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    facing = np.maximum(normal @ LIGHT, 0) / sheen.LIGHT_Z
    lit = (0.42 + 0.58 * facing) * dim * (1 - 0.30 * dent) / ground.mean_light
    return lit[..., None] * np.array([ground.red, ground.green, ground.blue])


def thread_light(axis, half, arch, at, seed):
    """Own colour and white sent to the eye by points ``at`` = (across, along) of one piece."""
    across, along = at
    length = np.hypot(*axis)
    tangent = np.array([axis[0], axis[1], 0.0]) / length
    left = np.array([-tangent[1], tangent[0], 0.0])
    up = np.array([0.0, 0.0, 1.0])
    slope = -4 * arch * (2 * along / length - 1) / length
    to_end = np.minimum(along, length - along)
    dive = np.clip(1 - np.maximum(to_end, 0) / laying.DIP_LENGTH_MM, 0, 1)
    dive = 2 * laying.DIP_MM * dive / laying.DIP_LENGTH_MM
    slope = slope + np.where(along < length - along, dive, -dive)
    crown = np.sqrt(1 - across**2)
    side = laying.CROWN_MM / half * across / np.maximum(crown, 0.3)
    normal = side[:, None] * left - slope[:, None] * tangent + up
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    facing = np.maximum(normal @ LIGHT, 0)
    phase = (along / sheen.PLY_MM + 0.42 * across + hash_unit(seed, 0, 3)) % 1
    groove = (2 * phase - 1) ** 4
    strand = np.floor((across + 1 + 1.5 * along / sheen.PLY_MM) * sheen.FILAMENTS)
    fleck = hash_unit(seed, strand, 4) - 0.5
    lean = sheen.PLY_LEAN * (1 - 0.6 * groove) + 0.30 * fleck
    fibre = tangent + lean[:, None] * left + (slope + 0.16 * fleck)[:, None] * up
    fibre /= np.linalg.norm(fibre, axis=1, keepdims=True)
    to_light, to_eye = fibre @ LIGHT, fibre @ up
    # sin·sin − cos·cos = −cos(sum): 1 where eye and light mirror each other in the fibre.
    mirror = np.maximum(-np.cos(np.arccos(to_light) + np.arccos(to_eye)), 0)
    own = (0.40 + 0.44 * facing + 0.60 * mirror**8 * facing) * (1 - 0.34 * groove)
    own = own * (0.74 + 0.26 * crown) * (1 + 0.16 * fleck)
    own = own * (1 + 0.12 * (hash_unit(seed, 1, 5) - 0.5)) * sheen.THREAD_LEVEL
    return own, mirror**24 * facing * crown


def draw_slowly(laid, linear_rgb, seeds, ground, canvas):
    step = canvas.pixel_mm / canvas.n_sub
    edge = int(relief.REACH_MM / step) + 6
    rows = np.arange(-edge, canvas.n_rows * canvas.n_sub + edge)
    cols = np.arange(-edge, canvas.n_cols * canvas.n_sub + edge)
    x, y = np.meshgrid(canvas.left_mm + (cols + 0.5) * step, canvas.top_mm - (rows + 0.5) * step)
    which, across, along, height = lay_all(laid, x, y)
    bare = which < 0
    dent = dents(laid, ground.dimple_mm, x, y)
    yarn = cloth_heights(ground.weave, x, y, ground.coarseness) - 1
    height = np.where(bare, ground.relief_mm * yarn - 0.16 * dent, height)
    dim = dimness(height, step)
    light = cloth_light(height, bare, dent, dim, ground, step)
    for k in np.unique(which[~bare]):
        here = which == k
        x0, y0, x1, y1 = laid.ends_mm[k]
        own, white = thread_light((x1 - x0, y1 - y0), laid.half_mm[k], laid.arch_mm[k],
            (across[here], along[here]), seeds[k])  # fmt: skip
        luminance = linear_rgb[k] @ (0.2126, 0.7152, 0.0722)
        own, white = own + 0.20 * white, (0.016 + 0.08 * luminance) * white
        light[here] = (own[:, None] * linear_rgb[k] + white[:, None]) * dim[here][:, None]
    inner = light[edge:-edge, edge:-edge]
    pixels = inner.reshape(canvas.n_rows, canvas.n_sub, canvas.n_cols, canvas.n_sub, 3)
    return encode(pixels.mean(axis=(1, 3)))


def encode(linear):
    """Ease bright colours and write sRGB codes (IEC 61966-2-1)."""
    peak = linear.max(axis=-1, keepdims=True)
    room = 1 - picture.SHOULDER
    eased = picture.SHOULDER + room * (1 - np.exp((picture.SHOULDER - peak) / room))
    eased = np.where(peak <= picture.SHOULDER, peak, eased)
    ratio = np.divide(eased, peak, out=np.zeros_like(peak), where=peak > 0)
    v = np.clip(linear * ratio + 0.14 * (peak - eased), 0, 1)
    v = np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)
    return (v * 255 + 0.5).astype(np.uint8)


def rest_heights_slowly(ends, half, corner, cell, shape):
    """Heights on a grid kept as a dictionary from cell to height."""
    top = {}

    def cell_of(point):
        row, col = (int((point[1] - corner[1]) / cell), int((point[0] - corner[0]) / cell))
        return (row, col) if 0 <= row < shape[0] and 0 <= col < shape[1] else None

    rest = []
    for (x0, y0, x1, y1), h in zip(ends, half, strict=True):
        first, last = np.array([x0, y0]), np.array([x1, y1])
        length = np.hypot(x1 - x0, y1 - y0)
        n = int(length / cell) + 2
        middle = [cell_of(first + f * (last - first)) for f in 0.2 + 0.6 * np.arange(n) / (n - 1)]
        met = [top.get(c, 0.0) for c in middle if c is not None]
        rest.append(sum(met) / len(met) if met else 0.0)
        raised = rest[-1] + laying.LAYER_MM * np.exp(-rest[-1] / laying.STACK_MM)
        normal = np.array([y0 - y1, x1 - x0]) / length
        for f in np.arange(n) / (n - 1):
            for side in (-0.6 * h, 0.0, 0.6 * h):
                c = cell_of(first + f * (last - first) + side * normal)
                if c is not None:
                    top[c] = max(top.get(c, 0.0), raised)
    return np.array(rest)
