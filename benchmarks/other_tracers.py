"""Two general tracers on the same pictures, as a yardstick: each gives an SVG in its frame.

They find no colours of their own worth the name, so they are also handed our flat label map.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import potrace
import vtracer

from benchmarks.tracing_truth import count_path_nodes

if TYPE_CHECKING:
    from numpy.typing import NDArray


def trace_vtracer(picture: NDArray[np.uint8]) -> tuple[str, int]:
    """Return the SVG and its nodes: curves, stacked, its own settings otherwise."""
    h, w = picture.shape[:2]
    rgba = np.dstack([picture, np.full((h, w), 255, np.uint8)]).reshape(-1, 4)
    svg = vtracer.convert_pixels_to_svg(
        [tuple(p) for p in rgba.tolist()], (w, h), mode="spline", hierarchical="stacked"
    )
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}">'
    body = svg[svg.index("<path") :] if "<path" in svg else "</svg>"
    nodes = sum(count_path_nodes(d) for d in re.findall(r' d="([^"]*)"', body))
    return head + body, nodes


def trace_potracer(labels: NDArray[np.int32], rgb: NDArray[np.uint8]) -> tuple[str, int]:
    """Return the SVG and its nodes: each colour by itself, with the tracer's own settings."""
    h, w = labels.shape
    body, nodes = [], 0
    for k, color in enumerate(rgb.tolist()):
        mask = labels == k
        if not mask.any():
            continue
        parts = []
        for curve in potrace.Bitmap(~mask).trace():
            parts.append(f"M{_xy(curve.start_point)}")
            nodes += 1
            for segment in curve.segments:
                if segment.is_corner:
                    parts.append(f"L{_xy(segment.c)}L{_xy(segment.end_point)}")
                    nodes += 2
                else:
                    parts.append(f"C{_xy(segment.c1)} {_xy(segment.c2)} {_xy(segment.end_point)}")
                    nodes += 1
            parts.append("Z")
        fill = "#{:02x}{:02x}{:02x}".format(*color)
        body.append(f'<path fill="{fill}" fill-rule="evenodd" d="{"".join(parts)}"/>')
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}">'
    return head + "".join(body) + "</svg>", nodes


def _xy(point: potrace.Point) -> str:
    return f"{point.x:.4f},{point.y:.4f}"
