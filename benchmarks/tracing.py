"""Print how well pictures become areas: ours, and two general tracers on the same pictures.

Sixty drawings, rasterised at 300, 600 and 1000 px, as they are and roughened; nothing is told
about colours. Ours is traced for 80 mm height. The long run takes about an hour on one core.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from benchmarks.other_tracers import trace_potracer, trace_vtracer
from benchmarks.sample import read_sample
from benchmarks.tracing_truth import (
    CONDITIONS,
    Truth,
    nearest_labels,
    picture_of,
    read_truth,
    score_labels,
    score_svg,
)
from firstpiece.errors import PictureError
from firstpiece.model.artwork import Artwork
from firstpiece.model.region import BARE, TraceOptions
from firstpiece.tracing.pixel_areas import trace_pixels
from firstpiece.tracing.segment import segment_pixels
from firstpiece.tracing.traced import Traced, rgb_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

HEIGHT_MM = 80.0
RESULTS = Path(__file__).resolve().parent / "results"
AIMS = {
    "quantise clean": 0.985, "quantise jpeg": 0.97, "quantise light": 0.88,
    "ours clean": 0.992, "ours wobble": 0.93,
}  # fmt: skip


def trace_ours(picture: NDArray[np.uint8]) -> tuple[Traced, float]:
    h, w = picture.shape[:2]
    clear = np.dstack([picture, np.full((h, w), 255, np.uint8)])
    artwork = Artwork(name="picture", width=float(w), height=float(h), pixels=clear)
    start = time.perf_counter()
    traced = trace_pixels(artwork, HEIGHT_MM, TraceOptions())
    return traced, time.perf_counter() - start


def svg_of(traced: Traced) -> str:
    """Return the areas on paper, in a frame of the picture's own."""
    w, h = traced.size_mm
    body = []
    for face, label in zip(traced.partition.faces, traced.partition.labels.tolist(), strict=True):
        fill = "#ffffff" if label == BARE else "#{:02x}{:02x}{:02x}".format(*traced.colors[label])
        rings = [face.exterior, *face.interiors]
        data = "".join(
            "M" + "L".join(f"{x:.4f},{h - y:.4f}" for x, y in ring.coords[:-1]) + "Z"
            for ring in rings
        )
        body.append(f'<path fill="{fill}" fill-rule="evenodd" d="{data}"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w:.6f} {h:.6f}">'
        + "".join(body)
        + "</svg>"
    )


def seams_of(traced: Traced) -> float:
    """Return overlaps between areas in mm²; 1000 more when edges do not match or gaps open."""
    faces = traced.partition.faces
    union = shapely.coverage_union_all(faces)
    overlap = abs(float(shapely.area(faces).sum()) - union.area)
    return overlap + 1000.0 * (not shapely.coverage_is_valid(faces, gap_width=0.01))


def measure(
    truth: Truth, condition: str, size: int, seed: int, *, others: bool
) -> dict[str, object]:
    picture = picture_of(truth, condition, size, seed)
    row: dict[str, object] = {"condition": condition, "size": size, "original": truth.n_nodes}
    clear = np.dstack([picture, np.full(picture.shape[:2], 255, np.uint8)])
    found = segment_pixels(clear, TraceOptions())
    rgb = np.array([*rgb_of(found.palette), (255, 255, 255)], dtype=np.uint8)
    labels = np.where(found.labels == BARE, len(found.palette), found.labels)
    class_of = nearest_labels(rgb[None], truth.rgb)[0]
    grown = cv2.resize(
        class_of[labels].astype(np.uint8), truth.labels.shape[::-1], interpolation=cv2.INTER_NEAREST
    )
    row["quantise"] = vars(score_labels(truth, grown.astype(np.int32)))
    try:
        traced, seconds = trace_ours(picture)
        row["ours"] = dict(vars(score_svg(truth, svg_of(traced)))) | {
            "nodes": traced.n_nodes,
            "seconds": seconds,
            "seams": seams_of(traced),
        }
        # The paper around is no area of ours; gaps between areas are in the seams.
        del row["ours"]["uncovered"]
    except PictureError as fault:
        row["failure"] = str(fault)
    if others:
        flat = rgb[labels]
        for name, run in (
            ("vtracer", lambda: trace_vtracer(picture)),
            ("vtracer flat", lambda: trace_vtracer(flat)),
            ("potracer", lambda: trace_potracer(labels, rgb)),
        ):
            start = time.perf_counter()
            svg, nodes = run()
            seconds = time.perf_counter() - start
            row[name] = vars(score_svg(truth, svg)) | {"nodes": nodes, "seconds": seconds}
    return row


def summarise(rows: list[dict[str, object]]) -> list[dict[str, object]]:
    lines = []
    keys = sorted({(str(r["condition"]), int(str(r["size"]))) for r in rows},
                  key=lambda k: (k[1], CONDITIONS.index(k[0])))  # fmt: skip
    for condition, size in keys:
        own = [r for r in rows if (r["condition"], r["size"]) == (condition, size)]
        for who in ("quantise", "ours", "vtracer", "vtracer flat", "potracer"):
            found = [r[who] for r in own if isinstance(r.get(who), dict)]
            if not found:
                continue
            mean = {k: float(np.mean([f[k] for f in found])) for k in found[0]}
            lines.append({"condition": condition, "size": size, "who": who, "n": len(found),
                          "worst": min(f["iou"] for f in found), **mean})  # fmt: skip
    return lines


COLUMNS = (
    ("IoU", "iou", "6.4f"),
    ("worst", "worst", "6.3f"),
    ("edge %", "edge_mean", "6.3f"),
    ("95 %", "edge_p95", "6.2f"),
    ("nodes", "nodes", "6.0f"),
    ("gaps %", "uncovered", "7.4f"),
    ("seams", "seams", "7.5f"),
    ("s", "seconds", "6.2f"),
)


def print_table(rows: list[dict[str, object]]) -> None:
    titles = [f"{title:>{spec.split('.')[0]}}" for title, _key, spec in COLUMNS]
    print(f"{'px':>5} {'picture':8} {'who':13} {'n':>3}", *titles, " aim")
    for line in summarise(rows):
        aim = AIMS.get(f"{line['who']} {line['condition']}", "") if line["size"] == 1000 else ""
        cells = [
            f"{line[key]:{spec}}" if key in line else " " * int(spec.split(".")[0])
            for _title, key, spec in COLUMNS
        ]
        head = f"{line['size']:5d} {line['condition']:8} {line['who']:13} {line['n']:3d}"
        print(head, *cells, "", aim)
    print(f"original drawings: {np.mean([int(str(r['original'])) for r in rows]):.0f} nodes")
    for row in rows:
        if "failure" in row:
            print("failed:", row["name"], row["condition"], row["size"], row["failure"])


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--sizes", default="300,600,1000")
    parser.add_argument("--conditions", default=",".join(CONDITIONS))
    parser.add_argument("--only", default="", help="drawings whose name holds this text")
    parser.add_argument("--every", type=int, default=1, help="take every Nth drawing")
    parser.add_argument("--ours", action="store_true", help="leave the other tracers out")
    parser.add_argument("--each", action="store_true", help="print each drawing's figures")
    asked = parser.parse_args()
    rows = []
    for design in read_sample(asked.only)[:: asked.every]:
        truth = read_truth(design.svg)
        for size in map(int, asked.sizes.split(",")):
            for condition in asked.conditions.split(","):
                row = measure(truth, condition, size, design.index, others=not asked.ours)
                rows.append(row | {"name": design.name})
                if asked.each:
                    done = {w: round(row[w]["iou"], 4) for w in ("quantise", "ours") if w in row}
                    ours = row.get("ours", {})
                    print(f"{design.name:24}", size, condition, done, ours.get("nodes"),
                          truth.n_nodes, f"{ours.get('seconds', 0):.2f}", flush=True)  # fmt: skip
    print_table(rows)
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "tracing.json").write_text(json.dumps(rows, indent=1, default=str), "utf-8")
    return 1 if any("failure" in row for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
