"""Paper and programs: seconds for proof and run sheet, scale on paper, speed of every way out.

    python -m benchmarks.papers

Times are processor time, the best of several warm runs, because other work on the same computer
lengthens the clock's. Aims: proof and run sheet 0.5 s, 500,000 stitches written in 1 s by each way
out, 5 million records read a second, 0.1 mm on a printed ruler of 100 mm (counted in pdftoppm's
pixels).
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from importlib.resources import files as package_files
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.motion_program import write_motion_program
from firstpiece.files.pdf import write_pdf
from firstpiece.files.record_layout import read_layout
from firstpiece.files.record_program import write_program
from firstpiece.files.record_reading import read_program
from firstpiece.files.stitch_table import write_stitch_csv
from firstpiece.files.thread_runs_svg import write_runs_svg
from firstpiece.model.material import ThreadColor
from firstpiece.model.paper import PaperJob
from firstpiece.model.paper_details import SizeRow
from firstpiece.model.stitch import Action, StitchPlan
from firstpiece.paperwork.proof import draw_proof
from firstpiece.paperwork.run_sheet import draw_run_sheet
from firstpiece.paperwork.template import draw_templates
from firstpiece.shop.demo_picture import draw_demo_picture
from firstpiece.shop.prepare import prepare_picture

if TYPE_CHECKING:
    from collections.abc import Callable

N_STITCHES = 500_000
MOST_PAPER_S, MOST_WRITE_S, LEAST_RECORDS, MOST_SCALE_MM = 0.5, 1.0, 5e6, 0.1
SCALE_DPI = 600


def best_of(work: Callable[[], object], n: int = 5) -> float:
    """Return the least processor seconds of several runs, the first one not counted."""
    work()
    seconds = []
    for _ in range(n):
        start = time.process_time()
        work()
        seconds.append(time.process_time() - start)
    return min(seconds)


def demo_job() -> PaperJob:
    prepared = prepare_picture(draw_demo_picture(), name="demo", height_mm=90.0)
    return PaperJob(
        title="Windfall Row",
        region_map=prepared.region_map,
        plan=prepared.plan,
        forecast=prepared.forecast,
        setup=prepared.setup,
        metrics=read_font_metrics(),
        quotes=(prepared.quote,),
        findings=prepared.findings,
        sizes=(SizeRow("S", 2), SizeRow("M", 6), SizeRow("XL", 4)),
    )


def long_plan() -> StitchPlan:
    """Return a plan of many stitches of usual lengths, with a trim every 3000."""
    rng = np.random.default_rng(7)
    xy = np.cumsum(rng.normal(0.0, 1.2, (N_STITCHES, 2)), axis=0) % 200.0 - 100.0
    action = np.full(N_STITCHES, int(Action.STITCH), dtype=np.uint8)
    action[::3000] = Action.JUMP
    action[2999::3000] = Action.TRIM
    action[-1] = Action.END
    zeros = np.zeros(N_STITCHES, dtype=np.int32)
    thread = ThreadColor("leaf green", (47, 115, 53), 26.7)
    return StitchPlan(xy, action, zeros.astype(np.int16), zeros, zeros.astype(np.uint8), (thread,))


def ruler_errors(data: bytes) -> list[float]:
    """Return how far each page's printed 100 mm is off [mm], counted in pdftoppm's pixels."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "in.pdf").write_bytes(data)
        command = ["pdftoppm", "-r", str(SCALE_DPI), "-gray", "in.pdf", "page"]
        subprocess.run(command, cwd=folder, check=True)
        Image.MAX_IMAGE_PIXELS = None
        pages = [np.array(Image.open(p)) for p in sorted(Path(folder).glob("page*.pgm"))]
    wanted = 100.0 / 25.4 * SCALE_DPI
    errors = []
    for pixels in pages:
        lengths = [run for row in pixels < 100 for run in long_runs(row, 0.9 * wanted)]
        near = [n for n in lengths if abs(n - wanted) < 0.02 * wanted]
        if near:
            # The line ends in the outer edges of its two end marks, 0.15 mm wide.
            errors.append((max(near) - wanted) / SCALE_DPI * 25.4 - 0.15)
    return errors


def long_runs(row: np.ndarray, least: float) -> list[int]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
    lengths = edges[1::2] - edges[0::2]
    return [int(n) for n in lengths if n > least]


def main() -> int:
    ok = True

    def tell(what: str, value: float, unit: str, *, aim: float, at_most: bool = True) -> None:
        nonlocal ok
        good = value <= aim if at_most else value >= aim
        ok &= good
        print(f"{what:<44}{value:>10.3f} {unit:<12}aim {aim:g}{'' if good else '   MISSED'}")

    job = demo_job()
    papers = best_of(lambda: (write_pdf(draw_proof(job)), write_pdf(draw_run_sheet(job))))
    tell("proof and run sheet as PDF", papers, "s", aim=MOST_PAPER_S)
    if shutil.which("pdftoppm"):
        errors = ruler_errors(write_pdf(draw_proof(job))) + ruler_errors(
            write_pdf(draw_templates(job))
        )
        print(f"{'rulers measured':<44}{len(errors):>10d}")
        tell("worst error of 100 mm on paper", max(map(abs, errors)), "mm", aim=MOST_SCALE_MM)
    plan = long_plan()
    ways = {"stitch list": write_stitch_csv, "motion program": write_motion_program,
            "SVG": write_runs_svg}  # fmt: skip
    for name, write in ways.items():
        tell(f"{N_STITCHES:,} rows as {name}", best_of(lambda w=write: w(plan), 2), "s",
             aim=MOST_WRITE_S)  # fmt: skip
    for path in sorted(Path(str(package_files("firstpiece") / "data" / "layouts")).glob("*.toml")):
        layout = read_layout(path.read_text("utf-8"), name=path.stem)
        data = write_program(plan, layout)
        seconds = best_of(lambda la=layout: write_program(plan, la), 2)
        tell(f"{N_STITCHES:,} rows as {path.stem}", seconds, "s", aim=MOST_WRITE_S)
        n_records = len(read_program(data, layout).action)
        seconds = best_of(lambda d=data, la=layout: read_program(d, la), 2)
        tell(f"{path.stem} read", n_records / seconds / 1e6, "million/s", aim=LEAST_RECORDS / 1e6,
             at_most=False)  # fmt: skip
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
