"""Who gets what is on the shelf and what is coming: the job that needs it first.

Input: needs, what is held, what is on its way. Output: one share for each need. Nothing is given
twice, and nothing that is agreed waits for something that is not.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING

from firstpiece.model.buying import Share

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from firstpiece.model.buying import Incoming, Need
    from firstpiece.model.stock import Holding, SupplyKey


def share_out(
    needs: Sequence[Need], held: Sequence[Holding], incoming: Sequence[Incoming]
) -> tuple[Share, ...]:
    """Return what each need gets, in the order of ``need_order``.

    Notes
    -----
    The shelf is given out first, then what arrives soonest. A count below zero (more was taken
    than was written down) gives nothing.
    """
    shelf: dict[SupplyKey, int] = defaultdict(int)
    for holding in held:
        shelf[holding.item.key] += max(0, holding.count)
    coming: dict[SupplyKey, list[tuple[date, int]]] = defaultdict(list)
    for parcel in sorted(incoming, key=lambda p: (p.arrives, p.number)):
        coming[parcel.key].append((parcel.arrives, parcel.count))
    return tuple(_give(need, shelf, coming) for need in need_order(needs))


def need_order(needs: Iterable[Need]) -> tuple[Need, ...]:
    """Return needs with agreed jobs first, then by the day, the job's number and its line."""
    return tuple(
        sorted(needs, key=lambda n: (not n.is_firm, n.needed_by or date.max, n.job, n.line, n.key))
    )


def free_counts(held: Sequence[Holding], shares: Sequence[Share]) -> dict[SupplyKey, int]:
    """Return what of each thing on the shelf no job waits for."""
    free: dict[SupplyKey, int] = defaultdict(int)
    for holding in held:
        free[holding.item.key] += max(0, holding.count)
    for share in shares:
        free[share.need.key] -= share.on_shelf
    return dict(free)


def _give(
    need: Need,
    shelf: dict[SupplyKey, int],
    coming: dict[SupplyKey, list[tuple[date, int]]],
) -> Share:
    wanted = need.open_count
    on_shelf = min(wanted, shelf[need.key])
    shelf[need.key] -= on_shelf
    wanted -= on_shelf
    arrives: date | None = None
    from_parcels = 0
    parcels = coming[need.key]
    while wanted and parcels:
        day, count = parcels.pop(0)
        used = min(wanted, count)
        if count > used:
            parcels.insert(0, (day, count - used))
        if used:
            arrives = day
        from_parcels += used
        wanted -= used
    return Share(need, on_shelf, from_parcels, arrives, wanted)
