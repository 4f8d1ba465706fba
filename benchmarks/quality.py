"""Print the quality figures of the real input sample, sewn from drawings and from rough pictures.

``python -m benchmarks.quality [--form svg|jpeg|png|both] [--only TEXT] [--every N]
[--heights 60,100,180,250]``
Everything is measured on the written files: see ``figures``. The table is also written as JSON to
``benchmarks/results/``.
"""

from __future__ import annotations

import argparse
import json
import sys
import traceback
from pathlib import Path

import numpy as np

from benchmarks.chain import run_chain
from benchmarks.fault_pictures import draw_faults
from benchmarks.figures import measure
from benchmarks.sample import Design, read_sample
from benchmarks.stitch_raster import read_stitch_list

RESULTS = Path(__file__).resolve().parent / "results"
COLUMNS = (
    ("bare %", "bare_share", 100, "6.2f"),
    ("spots", "spots", 1, "5.0f"),
    ("rim", "spots_with_rim", 1, "4.0f"),
    ("out %", "outside_share", 100, "5.2f"),
    ("color %", "right_color", 100, "7.2f"),
    ("inner %", "right_color_inside", 100, "7.2f"),
    ("short", "short_steps", 1, "5.0f"),
    ("long", "long_steps", 1, "4.0f"),
    ("trims", "trims", 1, "5.0f"),
    ("ties", "ties_within_1mm", 1, "4.0f"),
    ("hole max", "holes_mm2_max", 1, "8.0f"),
    ("h 99%", "holes_mm2_p99", 1, "5.1f"),
    ("layers", "most_layers", 1, "6.0f"),
    ("stitches", "stitches", 1, "8.0f"),
    ("col", "colors", 1, "3.0f"),
)
# What the written files are held to.
LIMITS = {
    "bare_share": 0.03,
    "spots": 0,
    "outside_share": 0.015,
    "short_steps": 0,
    "long_steps": 0,
    "holes_mm2_max": 14,
    "ties_within_1mm": 2,
}
LEAST_RIGHT_COLOR = {"svg": 0.98, "png": 0.98, "jpeg": 0.94}


def measure_design(
    design: Design, form: str, pictures: Path | None, height_mm: float | None = None
) -> dict[str, object]:
    """Return the row of one design, at its own height or another; a failure is a row too."""
    height = design.height_mm if height_mm is None else design.fitting_height(height_mm)
    row: dict[str, object] = {"name": design.name, "form": form, "height_mm": height}
    try:
        data, name = design.picture(form)
        sewn = run_chain(data, name=name, height_mm=height)
        stitches = read_stitch_list(sewn.csv_text, sewn.threads_text)
        measured = measure(stitches, design.svg, height_mm=height)
        row.update(measured.figures.as_dict(), seconds=sewn.seconds)
        if pictures is not None:
            row["pictures"] = draw_faults(measured, pictures, f"{design.name}-{form}")
    except Exception as fault:
        row["failure"] = f"{type(fault).__name__}: {fault}"
        row["where"] = traceback.format_exc().splitlines()[-3].strip()
    return row


def print_row(row: dict[str, object]) -> None:
    head = f"{row['name']!s:24.24} {row['form']!s:4} {row['height_mm']:4.0f}"
    if "failure" in row:
        print(head, "FAILED", str(row["failure"])[:110], flush=True)
        return
    cells = [format(float(str(row[key])) * scale, spec) for _, key, scale, spec in COLUMNS]
    seconds = row["seconds"]
    assert isinstance(seconds, dict)
    print(head, *cells, f"{sum(seconds.values()):6.1f}s", flush=True)


def print_heading() -> None:
    widths = [int(spec.split(".")[0]) for *_, spec in COLUMNS]
    titles = [f"{t:>{w}}"[: max(w, len(t))] for (t, *_), w in zip(COLUMNS, widths, strict=True)]
    print(f"{'design':24} form   mm", *titles, "   time")


def summarise(rows: list[dict[str, object]], form: str) -> dict[str, object]:
    """Return mean, 90 % point and worst of each figure, and how many designs keep each limit."""
    done = [r for r in rows if r["form"] == form and "failure" not in r]
    failed = sum(r["form"] == form and "failure" in r for r in rows)
    summary: dict[str, object] = {"designs": len(done), "failed": failed}
    for _, key, *_ in COLUMNS:
        values = np.array([float(str(r[key])) for r in done])
        if not len(values):
            continue
        bad_is_low = key.startswith("right_color")
        entry = {
            "mean": float(values.mean()),
            "p90": float(np.percentile(values, 10 if bad_is_low else 90)),
            "worst": float(values.min() if bad_is_low else values.max()),
        }
        if key in LIMITS:
            entry["kept"] = float((values <= LIMITS[key]).mean())
        if bad_is_low:
            entry["kept"] = float((values >= LEAST_RIGHT_COLOR[form]).mean())
        summary[key] = entry
    return summary


def print_summary(summary: dict[str, object], form: str) -> None:
    print(f"\n{form}: {summary['designs']} designs, {summary['failed']} failed")
    print(f"{'figure':20} {'mean':>9} {'90 %':>9} {'worst':>9}   designs within the limit")
    for _, key, scale, _ in COLUMNS:
        entry = summary.get(key)
        if not isinstance(entry, dict):
            continue
        limit = LIMITS.get(key, LEAST_RIGHT_COLOR[form] if key.startswith("right") else None)
        values = [f"{entry[k] * scale:9.2f}" for k in ("mean", "p90", "worst")]
        kept = f"{entry['kept']:6.0%} (limit {limit * scale:g})" if limit is not None else ""
        print(f"{key:20}", *values, " ", kept)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--form", default="both", choices=("svg", "jpeg", "png", "both"))
    parser.add_argument("--only", default="", help="designs whose name holds this text")
    parser.add_argument("--every", type=int, default=1, help="take every Nth design")
    parser.add_argument("--heights", default="", help="heights in mm instead of the rotating ones")
    parser.add_argument("--pictures", type=Path, help="folder for crops of the worst places")
    parser.add_argument("--out", type=Path, default=RESULTS / "quality.json")
    asked = parser.parse_args()
    forms = ("svg", "jpeg") if asked.form == "both" else (asked.form,)
    heights = [float(h) for h in asked.heights.split(",")] if asked.heights else [None]
    rows = []
    print_heading()
    for form in forms:
        for design in read_sample(asked.only)[:: asked.every]:
            for height in heights:
                rows.append(measure_design(design, form, asked.pictures, height))
                print_row(rows[-1])
    summaries = {form: summarise(rows, form) for form in forms}
    for form, summary in summaries.items():
        print_summary(summary, form)
    asked.out.parent.mkdir(parents=True, exist_ok=True)
    asked.out.write_text(json.dumps({"rows": rows, "summary": summaries}, indent=1), "utf-8")
    print(f"\nwritten to {asked.out}")
    return 1 if any("failure" in row for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
