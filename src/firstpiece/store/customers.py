"""Customers as rows; a change names the version it was made from."""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, update

from firstpiece.errors import JobError, StaleError
from firstpiece.model.customer import Consent, Customer
from firstpiece.model.plain_text import search_words
from firstpiece.store.counters import next_number
from firstpiece.store.schema import CUSTOMER_WORDS, CUSTOMERS, JOBS
from firstpiece.store.search import find_words, put_words

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection


def add_customer(connection: Connection, customer: Customer, *, at: datetime) -> Customer:
    """Write a new customer and return it with its number (the given one, or the next)."""
    number = next_number(connection, "customer", wanted=customer.id)
    new = replace(customer, id=number, version=1)
    connection.execute(insert(CUSTOMERS).values(**_row(new), opened_at=at))
    _make_findable(connection, new)
    return new


def read_customer(connection: Connection, number: int) -> Customer:
    """Return a customer.

    Raises
    ------
    JobError
        When there is none of that number.
    """
    row = connection.execute(select(CUSTOMERS).where(CUSTOMERS.c.id == number)).mappings().first()
    if row is None:
        raise JobError(
            _("there is no customer {number}").format(number=number),
            remedy=_("look them up in the list of customers"),
        )
    return _customer(row)


def change_customer(
    connection: Connection, customer: Customer, *, expected: int | None
) -> Customer:
    """Write a customer's new values and return it with its new version.

    Raises
    ------
    StaleError
        When it is no longer at version ``expected``.
    JobError
        When it does not exist or was erased.
    """
    now = read_customer(connection, customer.id)
    if expected is not None and expected != now.version:
        raise stale(_("customer {number}").format(number=customer.id))
    if now.is_erased:
        raise JobError(
            _("customer {number} was erased").format(number=now.id),
            remedy=_("open a new customer"),
        )
    new = replace(customer, version=now.version + 1)
    if replace(new, version=now.version) == now:
        return now
    done = connection.execute(
        update(CUSTOMERS)
        .where(CUSTOMERS.c.id == now.id, CUSTOMERS.c.version == now.version)
        .values(**_row(new))
    )
    if done.rowcount != 1:
        raise stale(_("customer {number}").format(number=customer.id))
    _make_findable(connection, new)
    return new


def list_customers(
    connection: Connection, *, limit: int, after: tuple[str, int] | None = None
) -> tuple[Customer, ...]:
    """Return customers by name, from behind the one whose (name key, number) is ``after``."""
    wanted = select(CUSTOMERS).where(CUSTOMERS.c.erased_at.is_(None))
    if after is not None:
        pair = _pair(CUSTOMERS.c.name_key, CUSTOMERS.c.id)
        wanted = wanted.where(pair > _pair(*after))
    wanted = wanted.order_by(CUSTOMERS.c.name_key, CUSTOMERS.c.id).limit(limit)
    return tuple(_customer(row) for row in connection.execute(wanted).mappings())


def find_customers(connection: Connection, query: str, *, limit: int) -> tuple[Customer, ...]:
    """Return customers by words, the newest first."""
    found = find_words(connection, CUSTOMER_WORDS, query, limit=limit) or ()
    wanted = select(CUSTOMERS).where(CUSTOMERS.c.id.in_(found)).order_by(CUSTOMERS.c.id.desc())
    return tuple(_customer(row) for row in connection.execute(wanted).mappings())


def count_jobs(connection: Connection, number: int) -> int:
    """Return how many jobs a customer has."""
    wanted = select(func.count()).select_from(JOBS).where(JOBS.c.customer_id == number)
    return int(connection.scalar(wanted) or 0)


def name_key(name: str) -> str:
    """Return what a name is sorted by: its words, caseless and without accents, in their order."""
    return " ".join(word for part in name.split() for word in search_words(part))


def stale(where: str) -> StaleError:
    """Return the fault of writing over somebody else's change."""
    return StaleError(
        _("somebody else changed it meanwhile; nothing was written"),
        where=where,
        remedy=_("load it again and repeat your change"),
    )


def _make_findable(connection: Connection, customer: Customer) -> None:
    texts = (customer.name, customer.writes_by, customer.notes)
    put_words(connection, CUSTOMER_WORDS, customer.id, texts)


def _pair(*values: Any) -> Any:
    from sqlalchemy import tuple_

    return tuple_(*values)


def _row(customer: Customer) -> dict[str, Any]:
    return {
        "id": customer.id,
        "version": customer.version,
        "name": customer.name,
        "name_key": name_key(customer.name),
        "writes_by": customer.writes_by,
        "notes": customer.notes,
        "consent": [str(kind) for kind in customer.consent],
        "erased_at": customer.erased_at,
    }


def _customer(row: Any) -> Customer:
    return Customer(
        id=row["id"],
        name=row["name"],
        writes_by=row["writes_by"],
        notes=row["notes"],
        consent=tuple(Consent(kind) for kind in row["consent"]),
        version=row["version"],
        erased_at=row["erased_at"],
    )
