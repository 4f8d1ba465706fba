"""Erase a customer: the person, their words and pictures go; what was sewn stays as figures.

Every log that tells of the customer's jobs is gone through: the jobs' own, the tickets' and the
stock's. The database lets no log be changed but those of jobs marked as being erased.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from sqlalchemy import delete, func, insert, select, text, update

from firstpiece.model.job import fold_events
from firstpiece.model.job_erasure import KnownWords, erased_figures, erased_piece_figures
from firstpiece.model.job_event import EventDraft, EventKind
from firstpiece.store.customers import read_customer, stale
from firstpiece.store.database import told_faults
from firstpiece.store.jobs import jobs_of, project_job
from firstpiece.store.log import add_to_log, read_log
from firstpiece.store.schema import (
    CUSTOMER_WORDS,
    CUSTOMERS,
    ERASING,
    JOB_LOG,
    JOB_PICTURES,
    JOB_WORDS,
    JOBS,
    PICTURES,
)
from firstpiece.store.search import put_words, rebuild_index
from firstpiece.store.stock_tables import STOCK_LOG, TICKET_LOG
from firstpiece.store.tickets import read_piece_events

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from firstpiece.model.customer import Customer
    from firstpiece.store.database import ShopStore

_VACUUMS = tuple(
    f"VACUUM FULL {table.name}"
    for table in (
        CUSTOMERS,
        CUSTOMER_WORDS,
        JOB_WORDS,
        JOBS,
        JOB_LOG,
        JOB_PICTURES,
        PICTURES,
        STOCK_LOG,
        TICKET_LOG,
    )
)


@dataclass(frozen=True, slots=True)
class Erasure:
    """What an erasure did: the customer's empty shell, jobs kept as figures, pictures deleted."""

    customer: Customer
    jobs: tuple[int, ...]
    pictures: tuple[str, ...]


def erase_customer(
    store: ShopStore,
    number: int,
    *,
    at: datetime,
    expected: int | None = None,
    known: KnownWords | None = None,
) -> Erasure:
    """Erase a customer for good.

    Parameters
    ----------
    store : ShopStore
    number : int
    at : datetime
    expected : int or None
        The version the person saw.
    known : KnownWords or None
        Colours, sizes and places that are the shop's own and stay.

    Returns
    -------
    Erasure

    Raises
    ------
    JobError, StaleError, BusyError, StoreError

    Notes
    -----
    Backups taken before still hold the person; restoring one erases them again.
    """
    with store.write() as connection:
        if store.is_sqlite:
            # Freed pages are filled with zeros, so that nothing is left to read in the file.
            connection.execute(text("PRAGMA secure_delete=ON"))
        before = read_customer(connection, number)
        if expected is not None and expected != before.version:
            raise stale(_("customer {number}").format(number=number))
        done = _erase_rows(connection, before, at, known or KnownWords())
    for key in done.pictures:
        store.pictures.remove(key)
    _shrink(store)
    return done


def erased_numbers(connection: Connection) -> tuple[int, ...]:
    """Return the customers erased so far, in order."""
    wanted = select(CUSTOMERS.c.id).where(CUSTOMERS.c.erased_at.is_not(None))
    return tuple(connection.scalars(wanted.order_by(CUSTOMERS.c.id)))


def _erase_rows(
    connection: Connection, before: Customer, at: datetime, known: KnownWords
) -> Erasure:
    jobs = jobs_of(connection, before.id)
    for job in jobs:
        connection.execute(insert(ERASING).values(job_id=job))
        _erase_logs(connection, job, known)
        draft = EventDraft(EventKind.ERASED)
        log = read_log(connection, job)
        new = add_to_log(connection, job, (draft,), after=len(log), at=at)
        project_job(connection, fold_events((*log, *new)))
    connection.execute(delete(ERASING))
    empty = {"name": "", "name_key": "", "writes_by": "", "notes": "", "consent": []}
    erased_at = before.erased_at or at
    connection.execute(
        update(CUSTOMERS)
        .where(CUSTOMERS.c.id == before.id)
        .values(**empty, erased_at=erased_at, version=before.version + 1)
    )
    put_words(connection, CUSTOMER_WORDS, before.id, ())
    for job in jobs:
        _forget_words(connection, job)
    for table in (JOB_WORDS, CUSTOMER_WORDS):
        rebuild_index(connection, table)
    shell = replace(before, name="", writes_by="", notes="", consent=(), erased_at=erased_at,
                    version=before.version + 1)  # fmt: skip
    return Erasure(shell, jobs, _forget_pictures(connection, jobs))


def _erase_logs(connection: Connection, job: int, known: KnownWords) -> None:
    """Take the words out of everything that the logs tell of a job."""
    mine = JOB_LOG.c.job_id == job
    connection.execute(update(JOB_LOG).where(mine).values(words={}))
    for number, figures in erased_figures(read_log(connection, job), known):
        entry = update(JOB_LOG).where(mine, JOB_LOG.c.number == number)
        connection.execute(entry.values(figures=figures))
    for event in read_piece_events(connection, job):
        piece = update(TICKET_LOG).where(TICKET_LOG.c.number == event.number)
        connection.execute(piece.values(figures=erased_piece_figures(event.figures)))
    # A reason may be what allows a count below zero, so a word of ours stands in its place.
    reasons = update(STOCK_LOG).where(STOCK_LOG.c.job_id == job, STOCK_LOG.c.reason != "")
    connection.execute(reasons.values(reason=_("erased")))


def _forget_words(connection: Connection, job: int) -> None:
    """Find an erased job by its number alone: even its figures may hold a rare word."""
    put_words(connection, JOB_WORDS, job, (str(job),))


def _forget_pictures(connection: Connection, jobs: tuple[int, ...]) -> tuple[str, ...]:
    """Take out the pictures that no other customer's job uses; return their hashes."""
    mine = select(JOB_PICTURES.c.hash).where(JOB_PICTURES.c.job_id.in_(jobs)).distinct()
    keys = tuple(sorted(connection.scalars(mine)))
    connection.execute(delete(JOB_PICTURES).where(JOB_PICTURES.c.job_id.in_(jobs)))
    used = select(func.count()).select_from(JOB_PICTURES)
    alone = [k for k in keys if not connection.scalar(used.where(JOB_PICTURES.c.hash == k))]
    connection.execute(delete(PICTURES).where(PICTURES.c.hash.in_(alone)))
    return tuple(alone)


def _shrink(store: ShopStore) -> None:
    """Write the tables anew, so that old rows do not linger in freed pages or SQLite's log."""
    statements = ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)") if store.is_sqlite else _VACUUMS
    alone = store.engine.execution_options(isolation_level="AUTOCOMMIT")
    with told_faults(), alone.connect() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
