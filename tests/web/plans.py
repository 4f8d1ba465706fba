"""Small hand-made plans and set-ups for the tests of the local page."""

from __future__ import annotations

import numpy as np

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.stitch import Action, Role, StitchPlan

DRAWER = CardDrawer()


def setup_on(garment: str = "apron-natural"):
    return DRAWER.setup(garment)


def plan_of(xy_mm, action, *, thread=None, threads=None) -> StitchPlan:
    n = len(xy_mm)
    palette = threads or setup_on().thread.colors[:2]
    return StitchPlan(
        xy_mm=np.asarray(xy_mm, dtype=np.float64).reshape(n, 2),
        action=np.asarray(action, dtype=np.uint8),
        thread=np.zeros(n, np.int16) if thread is None else np.asarray(thread, np.int16),
        region_id=np.zeros(n, np.int32),
        role=np.full(n, Role.COVER, np.uint8),
        threads=tuple(palette),
    )


def striped_plan(n_rows: int = 40, width_mm: float = 30.0) -> StitchPlan:
    """Two filled squares in two colours, rows 0.4 mm apart, with a trim between them."""
    rows = []
    for k in range(2):
        left = (k - 1) * (width_mm + 2.0)
        points = []
        for i in range(n_rows):
            x = left + np.linspace(0, width_mm, 9)
            y = np.full(9, (i - n_rows / 2) * 0.4)
            points.append(np.column_stack([x if i % 2 else x[::-1], y]))
        block = np.vstack(points)
        start = Action.COLOR_CHANGE if k else Action.JUMP
        rows += [(*block[0], start, k), *((x, y, Action.STITCH, k) for x, y in block)]
        rows.append((*block[-1], Action.TRIM, k))
    rows.append((*rows[-1][:2], Action.END, 1))
    table = np.array(rows, dtype=np.float64)
    return plan_of(table[:, :2], table[:, 2], thread=table[:, 3])
