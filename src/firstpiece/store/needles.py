"""What is on each machine's needles now, as rows: one a needle that holds a cone."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select

from firstpiece.model.day import Cone
from firstpiece.store.stock_tables import NEEDLE_CONES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection


def read_needles(connection: Connection) -> dict[str, dict[int, Cone]]:
    """Return by machine's name what is on its needles, counted from 1."""
    found: dict[str, dict[int, Cone]] = defaultdict(dict)
    rows = select(NEEDLE_CONES).order_by(NEEDLE_CONES.c.machine, NEEDLE_CONES.c.needle)
    for row in connection.execute(rows).mappings():
        cone = Cone(row["thread"], row["color"], row["metric_size"], row["point"])
        found[row["machine"]][row["needle"]] = cone
    return dict(found)


def put_needles(
    connection: Connection, machine: str, changes: Mapping[int, Cone | None], *, at: datetime
) -> None:
    """Write what was put on a machine's needles; None takes a cone off, others stay."""
    for needle, cone in sorted(changes.items()):
        mine = (NEEDLE_CONES.c.machine == machine) & (NEEDLE_CONES.c.needle == needle)
        connection.execute(delete(NEEDLE_CONES).where(mine))
        if cone is not None:
            connection.execute(
                insert(NEEDLE_CONES).values(
                    machine=machine, needle=needle, thread=cone.thread, color=cone.color,
                    metric_size=cone.metric_size, point=cone.point, at=at,
                )
            )  # fmt: skip
