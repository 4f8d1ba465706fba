"""The tickets' log as rows: what was printed, started, refused, sewn, spoiled; only added to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select

from firstpiece.model.ticket import PieceEvent, PieceStep
from firstpiece.store.counters import next_number
from firstpiece.store.schema import plain
from firstpiece.store.stock_tables import TICKET_LOG

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection


def add_piece_event(
    connection: Connection,
    piece: tuple[int, int, int],
    step: PieceStep,
    *,
    plan_id: str,
    figures: Mapping[str, Any],
    at: datetime,
) -> PieceEvent:
    """Write what happened to a piece (job, line, piece) and return the entry."""
    job, line, number_of_piece = piece
    number = next_number(connection, "ticket log")
    values = plain(figures)
    connection.execute(
        insert(TICKET_LOG).values(
            number=number, at=at, job_id=job, line=line, piece=number_of_piece, step=str(step),
            plan_id=plan_id, figures=values,
        )
    )  # fmt: skip
    return PieceEvent(number, at, job, line, number_of_piece, step, plan_id, values)


def read_piece_events(connection: Connection, job: int = 0) -> tuple[PieceEvent, ...]:
    """Return what happened to the pieces of one job, or of every job, oldest first."""
    wanted = select(TICKET_LOG).order_by(TICKET_LOG.c.number)
    if job:
        wanted = wanted.where(TICKET_LOG.c.job_id == job)
    return tuple(
        PieceEvent(r["number"], r["at"], r["job_id"], r["line"], r["piece"], PieceStep(r["step"]),
                   r["plan_id"], r["figures"])
        for r in connection.execute(wanted).mappings()
    )  # fmt: skip
