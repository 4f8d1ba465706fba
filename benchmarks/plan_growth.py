"""Print how long planning takes against the number of stitches, with the power it grows by.

``python -m benchmarks.plan_growth [--largest 500000]`` lays out copies of one drawing's areas
(fills, columns and lines with the overlaps of real art) side by side on an ever larger field, plans
them warm, and fits processor time (planning uses one core) against stitches.
Aims: 66,000 stitches in 2 s, 500,000 in 15 s, and no more than n log n.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import time

import numpy as np
import shapely

from benchmarks.chain import CARDS
from benchmarks.quality import RESULTS
from benchmarks.sample import read_sample
from firstpiece.files.picture import read_artwork
from firstpiece.model.region import Region, RegionMap
from firstpiece.planning.stage import plan_stitches
from firstpiece.tracing.stage import trace_artwork

DRAWING = "recreation-03"
AIMS = {66_000: 2.0, 500_000: 15.0}
REPEATS = 3


def tiled(region_map: RegionMap, count: int) -> RegionMap:
    """Return ``count`` copies of a design in a square field."""
    side = math.ceil(math.sqrt(count))
    regions = []
    for k in range(count):
        shift = np.array([k % side, k // side]) * [region_map.width_mm, region_map.height_mm] * 1.05
        for region in region_map.sewn_regions:
            polygon = shapely.transform(region.polygon, lambda xy, shift=shift: xy + shift)
            regions.append(Region(len(regions), polygon, region.color_index))
    size = side * 1.05 * np.array([region_map.width_mm, region_map.height_mm])
    middle = size / 2
    centred = [
        Region(r.id, shapely.transform(r.polygon, lambda xy: xy - middle), r.color_index)
        for r in regions
    ]
    return RegionMap(tuple(centred), region_map.matches, float(size[0]), float(size[1]))


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--largest", type=int, default=500_000)
    asked = parser.parse_args()
    setup = CARDS.setup(CARDS.default_garment)
    design = read_sample(DRAWING)[0]
    data, name = design.picture("svg")
    artwork = read_artwork(data, name=name)
    one = trace_artwork(artwork, height_mm=60.0, rack=setup.thread.colors)
    per_copy = plan_stitches(one, setup=setup).n_stitches
    sizes, seconds = [], []
    print(f"{'stitches':>9}{'areas':>7}{'seconds':>9}{'µs/stitch':>11}")
    for wanted in (8_000, 16_000, 33_000, 66_000, 130_000, 260_000, 500_000):
        if wanted > asked.largest:
            break
        field = tiled(one, math.ceil(wanted / per_copy))
        times = []
        for _ in range(REPEATS if wanted <= 130_000 else 1):
            begin = time.process_time()
            plan = plan_stitches(field, setup=setup)
            times.append(time.process_time() - begin)
        sizes.append(plan.n_stitches)
        seconds.append(min(times))
        row = (plan.n_stitches, len(field.regions), seconds[-1], 1e6 * seconds[-1] / sizes[-1])
        print(f"{row[0]:9}{row[1]:7}{row[2]:9.2f}{row[3]:11.1f}", flush=True)
    power = float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
    n_log_n = float(np.polyfit(np.log(sizes), np.log(np.array(sizes) * np.log(sizes)), 1)[0])
    print(f"grows by the power {power:.2f}; n log n would by {n_log_n:.2f}")
    for stitches, aim in AIMS.items():
        if stitches <= max(sizes) * 1.1:
            at = float(np.exp(np.interp(np.log(stitches), np.log(sizes), np.log(seconds))))
            verdict = "within" if at <= aim else "OVER"
            print(f"{stitches:7} stitches: {at:6.2f} s   {verdict} {aim:g} s")
    RESULTS.mkdir(parents=True, exist_ok=True)
    table = {"stitches": sizes, "seconds": seconds, "power": power}
    (RESULTS / "plan_growth.json").write_text(json.dumps(table, indent=1), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
