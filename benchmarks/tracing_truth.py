"""What a picture should have become: the drawing's flat colours on a fine grid, and measures on it.

Input: an SVG. Output: pictures of it in every condition, crisp truth labels, and for any traced SVG
its mean overlap per colour, edge distances, uncovered share and node count.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import resvg_py
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from lxml import etree
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab

from benchmarks.art_raster import CSS_PX, find_ground, lay_on_paper, painted_box, render_svg

if TYPE_CHECKING:
    from numpy.typing import NDArray

TRUTH_PX = 1500
MARGIN_SHARE = 0.04
LEAST_SHARE = 0.0004
ALIKE = 3.0
CONDITIONS = ("clean", "jpeg", "wobble", "rough", "rougher", "light")
SVG = "{http://www.w3.org/2000/svg}"
PLAIN_NODES = {"rect": 4, "circle": 4, "ellipse": 4, "line": 2}


@dataclass(frozen=True)
class Truth:
    """Crisp labels (h, w) of a drawing, their colours (k, 3), and how many nodes drew it."""

    svg: str
    labels: NDArray[np.int32]
    rgb: NDArray[np.uint8]
    n_nodes: int


def read_truth(svg: str) -> Truth:
    framed = _framed(svg)
    crisp = framed.replace("<svg ", '<svg shape-rendering="crispEdges" ', 1)
    picture = lay_on_paper(_render(crisp, TRUTH_PX))
    rgb = _flat_colors(picture)
    return Truth(framed, nearest_labels(picture, rgb), rgb, count_nodes(svg))


def _framed(svg: str) -> str:
    """Return the drawing in a new frame: its painted box with a margin."""
    root = etree.fromstring(svg.encode("utf-8"))
    box = root.get("viewBox")
    if box is None:
        size = [re.fullmatch(r"\s*([0-9.eE+-]+)\s*([a-z]*)\s*", root.get(s) or "") for s in
                ("width", "height")]  # fmt: skip
        width, height = (float(m[1]) * CSS_PX[m[2]] for m in size if m)
        root.set("viewBox", f"0 0 {width} {height}")
        left = top = 0.0
    else:
        left, top, width, height = (float(n) for n in box.replace(",", " ").split())
    probe = render_svg(svg, 1000)
    y0, y1, x0, x1 = painted_box(~find_ground(probe)[0])
    unit = width / probe.shape[1]
    margin = MARGIN_SHARE * max(x1 - x0, y1 - y0)
    frame = (left + (x0 - margin) * unit, top + (y0 - margin) * unit,
             (x1 - x0 + 2 * margin) * unit, (y1 - y0 + 2 * margin) * unit)  # fmt: skip
    for name, value in (("x", left), ("y", top), ("width", width), ("height", height)):
        root.set(name, repr(value))
    root.set("preserveAspectRatio", "none")
    inner = etree.tostring(root, encoding="unicode")
    view = " ".join(f"{v:.6f}" for v in frame)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}">{inner}</svg>'


def _render(svg: str, longer_px: int) -> NDArray[np.uint8]:
    """Return (h, w, 4) uint8 of a drawing that begins with its viewBox."""
    found = re.search(r'viewBox="([^"]*)"', svg)
    assert found is not None
    width, height = (float(n) for n in found[1].split()[2:])
    scale = longer_px / max(width, height)
    size = f'width="{round(width * scale)}" height="{round(height * scale)}" '
    sized = svg.replace("<svg ", f'<svg preserveAspectRatio="none" {size}', 1)
    return np.asarray(Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=sized)))))


def _flat_colors(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    codes = picture.astype(np.int64) @ np.array([65536, 256, 1])
    unique, counts = np.unique(codes, return_counts=True)
    order = np.argsort(-counts, kind="stable")
    order = order[counts[order] >= LEAST_SHARE * codes.size]
    kept: list[NDArray[np.uint8]] = []
    for code in unique[order].tolist():
        color = np.array([code >> 16, code >> 8 & 255, code & 255], dtype=np.uint8)
        if not kept or difference(color[None], np.array(kept)).min() >= ALIKE:
            kept.append(color)
    return np.array(kept)


def difference(a: NDArray[np.uint8], b: NDArray[np.uint8]) -> NDArray[np.float64]:
    return deltaE_ciede2000(rgb2lab(a[:, None]), rgb2lab(b[None]))


def nearest_labels(picture: NDArray[np.uint8], rgb: NDArray[np.uint8]) -> NDArray[np.int32]:
    """Return for each pixel the number of the colour nearest to it by CIEDE2000."""
    codes = picture[..., :3].astype(np.int64) @ np.array([65536, 256, 1])
    unique, inverse = np.unique(codes, return_inverse=True)
    colors = np.stack([unique >> 16, unique >> 8 & 255, unique & 255], axis=1).astype(np.uint8)
    nearest = np.concatenate(
        [difference(colors[i : i + 4096], rgb).argmin(axis=1) for i in range(0, len(colors), 4096)]
    )
    return nearest[inverse].reshape(codes.shape).astype(np.int32)


def picture_of(truth: Truth, condition: str, longer_px: int, seed: int) -> NDArray[np.uint8]:
    """Return (h, w, 3) the picture as it arrives."""
    picture = lay_on_paper(_render(truth.svg, longer_px))
    rng = np.random.default_rng([seed, CONDITIONS.index(condition), longer_px])
    unit = longer_px / 1000.0
    if condition == "jpeg":
        return _jpeg(picture, 35)
    if condition == "wobble":
        return _wobble(picture, 3.5 * unit, 12.0 * unit, rng)
    if condition == "rough":
        moved = _wobble(picture, 0.8 * unit, 20.0 * unit, rng)
        return _jpeg(_grainy(moved, 0.8 * max(unit, 0.6), 4.0, rng), 60)
    if condition == "rougher":
        moved = _wobble(picture, 2.0 * unit, 14.0 * unit, rng)
        return _jpeg(_grainy(moved, 1.2 * max(unit, 0.6), 8.0, rng), 35)
    if condition == "light":
        return _jpeg(_grainy(_shade(picture, rng), 0.7 * max(unit, 0.6), 3.0, rng), 80)
    return picture


def _wobble(
    picture: NDArray[np.uint8], rms_px: float, length_px: float, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Move every point by a smooth random field."""
    h, w = picture.shape[:2]
    field = rng.standard_normal((2, h, w)).astype(np.float32)
    shift = np.stack([cv2.GaussianBlur(f, (0, 0), length_px) for f in field])
    shift *= rms_px / np.sqrt((shift**2).mean() * 2.0)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    return cv2.remap(picture, x + shift[0], y + shift[1], cv2.INTER_CUBIC,
                     borderValue=(255, 255, 255))  # fmt: skip


def _grainy(
    picture: NDArray[np.uint8], blur_px: float, codes: float, rng: np.random.Generator
) -> NDArray[np.uint8]:
    blurred = cv2.GaussianBlur(picture, (0, 0), blur_px).astype(np.float32)
    noisy = blurred + codes * rng.standard_normal(blurred.shape).astype(np.float32)
    return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)


def _shade(picture: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Light it from one side with a soft shadow and a warm lamp: 100 % down to about 55 %."""
    h, w = picture.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    angle = rng.uniform(0, 2 * np.pi)
    along = ((x / w - 0.5) * np.cos(angle) + (y / h - 0.5) * np.sin(angle)) / 0.707
    cx, cy = rng.uniform(0.2, 0.8, 2)
    blob = np.exp(-(((x / w - cx) / 0.35) ** 2 + ((y / h - cy) / 0.35) ** 2))
    light = 0.80 + 0.18 * along - 0.10 * blob
    cast = np.array([1.0, 0.97, 0.90], dtype=np.float32)
    linear = (picture.astype(np.float32) / 255.0) ** 2.2 * light[..., None] ** 2.2 * cast
    return np.clip(np.rint(linear ** (1 / 2.2) * 255.0), 0, 255).astype(np.uint8)


def _jpeg(picture: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    buffer = io.BytesIO()
    Image.fromarray(picture).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer).convert("RGB"))


@dataclass(frozen=True)
class Score:
    """Mean overlap per colour, edge distances in % of the longer side, uncovered share in %."""

    iou: float
    edge_mean: float
    edge_p95: float
    uncovered: float


def score_labels(truth: Truth, labels: NDArray[np.int32], uncovered: float = 0.0) -> Score:
    """Return the measures of labels on the truth's grid."""
    ious = []
    for k in range(len(truth.rgb)):
        a, b = truth.labels == k, labels == k
        union = (a | b).sum()
        if a.any():
            ious.append((a & b).sum() / union)
    mean, p95 = _edge_distance(truth.labels, labels)
    return Score(float(np.mean(ious)), mean, p95, uncovered)


def _edges(labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    edge = np.zeros(labels.shape, dtype=bool)
    edge[:, 1:] |= labels[:, 1:] != labels[:, :-1]
    edge[1:] |= labels[1:] != labels[:-1]
    return edge


def _edge_distance(a: NDArray[np.int32], b: NDArray[np.int32]) -> tuple[float, float]:
    """Mean and 95 % point of the distance from each edge pixel to the other's edge, both ways."""
    edges = [_edges(a), _edges(b)]
    if not edges[1].any():
        return 100.0, 100.0
    far = [cv2.distanceTransform((~e).astype(np.uint8), cv2.DIST_L2, 5) for e in edges]
    both = np.concatenate([far[1][edges[0]], far[0][edges[1]]]) / max(a.shape) * 100.0
    return float(both.mean()), float(np.percentile(both, 95))


def score_svg(truth: Truth, svg: str) -> Score:
    """Return the measures of a traced drawing whose viewBox is the picture's frame."""
    crisp = svg.replace("<svg ", '<svg shape-rendering="crispEdges" ', 1)
    h, w = truth.labels.shape
    rgba = _render(crisp, TRUTH_PX)
    if rgba.shape[:2] != (h, w):
        rgba = cv2.resize(rgba, (w, h), interpolation=cv2.INTER_NEAREST)
    inner = rgba[2:-2, 2:-2, 3] < 128
    return score_labels(truth, nearest_labels(lay_on_paper(rgba), truth.rgb), inner.mean() * 100.0)


def count_nodes(svg: str) -> int:
    """Return how many points a drawing's outlines are drawn through."""
    n = 0
    for element in etree.fromstring(svg.encode("utf-8")).iter():
        tag = element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""
        n += PLAIN_NODES.get(tag, 0)
        if tag in ("polygon", "polyline"):
            n += len(re.findall(r"[-\d.eE]+", element.get("points") or "")) // 2
        if tag == "path":
            n += count_path_nodes(element.get("d") or "")
    return n


def count_path_nodes(data: str) -> int:
    pen = RecordingPen()
    try:
        parse_path(data, pen)
    except (ValueError, IndexError):
        return 0
    return sum(op in ("moveTo", "lineTo", "curveTo", "qCurveTo") for op, _ in pen.value)
