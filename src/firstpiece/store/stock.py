"""Stock as rows: items, their lots, and the log of movements that the lots add up to."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, update

from firstpiece.errors import JobError
from firstpiece.model.design import money_from, money_object
from firstpiece.model.stock import (
    Cause,
    Cloth,
    Feel,
    Holding,
    Lot,
    Movement,
    StockItem,
    Supplier,
    SupplyKey,
    SupplyKind,
    fold_movements,
    move_stock,
)
from firstpiece.store.counters import next_number
from firstpiece.store.customers import stale
from firstpiece.store.stock_tables import STOCK_ITEMS, STOCK_LOG, STOCK_LOTS, SUPPLIERS

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

_MOVEMENT = (STOCK_LOG.c.number, STOCK_LOG.c.at, STOCK_LOG.c.item_id, STOCK_LOG.c.place,
             STOCK_LOG.c.change, STOCK_LOG.c.after, STOCK_LOG.c.cause, STOCK_LOG.c.reason,
             STOCK_LOG.c.job_id)  # fmt: skip


def add_item(connection: Connection, item: StockItem) -> StockItem:
    """Write a new item and return it with its number.

    Raises
    ------
    JobError
        When the same thing is in stock already.
    """
    there = find_item(connection, item.key)
    if there is not None:
        raise JobError(
            _("{label} is in stock already, as item {number}").format(
                label=there.label, number=there.id
            ),
            remedy=_("receive or count it instead"),
        )
    new = replace(item, id=next_number(connection, "stock item"), version=1)
    connection.execute(insert(STOCK_ITEMS).values(_row(new)))
    return new


def change_item(
    connection: Connection, item: StockItem, *, expected: int | None = None
) -> StockItem:
    """Write how a thing is bought, its label, cloth or barcode; what it is never changes.

    Raises
    ------
    StaleError, JobError
    """
    now = read_item(connection, item.id)
    if expected is not None and expected != now.version:
        raise stale(_("stock item {number}").format(number=item.id))
    new = replace(item, key=now.key, version=now.version + 1)
    if replace(new, version=now.version) == now:
        return now
    done = connection.execute(
        update(STOCK_ITEMS)
        .where(STOCK_ITEMS.c.id == now.id, STOCK_ITEMS.c.version == now.version)
        .values(_row(new))
    )
    if done.rowcount != 1:
        raise stale(_("stock item {number}").format(number=item.id))
    return new


def read_item(connection: Connection, number: int) -> StockItem:
    """Return an item; JobError when there is none of that number."""
    wanted = select(STOCK_ITEMS).where(STOCK_ITEMS.c.id == number)
    row = connection.execute(wanted).mappings().first()
    if row is None:
        raise JobError(
            _("there is no stock item {number}").format(number=number),
            remedy=_("look it up in the list of stock"),
        )
    return _item(row)


def find_item(connection: Connection, key: SupplyKey) -> StockItem | None:
    """Return the item of a key, or None."""
    columns = STOCK_ITEMS.c
    wanted = select(STOCK_ITEMS).where(
        columns.kind == str(key.kind), columns.name == key.name,
        columns.color == key.color, columns.size == key.size,
    )  # fmt: skip
    row = connection.execute(wanted).mappings().first()
    return None if row is None else _item(row)


def find_barcode(connection: Connection, barcode: str) -> StockItem | None:
    """Return the item with a supplier's barcode, or None; an empty barcode finds nothing."""
    if not barcode:
        return None
    wanted = select(STOCK_ITEMS).where(STOCK_ITEMS.c.barcode == barcode)
    row = connection.execute(wanted.order_by(STOCK_ITEMS.c.id)).mappings().first()
    return None if row is None else _item(row)


def list_holdings(connection: Connection, kind: SupplyKind | None = None) -> tuple[Holding, ...]:
    """Return every item with its lots, by kind, name, colour and number."""
    wanted = select(STOCK_ITEMS).order_by(
        STOCK_ITEMS.c.kind, STOCK_ITEMS.c.name, STOCK_ITEMS.c.color, STOCK_ITEMS.c.id
    )
    if kind is not None:
        wanted = wanted.where(STOCK_ITEMS.c.kind == str(kind))
    lots: dict[int, list[Lot]] = defaultdict(list)
    rows = select(STOCK_LOTS).order_by(STOCK_LOTS.c.item_id, STOCK_LOTS.c.place)
    for item, place, count in connection.execute(rows):
        lots[item].append(Lot(place, count))
    items = (_item(row) for row in connection.execute(wanted).mappings())
    return tuple(Holding(item, tuple(lots[item.id])) for item in items)


def move(
    connection: Connection,
    item: StockItem,
    lot: Lot,
    *,
    cause: Cause,
    at: datetime,
    why: tuple[str, int] = ("", 0),
) -> Movement:
    """Change a lot and log it; ``lot.count`` is the change, ``why`` the reason and the job.

    Raises
    ------
    InputError
        See ``model.stock.move_stock``.
    """
    reason, job = why
    # The item's row is locked, so that two actions never write the same lot at once.
    connection.execute(
        select(STOCK_ITEMS.c.id).where(STOCK_ITEMS.c.id == item.id).with_for_update()
    )
    mine = (STOCK_LOTS.c.item_id == item.id) & (STOCK_LOTS.c.place == lot.place)
    before = connection.scalar(select(STOCK_LOTS.c.count).where(mine))
    after = move_stock(before or 0, lot.count, cause=cause, reason=reason, where=item.label)
    if before is None:
        values = {"item_id": item.id, "place": lot.place, "count": after}
        connection.execute(insert(STOCK_LOTS).values(values))
    else:
        connection.execute(update(STOCK_LOTS).where(mine).values(count=after))
    number = next_number(connection, "stock log")
    made = Movement(number, at, item.id, lot.place, lot.count, after, cause, reason.strip(), job)
    connection.execute(
        insert(STOCK_LOG).values(
            number=number, at=at, item_id=item.id, place=lot.place, change=lot.count, after=after,
            cause=str(cause), reason=made.reason, job_id=job or None,
        )
    )  # fmt: skip
    return made


def read_movements(
    connection: Connection, *, item: int = 0, job: int = 0, since: datetime | None = None
) -> tuple[Movement, ...]:
    """Return movements, oldest first: all, or those of one item, of one job, since a moment."""
    wanted = select(*_MOVEMENT).order_by(STOCK_LOG.c.number)
    if item:
        wanted = wanted.where(STOCK_LOG.c.item_id == item)
    if job:
        wanted = wanted.where(STOCK_LOG.c.job_id == job)
    if since is not None:
        wanted = wanted.where(STOCK_LOG.c.at >= since)
    return tuple(
        Movement(number, at, item_id, place, change, after, Cause(cause), reason, job_id or 0)
        for number, at, item_id, place, change, after, cause, reason, job_id in connection.execute(
            wanted
        )
    )


def stock_faults(connection: Connection) -> tuple[str, ...]:
    """Return how the lots differ from what the log of stock adds up to; empty when all is well."""
    rows = connection.execute(select(STOCK_LOTS))
    there = {(item, place): count for item, place, count in rows}
    try:
        wanted = fold_movements(read_movements(connection))
    except ValueError as damage:
        return (_("stock: {fault}").format(fault=damage),)
    wrong = sorted(lot for lot in set(there) | set(wanted) if there.get(lot) != wanted.get(lot))
    return tuple(
        _("stock item {number}, {place}: its log says {n}").format(
            number=item, place=place, n=wanted.get((item, place), _("nothing"))
        )
        for item, place in wrong
    )


def taken_for_jobs(connection: Connection) -> dict[tuple[int, SupplyKey], int]:
    """Return what was taken from the shelf for each job, less what came back."""
    causes = (str(Cause.TAKEN), str(Cause.RETURNED))
    wanted = (
        select(STOCK_LOG.c.job_id, STOCK_LOG.c.item_id, func.sum(STOCK_LOG.c.change))
        .where(STOCK_LOG.c.job_id.is_not(None), STOCK_LOG.c.cause.in_(causes))
        .group_by(STOCK_LOG.c.job_id, STOCK_LOG.c.item_id)
    )
    items = {h.item.id: h.item.key for h in list_holdings(connection)}
    return {(job, items[item]): -int(total) for job, item, total in connection.execute(wanted)}


def put_supplier(connection: Connection, supplier: Supplier) -> None:
    """Write a supplier, new or changed."""
    cost = supplier.order_cost
    values = {
        "lead_days": supplier.lead_days,
        "order_cost": None if cost is None else money_object(cost),
        "notes": supplier.notes,
    }
    mine = SUPPLIERS.c.name == supplier.name
    done = connection.execute(update(SUPPLIERS).where(mine).values(values))
    if done.rowcount == 0:
        connection.execute(insert(SUPPLIERS).values(name=supplier.name, **values))


def list_suppliers(connection: Connection) -> tuple[Supplier, ...]:
    """Return all suppliers by name."""
    rows = connection.execute(select(SUPPLIERS).order_by(SUPPLIERS.c.name)).mappings()
    return tuple(
        Supplier(row["name"], row["lead_days"], _money(row["order_cost"]), row["notes"])
        for row in rows
    )


def _row(item: StockItem) -> dict[str, Any]:
    cloth = item.cloth
    return {
        "id": item.id,
        "version": item.version,
        "kind": str(item.key.kind),
        "name": item.key.name,
        "color": item.key.color,
        "size": item.key.size,
        "label": item.label,
        "supplier": item.supplier,
        "pack": item.pack,
        "each": None if item.each is None else money_object(item.each),
        "metres_each": item.metres_each,
        "cloth": None
        if cloth is None
        else {
            "kind": cloth.kind,
            "fibres": [list(fibre) for fibre in cloth.fibres],
            "weight_gsm": cloth.weight_gsm,
            "feel": str(cloth.feel),
        },
        "barcode": item.barcode,
    }


def _item(row: Any) -> StockItem:
    cloth = row["cloth"]
    return StockItem(
        id=row["id"],
        key=SupplyKey(SupplyKind(row["kind"]), row["name"], row["color"], row["size"]),
        label=row["label"],
        supplier=row["supplier"],
        pack=row["pack"],
        each=_money(row["each"]),
        metres_each=row["metres_each"],
        cloth=None
        if cloth is None
        else Cloth(
            cloth["kind"],
            tuple((name, share) for name, share in cloth["fibres"]),
            cloth["weight_gsm"],
            Feel(cloth["feel"]),
        ),
        barcode=row["barcode"],
        version=row["version"],
    )


def _money(plain: Any) -> Any:
    return None if plain is None else money_from(plain)
