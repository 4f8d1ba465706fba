"""Numbers given out one by one; a number once given is never given again."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from sqlalchemy import select, update

from firstpiece.errors import JobError
from firstpiece.store.schema import COUNTERS

if TYPE_CHECKING:
    from sqlalchemy import Connection


def next_number(connection: Connection, name: str, *, wanted: int = 0) -> int:
    """Return the next number of a series, or the wanted one when it was never given out.

    The counter's row is locked until the transaction ends, so a series has no gaps and no doubles.

    Raises
    ------
    JobError
        When the wanted number was given out before.
    """
    locked = select(COUNTERS.c.value).where(COUNTERS.c.name == name).with_for_update()
    last = connection.execute(locked).scalar_one()
    if wanted and wanted <= last:
        raise JobError(
            _("the number {number} was given out before").format(number=wanted),
            remedy=_("leave the number empty to get a new one"),
        )
    number = wanted or last + 1
    connection.execute(update(COUNTERS).where(COUNTERS.c.name == name).values(value=number))
    return number
