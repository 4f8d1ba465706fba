"""Replay every job's log, and that of stock, and compare with what the store says."""

from __future__ import annotations

from gettext import gettext as _
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select

from firstpiece.model.job import fold_events
from firstpiece.store.jobs import projected_row
from firstpiece.store.log import read_whole_log
from firstpiece.store.schema import JOBS
from firstpiece.store.stock import stock_faults

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from firstpiece.model.job_event import JobEvent

MOST_TOLD = 20


def replay_faults(connection: Connection) -> tuple[str, ...]:
    """Return how the store's rows differ from what the logs add up to; empty when all is well."""
    rows = {row["id"]: dict(row) for row in connection.execute(select(JOBS)).mappings()}
    faults = []
    for number, events in groupby(read_whole_log(connection), key=lambda event: event.job):
        fault = _fault(rows.pop(number, None), tuple(events))
        if fault:
            faults.append(_("job {number}: {fault}").format(number=number, fault=fault))
    faults += [_("job {number}: its log is missing").format(number=number) for number in rows]
    faults += stock_faults(connection)
    return tuple(faults[:MOST_TOLD])


def _fault(row: dict[str, object] | None, events: tuple[JobEvent, ...]) -> str:
    if row is None:
        return _("it has a log but no row")
    try:
        wanted = projected_row(fold_events(events))
    except ValueError as damage:
        return str(damage)
    names = [name for name, value in wanted.items() if row[name] != value]
    return _("its log says otherwise of {names}").format(names=", ".join(names)) if names else ""
