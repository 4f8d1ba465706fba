"""How long a whole order takes: pieces over heads, hooping beside the running machine.

Input: minutes of one piece and of handling. Output: minutes of the order and what holds it up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.model.measured import Band, Figure

if TYPE_CHECKING:
    from firstpiece.model.material import Machine


@dataclass(frozen=True, slots=True)
class OrderTime:
    """Minutes of an order.

    ``machine`` [min] is how long the machine is busy, ``total`` [min] from the first hooping to the
    last finishing, ``rounds`` how often it is loaded.
    """

    machine: Figure
    total: Figure
    rounds: int

    @property
    def waits_for_hands(self) -> bool:
        """Whether hooping and finishing take longer than sewing."""
        return self.total.band.p50 > 1.5 * self.machine.band.p50


def order_time(
    sewing: Figure,
    *,
    quantity: int,
    machine: Machine,
    hooping_min: float,
    finishing_min: float,
) -> OrderTime:
    """Return the minutes of an order with one person at the machine.

    Parameters
    ----------
    sewing : Figure [min]
        One piece under the needle.
    quantity : int
        Pieces, 1 or more.
    machine : Machine
        Its heads sew alike at the same time.
    hooping_min, finishing_min : float [min]
        Handling of one piece.

    Notes
    -----
    A load is one piece per head. While one load sews the next is hooped and the last finished, so
    each round takes the longer of sewing and handling; the first hooping and the last finishing
    stand alone. Exact for one person and a steady pace (a two-machine flow shop of equal jobs).
    """
    if quantity < 1:
        msg = "an order has at least one piece"
        raise ValueError(msg)
    rounds = math.ceil(quantity / machine.heads)
    sizes = [machine.heads] * (rounds - 1) + [quantity - machine.heads * (rounds - 1)]

    def minutes(each: float) -> float:
        total = hooping_min * sizes[0]
        for i in range(rounds):
            following = hooping_min * sizes[i + 1] if i + 1 < rounds else 0.0
            last = finishing_min * sizes[i - 1] if i else 0.0
            total += max(each, following + last)
        return total + finishing_min * sizes[-1]

    band = sewing.band
    whole = Band(minutes(band.p05), minutes(band.p50), minutes(band.p95))
    busy = Band(band.p05 * rounds, band.p50 * rounds, band.p95 * rounds)
    basis = f"{sewing.basis}; {rounds} loads, handling beside the running machine"
    return OrderTime(
        Figure(busy, "min", sewing.certainty, sewing.basis),
        Figure(whole, "min", sewing.certainty, basis),
        rounds,
    )
