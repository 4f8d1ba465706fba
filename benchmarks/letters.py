"""Print how letters sew: A–Z a–z 0–9 & ! ? of four faces of different design at four heights.

``python -m benchmarks.letters [--heights 6,10,15,25] [--only CHARS] [--face TEXT]``
Each letter is planned by itself on the default garment, written as a stitch list and drawn by the
benchmark's own raster. Compensation is left out (pull 0), so that outline and thread can be
compared. ``double`` is the share of the letter over which columns lie twice: triangles of three
needle places in a row tile a plain zigzag exactly once. ``same`` counts letters that keep their
number of columns when the outline wobbles by 0.1 mm. The faces are in the Debian packages
fonts-dejavu-core, fonts-liberation and fonts-urw-base35.
"""

from __future__ import annotations

import argparse
import json
import string
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from benchmarks.chain import CARDS
from benchmarks.figures import crowded_places
from benchmarks.quality import RESULTS
from benchmarks.stitch_raster import PIXEL_MM, Grid, draw_threads, read_stitch_list
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.lettering.font_file import FontFile, glyph_parts, open_font
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Role, StitchPlan, StitchSpec
from firstpiece.planning.satin import satin_stitches
from firstpiece.planning.stage import plan_stitches

if TYPE_CHECKING:
    from numpy.typing import NDArray

LETTERS = string.ascii_uppercase + string.ascii_lowercase + string.digits + "&!?"
HEIGHTS_MM = (6.0, 10.0, 15.0, 25.0)
STUDY_MM = 12.0
FACES = {
    "sans": "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf",
    "serif": "/usr/share/fonts/truetype/liberation/LiberationSerif-Bold.ttf",
    "geometric": "/usr/share/fonts/opentype/urw-base35/URWGothic-Demi.otf",
    "book": "/usr/share/fonts/opentype/urw-base35/C059-Bold.otf",
}
SETUP = CARDS.setup(CARDS.default_garment)
WOBBLE_MM = 0.1
WOBBLE_OVER_MM = 0.4


@dataclass
class LetterFigures:
    """Shares of the letter's area, lengths in mm."""

    letter: str
    covered: float
    outside: float
    gap_mm: float
    double: float
    holes: int
    columns: int
    columns_wobbled: int


def letter_parts(font: FontFile, letter: str, cap_mm: float) -> list[shapely.Polygon]:
    """Return the pieces of a letter at a cap height."""
    glyph = font.shaper.get_nominal_glyph(ord(letter)) or 0
    scale = cap_mm / font.cap_height
    return [p for p in glyph_parts(font, glyph, mm_per_unit=scale) if p.area > 0.01]


def plan_letter(parts: list[shapely.Polygon]) -> tuple[StitchPlan, list[shapely.Polygon]]:
    """Return the plan of one letter without compensation, and its pieces about the origin."""
    x0, y0, x1, y1 = shapely.total_bounds(parts)
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    parts = [shapely.transform(p, lambda xy: xy - middle) for p in parts]
    thread = SETUP.thread.colors[0]
    regions = tuple(Region(k, p, 0) for k, p in enumerate(parts))
    region_map = RegionMap(regions, (ColorMatch(thread.rgb, thread, 0.0),), x1 - x0, y1 - y0)
    specs = {k: StitchSpec(pull_mm=0.0) for k in range(len(parts))}
    return plan_stitches(region_map, setup=SETUP, specs=specs), parts


def measure_letter(letter: str, parts: list[shapely.Polygon]) -> LetterFigures:
    plan, parts = plan_letter(parts)
    stitches = read_stitch_list(write_stitch_csv(plan), write_threads_json(plan))
    half = np.abs(stitches.xy_mm).max(axis=0)
    grid = Grid.around(float(half[0]), float(half[1]), margin_mm=1.5)
    layers, _ = draw_threads(stitches, grid)
    inside = paint(parts, grid)
    bare = inside & (layers == 0)
    deep = cv2.distanceTransform(bare.astype(np.uint8), cv2.DIST_L2, 5) * PIXEL_MM
    area = max(int(inside.sum()), 1)
    return LetterFigures(
        letter=letter,
        covered=1 - float(bare.sum()) / area,
        outside=float(((layers > 0) & ~inside).sum()) / area,
        gap_mm=2 * float(deep.max()),
        double=float((count_triangles(plan, grid) > 1)[inside].sum()) / area,
        holes=crowded_places(stitches.xy_mm[stitches.action == "stitch"])[0],
        columns=count_columns(parts),
        columns_wobbled=count_columns([wobbled(p, ord(letter)) for p in parts]),
    )


def count_columns(parts: list[shapely.Polygon]) -> int:
    width = SETUP.thread.laid_width_mm
    return sum(
        len(
            satin_stitches(
                p, column_spacing_mm=width, pull_mm=-width / 2, longest_stitch_mm=7.5,
                thread_width_mm=width,
            )
        )
        for p in parts
    )  # fmt: skip


def paint(parts: list[shapely.Polygon], grid: Grid) -> NDArray[np.bool_]:
    """Return (h, w) whether a pixel's centre lies in a letter."""
    rows, cols = np.indices(grid.shape)
    x = grid.left_mm + (cols + 0.5) * PIXEL_MM
    y = grid.top_mm - (rows + 0.5) * PIXEL_MM
    inside = np.zeros(grid.shape, bool)
    for part in parts:
        inside |= shapely.contains_xy(part, x, y)
    return inside


def count_triangles(plan: StitchPlan, grid: Grid) -> NDArray[np.uint8]:
    """Return (h, w) how many triangles of three needle places in a row lie over each pixel."""
    count = np.zeros(grid.shape, np.uint8)
    cover = plan.is_stitch & (plan.role == Role.COVER)
    for i in range(len(cover) - 2):
        if not cover[i : i + 3].all():
            continue
        xy = (plan.xy_mm[i : i + 3] - [grid.left_mm, grid.top_mm]) * [1, -1] / PIXEL_MM - 0.5
        one = np.zeros(grid.shape, np.uint8)
        low = np.floor(xy.min(axis=0)).astype(int) - 1
        high = np.ceil(xy.max(axis=0)).astype(int) + 2
        box = np.s_[max(low[1], 0) : high[1], max(low[0], 0) : high[0]]
        one = np.zeros(count[box].shape, np.uint8)
        shrunk = xy + (xy.mean(axis=0) - xy) * 0.12 - np.maximum(low, 0)
        cv2.fillConvexPoly(one, np.rint(shrunk * 256).astype(np.int32), 1, cv2.LINE_8, 8)
        count[box] += one
    return count


def wobbled(polygon: shapely.Polygon, seed: int) -> shapely.Polygon:
    """Return a letter whose outline wobbles by ``WOBBLE_MM`` (root mean square)."""
    chance = np.random.default_rng(seed)

    def ring(line: shapely.LinearRing) -> NDArray[np.float64]:
        n = max(8, int(line.length / 0.1))
        at = shapely.line_interpolate_point(line, np.arange(n) * line.length / n)
        noise = chance.normal(size=(n, 2))
        far = np.minimum(np.arange(n), n - np.arange(n)) * line.length / n
        kernel = np.exp(-0.5 * (far / WOBBLE_OVER_MM) ** 2)
        spectrum = np.fft.rfft(noise, axis=0) * np.fft.rfft(kernel)[:, None]
        smooth = np.fft.irfft(spectrum, n, axis=0)
        return shapely.get_coordinates(at) + WOBBLE_MM * smooth / max(float(smooth.std()), 1e-9)

    whole = shapely.Polygon(ring(polygon.exterior), [ring(r) for r in polygon.interiors]).buffer(0)
    largest = max(shapely.get_parts(whole), key=lambda p: p.area)
    assert isinstance(largest, shapely.Polygon)
    return largest


def summarise(rows: list[LetterFigures]) -> dict[str, float]:
    def of(name: str) -> NDArray[np.float64]:
        return np.array([float(getattr(r, name)) for r in rows])

    return {
        "covered": float(of("covered").mean()),
        "covered, worst": float(of("covered").min()),
        "outside": float(of("outside").mean()),
        "gap mm, worst": float(of("gap_mm").max()),
        "double": float(of("double").mean()),
        "holes/mm2, worst": float(of("holes").max()),
        "columns": float(of("columns").mean()),
        "same when wobbled": float((of("columns") == of("columns_wobbled")).mean()),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--heights", default="6,10,12,15,25")
    parser.add_argument("--only", default=LETTERS, help="letters to take")
    parser.add_argument("--face", default="", help="faces whose name holds this text")
    parser.add_argument("--letters", action="store_true", help="print every letter too")
    asked = parser.parse_args()
    table = {}
    names = ("covered", "worst", "outside", "gap mm", "double", "holes", "columns", "same")
    print(f"{'face':10}{'mm':>4}", *(f"{n:>9}" for n in names))
    for face, path in FACES.items():
        if asked.face not in face:
            continue
        if not Path(path).exists():
            print(face, "is not installed:", path)
            continue
        font = open_font(Path(path).read_bytes())
        for height in (float(h) for h in asked.heights.split(",")):
            rows = [measure_letter(c, letter_parts(font, c, height)) for c in asked.only]
            if asked.letters:
                for r in rows:
                    print(r)
            found = summarise(rows)
            table[f"{face} {height:g} mm"] = found
            print(f"{face:10}{height:4.0f}", *(f"{v:9.4f}" for v in found.values()), flush=True)
    RESULTS.mkdir(parents=True, exist_ok=True)
    (RESULTS / "letters.json").write_text(json.dumps(table, indent=1), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
