"""Blanks that could stand in for a missing one: same garment, colour and size, the likest first.

Likeness is taken in the order a wearer notices it: fibre, then weight, then feel. Nothing here
says yes for a customer; a substitute carries whether consent was asked and given.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from firstpiece.model.buying import Substitute, Yes
from firstpiece.model.stock import Cloth, Feel, SupplyKind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from firstpiece.model.stock import Holding, StockItem, SupplyKey

UNKNOWN_DISTANCE = 1.0
"""A blank whose fibres nobody wrote down counts as wholly different."""

_FEELS = tuple(Feel)


def rank_substitutes(
    missing: StockItem,
    held: Sequence[Holding],
    *,
    free: Mapping[SupplyKey, int],
    consent: Callable[[SupplyKey], Yes],
) -> tuple[Substitute, ...]:
    """Return what could stand in for a blank, the likest first.

    Parameters
    ----------
    missing : StockItem
    held : sequence of Holding
    free : mapping of SupplyKey to int
        Pieces that no job waits for.
    consent : callable
        Tells, for a blank, where the customer's consent to it stands.

    Returns
    -------
    tuple of Substitute
        None when it is not a blank or its cloth is not known.
    """
    cloth = missing.cloth
    if missing.key.kind != SupplyKind.BLANK or cloth is None:
        return ()
    found = [
        _compare(cloth, holding.item, free.get(holding.item.key, 0), consent(holding.item.key))
        for holding in held
        if _could_stand_in(missing, holding.item) and free.get(holding.item.key, 0) > 0
    ]
    return tuple(sorted(found, key=lambda s: _distance(cloth, s)))


def fibre_distance(one: Cloth, other: Cloth) -> float:
    """Return the share of fibre that differs, 0 for the same blend and 1 for nothing alike.

    Notes
    -----
    Half the sum of the shares' differences (total variation distance).
    """
    if not one.fibres or not other.fibres:
        return 0.0 if one.fibres == other.fibres else UNKNOWN_DISTANCE
    first, second = dict(one.fibres), dict(other.fibres)
    names = sorted(set(first) | set(second))
    return sum(abs(first.get(n, 0) - second.get(n, 0)) for n in names) / 200


def feel_steps(one: Cloth, other: Cloth) -> int:
    """Return how many steps apart two cloths feel."""
    return abs(_FEELS.index(one.feel) - _FEELS.index(other.feel))


def _could_stand_in(missing: StockItem, other: StockItem) -> bool:
    return (
        other.key != missing.key
        and other.key.kind == SupplyKind.BLANK
        and other.cloth is not None
        and missing.cloth is not None
        and other.cloth.kind == missing.cloth.kind
        and other.key.color.casefold() == missing.key.color.casefold()
        and other.key.size.casefold() == missing.key.size.casefold()
    )


def _compare(cloth: Cloth, item: StockItem, available: int, consent: Yes) -> Substitute:
    assert item.cloth is not None
    return Substitute(
        item=item,
        available=available,
        fibre_distance=fibre_distance(cloth, item.cloth),
        weight_change_gsm=item.cloth.weight_gsm - cloth.weight_gsm,
        feel_steps=feel_steps(cloth, item.cloth),
        consent=consent,
    )


def _distance(cloth: Cloth, other: Substitute) -> tuple[float, float, int, SupplyKey]:
    """Return what substitutes are sorted by; weights are compared by ratio, not by difference."""
    weight = other.item.cloth.weight_gsm if other.item.cloth else 0.0
    known = weight > 0 and cloth.weight_gsm > 0
    ratio = abs(math.log(weight / cloth.weight_gsm)) if known else math.inf
    return (other.fibre_distance, ratio, other.feel_steps, other.item.key)
