"""Customers: open, change, list, hand out what is kept about them, and erase them."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace
from io import BytesIO
from typing import TYPE_CHECKING, Any

from firstpiece.files.safe_write import write_together
from firstpiece.shop.book import now, open_book
from firstpiece.shop.known_words import known_words
from firstpiece.shop.lookup import open_shelf
from firstpiece.shop.record_objects import (
    customer_object,
    event_object,
    record_object,
    value_object,
)
from firstpiece.store import customers as rows
from firstpiece.store import erasure
from firstpiece.store import jobs as job_rows
from firstpiece.store.drafts import forget_drafts
from firstpiece.store.home import drafts_folder
from firstpiece.store.log import read_log
from firstpiece.store.purchases import read_substitutes
from firstpiece.store.stock import read_movements
from firstpiece.store.tickets import read_piece_events

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Connection

    from firstpiece.model.customer import Customer

SHOWN_AT_ONCE = 50


def open_customer(customer: Customer) -> Customer:
    """Write a new customer and return it with its number."""
    with open_book().write() as connection:
        return rows.add_customer(connection, replace(customer, id=0), at=now())


def read_customer(number: int) -> Customer:
    """Return a customer; JobError when there is none of that number."""
    with open_book().read() as connection:
        return rows.read_customer(connection, number)


def change_customer(
    number: int, changes: dict[str, Any], *, expected: int | None = None
) -> Customer:
    """Change fields of a customer; their jobs are found by the new name at once.

    Raises
    ------
    JobError, StaleError, InputError
    """
    with open_book().write() as connection:
        before = rows.read_customer(connection, number)
        after = rows.change_customer(connection, replace(before, **changes), expected=expected)
        if after.name != before.name:
            for job in job_rows.jobs_of(connection, number):
                job_rows.make_findable(connection, job_rows.read_job(connection, job))
        return after


def list_customers(
    *, limit: int = SHOWN_AT_ONCE, after: tuple[str, int] | None = None
) -> tuple[Customer, ...]:
    """Return customers by name."""
    with open_book().read() as connection:
        return rows.list_customers(connection, limit=limit, after=after)


def place_of(number: int) -> tuple[str, int]:
    """Return where a customer stands in the list by name."""
    return (rows.name_key(read_customer(number).name), number)


def export_customer(number: int) -> bytes:
    """Return a ZIP file with everything kept about a customer: JSON and their pictures.

    ``customer.json``, ``jobs.json`` (each job with its log, its pieces' log and what was asked
    about substitutes) and ``pictures/`` by hash.
    """
    book = open_book()
    with book.read() as connection:
        customer = rows.read_customer(connection, number)
        jobs = [job_rows.read_job(connection, n) for n in job_rows.jobs_of(connection, number)]
        more = {job.id: _told_of(connection, job.id) for job in jobs}
    records = [{**record_object(job), **more[job.id]} for job in jobs]
    held = {p.hash for job in jobs for p in job.pictures}
    held |= {p.hash for job in jobs for sewout in job.sewouts for p in sewout.photos}
    keys = sorted(key for key in held if book.pictures.has(key))
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("customer.json", _json(customer_object(customer)))
        archive.writestr("jobs.json", _json(records))
        for key in keys:
            archive.writestr(f"pictures/{key}", book.pictures.get(key))
    return out.getvalue()


def write_customer(number: int, path: Path) -> Path:
    """Write ``export_customer`` into a file.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    (written,) = write_together(path.parent, {path.name: export_customer(number)})
    return written


def erase_customer(number: int, *, expected: int | None = None) -> erasure.Erasure:
    """Erase a customer for good; their orders' figures stay.

    What was worked out from their pictures goes too: drafts of the page, and results looked up
    again, which hold the shapes of every picture.
    """
    done = erasure.erase_customer(
        open_book(), number, at=now(), expected=expected, known=known_words()
    )
    forget_drafts(drafts_folder(), done.jobs)
    open_shelf().clear()
    return done


def _told_of(connection: Connection, job: int) -> dict[str, Any]:
    """Return what the logs tell of a job, beside the job as it stands."""
    return {
        "log": [event_object(event) for event in read_log(connection, job)],
        "pieces": value_object(read_piece_events(connection, job)),
        "substitutes": value_object(read_substitutes(connection, job)),
        "stock": value_object(read_movements(connection, job=job)),
    }


def _json(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"
