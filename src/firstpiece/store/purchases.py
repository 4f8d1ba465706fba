"""What was bought and is not here yet, and what customers said about substitutes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from firstpiece.model.buying import Incoming, Yes
from firstpiece.store.counters import next_number
from firstpiece.store.stock import list_holdings
from firstpiece.store.stock_tables import PURCHASES, SUBSTITUTES

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy import Connection

    from firstpiece.model.stock import SupplyKey


@dataclass(frozen=True, slots=True)
class Agreed:
    """A blank that was offered in place of a line's own; ``key`` is the substitute."""

    job: int
    line: int
    item: int
    key: SupplyKey
    answer: Yes
    asked_at: datetime
    answered_at: datetime | None


def add_purchase(
    connection: Connection, item: int, *, count: int, at: datetime, arrives: date
) -> int:
    """Write that so many pieces or metres were bought, and return the purchase's number."""
    number = next_number(connection, "purchase")
    values = {"number": number, "item_id": item, "bought": count, "received": 0, "at": at,
              "arrives": arrives}  # fmt: skip
    connection.execute(insert(PURCHASES).values(values))
    return number


def open_purchases(connection: Connection) -> tuple[Incoming, ...]:
    """Return what is still to come, the soonest first."""
    keys = {h.item.id: h.item.key for h in list_holdings(connection)}
    rows = connection.execute(
        select(PURCHASES)
        .where(PURCHASES.c.received < PURCHASES.c.bought)
        .order_by(PURCHASES.c.arrives, PURCHASES.c.number)
    ).mappings()
    return tuple(
        Incoming(keys[r["item_id"]], r["bought"] - r["received"], r["arrives"], r["number"])
        for r in rows
    )


def settle_purchases(connection: Connection, item: int, count: int) -> None:
    """Take what arrived off the purchases of an item, the soonest due first; more is no fault."""
    rows = connection.execute(
        select(PURCHASES.c.number, PURCHASES.c.bought, PURCHASES.c.received)
        .where(PURCHASES.c.item_id == item, PURCHASES.c.received < PURCHASES.c.bought)
        .order_by(PURCHASES.c.arrives, PURCHASES.c.number)
        .with_for_update()
    ).all()
    for number, bought, received in rows:
        settled = min(count, bought - received)
        count -= settled
        connection.execute(
            update(PURCHASES)
            .where(PURCHASES.c.number == number)
            .values(received=received + settled)
        )


def put_substitute(
    connection: Connection, line: tuple[int, int], item: int, *, answer: Yes, at: datetime
) -> None:
    """Write that a substitute was asked for (a job's line), or what the customer answered."""
    job, number = line
    mine = (
        (SUBSTITUTES.c.job_id == job)
        & (SUBSTITUTES.c.line == number)
        & (SUBSTITUTES.c.item_id == item)
    )
    is_answer = answer != Yes.ASKED
    values = {"answer": str(answer), "answered_at": at if is_answer else None}
    if not is_answer:
        values["asked_at"] = at
    done = connection.execute(update(SUBSTITUTES).where(mine).values(values))
    if done.rowcount == 0:
        whole = {"job_id": job, "line": number, "item_id": item, "asked_at": at, **values}
        connection.execute(insert(SUBSTITUTES).values(whole))


def read_substitutes(connection: Connection, job: int = 0) -> tuple[Agreed, ...]:
    """Return all substitutes that were asked for, of one job or of every job, oldest first."""
    keys = {h.item.id: h.item.key for h in list_holdings(connection)}
    wanted = select(SUBSTITUTES).order_by(SUBSTITUTES.c.asked_at, SUBSTITUTES.c.item_id)
    if job:
        wanted = wanted.where(SUBSTITUTES.c.job_id == job)
    return tuple(
        Agreed(r["job_id"], r["line"], r["item_id"], keys[r["item_id"]], Yes(r["answer"]),
               r["asked_at"], r["answered_at"])
        for r in connection.execute(wanted).mappings()
    )  # fmt: skip
