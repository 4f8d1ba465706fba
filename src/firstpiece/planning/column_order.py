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

    from firstpiece.geometry.strips import Strip
    from firstpiece.planning.satin_column import SatinColumn


def order_columns(
    strips: Sequence[Strip], columns: Sequence[SatinColumn]
) -> tuple[SatinColumn, ...]:
    """Return the columns in sewing order, turned round where that shortens the way.

    Parameters
    ----------
    strips, columns : sequence of Strip, sequence of SatinColumn
        One column per strip.
    """
    crossing = {j: i for i, strip in enumerate(strips) for j in strip.crosses}
    waits = [
        {i for i, s in enumerate(strips) if i != k and _butts_on(s, k, crossing)}
        for k in range(len(strips))
    ]
    left = set(range(len(columns)))
    sewn: list[SatinColumn] = []
    while left:
        free = sorted(i for i in left if not waits[i] & left)
        # Columns can wait for each other in a circle; then the longest waiting rule gives way.
        pick, turn = _nearest(free or sorted(left), columns, sewn)
        sewn.append(_turned(columns[pick]) if turn else columns[pick])
        left.remove(pick)
    return tuple(sewn)


def _butts_on(strip: Strip, target: int, crossing: dict[int, int]) -> bool:
    return any(crossing.get(end.junction) == target for end in (strip.start, strip.end))


def _nearest(
    free: Sequence[int], columns: Sequence[SatinColumn], sewn: Sequence[SatinColumn]
) -> tuple[int, bool]:
    """Return the column to sew next and whether to turn it round."""
    if not sewn:
        # Reading order: the column that begins farthest left and highest.
        start = min(free, key=lambda i: (columns[i].points_mm @ np.array([1.0, -0.5])).min())
        first, last = columns[start].points_mm[[0, -1]]
        return start, bool(first @ np.array([1.0, -0.5]) > last @ np.array([1.0, -0.5]))
    here = sewn[-1].points_mm[-1]
    options = [
        (float(np.hypot(*(columns[i].points_mm[at] - here))), i, at == -1)
        for i in free
        for at in (0, -1)
    ]
    _, pick, turn = min(options)
    return pick, turn


def _turned(column: SatinColumn) -> SatinColumn:
    return replace(
        column,
        points_mm=column.points_mm[::-1],
        axis_mm=column.axis_mm[::-1],
        widths_mm=column.widths_mm[::-1],
    )
