"""The colour each stitch takes on this cloth: thin layers of light thread let dark cloth through.

Input: a plan, its forecast's layers and a set-up. Output: a colour per row of the plan, for a
picture of the sew-out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.laid_thread import thread_section
from firstpiece.forecasting.show_through import layer_reflectance, linear_rgb

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.forecast import ForecastMap
    from firstpiece.model.material import Setup
    from firstpiece.model.stitch import StitchPlan

MOST_LAYERS = 5


def seen_colors(plan: StitchPlan, layers: ForecastMap, setup: Setup) -> NDArray[np.float64]:
    """Return the colour of the thread that ends at each row of the plan, over what lies below it.

    Parameters
    ----------
    plan : StitchPlan
    layers : ForecastMap
        Threads over each other.
    setup : Setup

    Returns
    -------
    (n, 3) float64
        Linear sRGB.

    Notes
    -----
    A Kubelka–Munk layer as thick as the threads that lie over each other there, all taken for the
    thread's own colour, over the garment. Gaps between stitches are the picture's own.
    """
    cloth = linear_rgb(setup.garment.rgb)
    flattening, scatter = setup.thread.flattening.value, setup.thread.scatter.value
    table = np.zeros((max(1, len(plan.threads)), MOST_LAYERS + 1, 3))
    for index, thread in enumerate(plan.threads):
        mass = thread_section(setup.thread, thread.tex, flattening).layer_mass
        solid = linear_rgb(thread.rgb)
        for deep in range(1, MOST_LAYERS + 1):
            table[index, deep] = layer_reflectance(solid, cloth, scatter * mass * deep)
    before = np.vstack([plan.xy_mm[:1], plan.xy_mm[:-1]])
    count = _layers_at((plan.xy_mm + before) / 2.0, layers)
    colors: NDArray[np.float64] = table[plan.thread, count]
    return colors


def _layers_at(points: NDArray[np.float64], layers: ForecastMap) -> NDArray[np.int64]:
    """Return the threads over each other round places, 1 to the most told apart."""
    rows, cols = layers.values.shape
    col = ((points[:, 0] - layers.left_mm) / layers.pixel_mm).astype(np.int64)
    row = ((layers.top_mm - points[:, 1]) / layers.pixel_mm).astype(np.int64)
    if not rows or not cols:
        return np.ones(len(points), dtype=np.int64)
    found = layers.values[np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)]
    return np.clip(np.rint(found).astype(np.int64), 1, MOST_LAYERS)
