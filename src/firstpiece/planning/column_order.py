"""The order in which the columns of one shape are sewn, and from which end.

In: strips with their junctions, and one column each. Out: columns; those that butt on another are
sewn before it, and each begins as near as can be to where the last one ended.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.geometry.strips import Strip
    from firstpiece.planning.satin_column import SatinColumn

# Columns looked at over all trials; many columns get few trials.
_MOST_WALKED = 60
# Holes sewn again where a ring closes: its first stitch and the next two.
_SEAM = 3


def order_columns(
    strips: Sequence[Strip], columns: Sequence[SatinColumn]
) -> tuple[SatinColumn, ...]:
    """Return the columns in sewing order, turned round where that shortens the way.

    Parameters
    ----------
    strips, columns : sequence of Strip, sequence of SatinColumn
        One column per strip.

    Notes
    -----
    Nearest end first, tried from every column that may come first while they are few; the
    shortest way wins, and of equal ways the first found.
    """
    if not columns:
        return ()
    crossing = {j: i for i, strip in enumerate(strips) for j in strip.crosses}
    waits = [
        {i for i, s in enumerate(strips) if i != k and _butts_on(s, k, crossing)}
        for k in range(len(strips))
    ]
    first = [i for i in range(len(columns)) if not waits[i]] or list(range(len(columns)))
    most = max(_MOST_WALKED // len(columns), 1)
    starts = [(i, turn) for i in first[:most] for turn in (False, True)]
    ways = [_walk(start, columns, waits) for start in starts]
    return min(ways, key=lambda way: round(way[0], 6))[1]


def _butts_on(strip: Strip, target: int, crossing: dict[int, int]) -> bool:
    return any(crossing.get(end.junction) == target for end in (strip.start, strip.end))


def _walk(
    start: tuple[int, bool], columns: Sequence[SatinColumn], waits: Sequence[set[int]]
) -> tuple[float, tuple[SatinColumn, ...]]:
    """Return the length of the way between columns, and the columns, from a given first one."""
    pick, turn = start
    left = set(range(len(columns)))
    sewn: list[SatinColumn] = []
    total = 0.0
    while True:
        here = sewn[-1].points_mm[-1] if sewn else None
        sewn.append(_placed(columns[pick], here, turned=turn))
        left.remove(pick)
        if not left:
            return total, tuple(sewn)
        free = sorted(i for i in left if not waits[i] & left)
        # Columns can wait for each other in a circle; then the rule gives way.
        distance, pick, turn = _nearest(sewn[-1].points_mm[-1], free or sorted(left), columns)
        total += distance


def _nearest(
    here: NDArray[np.float64], free: Sequence[int], columns: Sequence[SatinColumn]
) -> tuple[float, int, bool]:
    """Return the way to the nearest column, which it is, and whether to turn it round."""
    ends = np.array([columns[i].points_mm[[0, -1]] for i in free])
    gap = np.hypot(*(ends - here).transpose(2, 0, 1))
    for row, i in enumerate(free):
        if columns[i].is_closed:
            gap[row] = np.hypot(*(columns[i].points_mm - here).T).min()
    at = int(np.argmin(gap))
    return float(gap.flat[at]), free[at // 2], at % 2 == 1


def _placed(column: SatinColumn, here: NDArray[np.float64] | None, *, turned: bool) -> SatinColumn:
    """Return the column sewn from its other end, or a ring begun at the hole nearest here."""
    if not column.is_closed:
        return _turned(column) if turned else column
    points = column.points_mm
    if here is None or len(points) < 8 or not np.allclose(points[-_SEAM:], points[:_SEAM]):
        return column
    cycle, axis = column.points_mm[:-_SEAM], column.axis_mm[:-1]
    at = int(np.argmin(np.hypot(*(cycle - here).T)))
    near = int(np.argmin(np.hypot(*(axis - cycle[at]).T)))
    cycle, axis = np.roll(cycle, -at, axis=0), np.roll(axis, -near, axis=0)
    widths = np.roll(column.widths_mm[:-1], -near)
    return replace(
        column,
        points_mm=np.concatenate([cycle, cycle[:_SEAM]]),
        axis_mm=np.concatenate([axis, axis[:1]]),
        widths_mm=np.concatenate([widths, widths[:1]]),
    )


def _turned(column: SatinColumn) -> SatinColumn:
    return replace(
        column,
        points_mm=column.points_mm[::-1],
        axis_mm=column.axis_mm[::-1],
        widths_mm=column.widths_mm[::-1],
    )
