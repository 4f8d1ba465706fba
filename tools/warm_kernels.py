"""Compile the kernels once after installing, in two processes, so that the first job is quick.

One process runs a small job, the other draws a few stitches; both write to numba's cache. Called by
``make``; nothing depends on it, since every kernel is also compiled when it is first used.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile


def small_job() -> None:
    """Trace, plan and forecast the demo picture at a small height."""
    from firstpiece.shop.demo_picture import draw_demo_picture
    from firstpiece.shop.prepare import prepare_picture

    prepare_picture(draw_demo_picture(), name="warm", height_mm=40.0)


def small_drawing() -> None:
    """Draw a handful of stitches on the default garment's cloth."""
    import numpy as np

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.stitch import StitchPlan
    from firstpiece.paperwork.sewout_picture import draw_sewout

    cards = CardDrawer()
    setup = cards.setup(cards.default_garment)
    xy = np.array([(x, y) for x in range(4) for y in (0.0, 3.0)])
    plan = StitchPlan(
        xy_mm=xy,
        action=np.zeros(len(xy), dtype=np.uint8),
        thread=np.zeros(len(xy), dtype=np.int16),
        region_id=np.zeros(len(xy), dtype=np.int32),
        role=np.zeros(len(xy), dtype=np.uint8),
        threads=setup.thread.colors[:1],
    )
    draw_sewout(plan, setup=setup, pixels_per_mm=10.0)


def main() -> int:
    """Run both parts side by side; a fault here is told but stops nothing."""
    parts = {"job": small_job, "drawing": small_drawing}
    if len(sys.argv) > 1:
        parts[sys.argv[1]]()
        return 0
    sys.stderr.write("Compiling the kernels; once, about a quarter of a minute.\n")
    with tempfile.TemporaryDirectory() as home:
        environ = {**os.environ, "FIRSTPIECE_HOME": home}
        runs = [subprocess.Popen([sys.executable, __file__, part], env=environ) for part in parts]
        for part, run in zip(parts, runs, strict=True):
            if run.wait():
                sys.stderr.write(f"The {part} part could not be compiled ahead; going on.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
