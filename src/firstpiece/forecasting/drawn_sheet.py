"""The sheet drawn together by its thread: in the hoop, then with the hoop off and backing trimmed.

Input: a thread layer and the sheet's stiffness. Output: displacements of the raster's nodes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from firstpiece.forecasting.cloth_sheet import backing_moduli, cloth_moduli, stiffened
from firstpiece.forecasting.hoop_sheet import factor_sheet
from firstpiece.kernels.membrane import centre_strains, free_strain_forces

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.cloth_sheet import SheetStiffness
    from firstpiece.forecasting.hoop_sheet import HoopGrid
    from firstpiece.forecasting.thread_layer import ThreadLayer
    from firstpiece.model.material import Setup

# Backing left round the stitches when the rest is cut or torn away.
TRIMMED_TO_MM = 5.0
# Share of the most thread in an element from which one counts as sewn.
LEAST_THREAD = 1e-6


def draw_together(
    layer: ThreadLayer, setup: Setup, sheet: SheetStiffness
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return displacements per batch in the hoop (k, 2n), the change on release (2n,), strains."""
    grid = layer.grid
    thread, force = layer.layers()
    loads = free_strain_forces(grid.nodes_mm, grid.quads, force)
    cloth = np.broadcast_to(cloth_moduli(sheet), thread.shape)
    backing = backing_moduli(sheet)
    is_held = np.repeat(grid.is_held, 2)
    moved = factor_sheet(
        grid.nodes_mm, grid.quads, cloth + backing + thread, is_held
    ).displacements(loads)
    strains = centre_strains(grid.nodes_mm, grid.quads, moved.sum(axis=0))
    harder = stiffened(setup.fabric, _largest_stretch(strains))
    if harder.max() > 1.05:
        cloth = cloth * harder[:, None, None]
        moved = factor_sheet(
            grid.nodes_mm, grid.quads, cloth + backing + thread, is_held
        ).displacements(loads)
    kept = _near_thread(thread, grid)[:, None, None]
    off = _released(grid, cloth + backing * kept + thread, loads.sum(axis=0))
    strains = centre_strains(grid.nodes_mm, grid.quads, off)
    change = off - moved.sum(axis=0)
    return moved, _without_drift(change, grid, thread), strains


def _largest_stretch(strains: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (m,) the larger principal strain of each element."""
    mean, half = (strains[:, 0] + strains[:, 1]) / 2, (strains[:, 0] - strains[:, 1]) / 2
    stretch: NDArray[np.float64] = np.asarray(mean + np.hypot(half, strains[:, 2] / 2))
    return stretch


def _sewn(thread: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return (m,) bool: elements with thread; what only touches a corner by rounding is none."""
    along = thread[:, 0, 0] + thread[:, 1, 1]
    has: NDArray[np.bool_] = along > LEAST_THREAD * float(along.max(initial=0.0))
    return has & (along > 0.0)


def _near_thread(thread: NDArray[np.float64], grid: HoopGrid) -> NDArray[np.bool_]:
    """Return the elements whose backing stays when the rest is cut or torn away."""
    has_thread = _sewn(thread).reshape(grid.rows, grid.cols)
    if not has_thread.any():
        return np.ones(len(thread), dtype=bool)
    away: NDArray[np.float64] = ndimage.distance_transform_edt(~has_thread) * grid.cell_mm
    near: NDArray[np.bool_] = (away <= max(TRIMMED_TO_MM, grid.cell_mm)).reshape(-1)
    return near


def _released(
    grid: HoopGrid, moduli: NDArray[np.float64], load: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return (2n,) displacements with the hoop off: held only against drifting and turning."""
    is_held = np.zeros(2 * len(grid.nodes_mm), dtype=bool)
    middle = (grid.rows // 2) * (grid.cols + 1) + grid.cols // 2
    is_held[[2 * middle, 2 * middle + 1, 2 * (middle + grid.cols // 2 - 1) + 1]] = True
    sheet = factor_sheet(grid.nodes_mm, grid.quads, moduli, is_held)
    off: NDArray[np.float64] = sheet.displacements(load[None])[0]
    return off


def _without_drift(
    change: NDArray[np.float64], grid: HoopGrid, thread: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Take the best fitting shift and turn of the sewn nodes out of a displacement."""
    sewn = np.unique(grid.quads[_sewn(thread)])
    moved = change.reshape(-1, 2)
    if not len(sewn):
        return change
    centre = grid.nodes_mm[sewn].mean(axis=0)
    shift = moved[sewn].mean(axis=0)
    arm = grid.nodes_mm - centre
    rest = moved[sewn] - shift
    own = arm[sewn]
    turn = float((own[:, 0] * rest[:, 1] - own[:, 1] * rest[:, 0]).sum() / (own**2).sum())
    still = moved - shift - turn * np.column_stack([-arm[:, 1], arm[:, 0]])
    return np.asarray(still.reshape(-1), dtype=np.float64)
