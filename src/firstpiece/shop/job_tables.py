"""Customers and jobs out to CSV tables and in again, all or nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from sqlalchemy import select

from firstpiece.errors import InputError
from firstpiece.files.safe_write import write_together
from firstpiece.files.shop_tables import (
    CUSTOMERS_FILE,
    JOBS_FILE,
    LINES_FILE,
    read_customers_csv,
    read_jobs_csv,
    write_customers_csv,
    write_jobs_csv,
    write_lines_csv,
)
from firstpiece.model.job_entry import entry_of, import_job, with_customer
from firstpiece.shop.book import now, open_book
from firstpiece.store.customers import add_customer, read_customer
from firstpiece.store.jobs import create_job, read_all_jobs
from firstpiece.store.schema import CUSTOMERS

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from firstpiece.store.database import ShopStore

Tables = dict[str, str]


@dataclass(frozen=True, slots=True)
class Imported:
    """The numbers of what came in."""

    customers: tuple[int, ...]
    jobs: tuple[int, ...]


def export_tables(store: ShopStore | None = None) -> Tables:
    """Return all customers and jobs as CSV texts by file name, all of one moment.

    Pictures, designs and logs are not in them; a backup has everything.
    """
    with (store or open_book()).read() as connection:
        living = select(CUSTOMERS.c.id).where(CUSTOMERS.c.erased_at.is_(None))
        numbers = tuple(connection.scalars(living.order_by(CUSTOMERS.c.id)))
        customers = [read_customer(connection, number) for number in numbers]
        entries = [entry_of(job) for job in read_all_jobs(connection)]
    known = set(numbers)
    entries = [e if e.customer in known else with_customer(e, 0) for e in entries]
    return {
        CUSTOMERS_FILE: write_customers_csv(customers),
        JOBS_FILE: write_jobs_csv(entries),
        LINES_FILE: write_lines_csv(entries),
    }


def write_tables(folder: Path) -> tuple[Path, ...]:
    """Write ``export_tables`` into a folder.

    Raises
    ------
    OutputError
        When it cannot be written to.
    """
    texts = export_tables()
    return write_together(folder, {name: text.encode() for name, text in texts.items()})


def import_tables(
    tables: Tables, *, store: ShopStore | None = None, at: datetime | None = None
) -> Imported:
    """Add the customers and jobs of CSV texts; either all of them or, with a fault, none.

    Parameters
    ----------
    tables : dict of str to str
        Texts by file name; missing ones count as empty.
    store : ShopStore or None
        None takes the shop's own.
    at : datetime or None
        None takes the present moment.

    Raises
    ------
    InputError, JobError
        When a table is wrong, or a number was given out before.
    """
    customers = read_customers_csv(tables[CUSTOMERS_FILE]) if CUSTOMERS_FILE in tables else ()
    entries = read_jobs_csv(
        tables.get(JOBS_FILE) or write_jobs_csv(()), tables.get(LINES_FILE) or write_lines_csv(())
    )
    moment = at or now()
    with (store or open_book()).write() as connection:
        # Given numbers go first and upwards, so that new ones never take one of them.
        in_order = sorted(customers, key=lambda c: (c.id == 0, c.id))
        added = [add_customer(connection, replace(c, version=0), at=moment) for c in in_order]
        jobs = [
            create_job(connection, import_job(entry), at=moment, wanted=entry.number)
            for entry in sorted(entries, key=lambda e: (e.number == 0, e.number))
        ]
    return Imported(tuple(c.id for c in added), tuple(job.id for job in jobs))


def read_tables(folder: Path) -> Tables:
    """Return the texts of the CSV files in a folder.

    Raises
    ------
    InputError
        When none of them is there, or one is not UTF-8.
    """
    found: Tables = {}
    for name in (CUSTOMERS_FILE, JOBS_FILE, LINES_FILE):
        path = folder / name
        try:
            # Not read as text: that would change the line ends inside cells.
            found[name] = path.read_bytes().decode("utf-8")
        except FileNotFoundError:
            continue
        except (OSError, UnicodeDecodeError) as fault:
            raise InputError(
                _("the table cannot be read"), where=str(path), remedy=_("save it as UTF-8 CSV")
            ) from fault
    if not found:
        raise InputError(
            _("there is no table"),
            where=str(folder),
            remedy=_("name a folder with {names}").format(
                names=", ".join((CUSTOMERS_FILE, JOBS_FILE, LINES_FILE))
            ),
        )
    return found
