"""The shop's stock: what is there, counted, received, taken and bought, and what to buy."""

from __future__ import annotations

import statistics
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError, JobError
from firstpiece.model.buying import DailyUse, Yes
from firstpiece.model.customer import Consent
from firstpiece.model.stock import Cause, Holding, Lot, StockItem, SupplyKind
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_needs import FIRM, OFFERED, ShelfWords, list_needs
from firstpiece.stocking.stage import Shelf, list_supplies
from firstpiece.store import purchases, stock, tickets
from firstpiece.store.customers import read_customer
from firstpiece.store.jobs import JobFilter, list_jobs, read_job

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection

    from firstpiece.model.buying import BuyingList, SupplierOrder
    from firstpiece.model.job import Job
    from firstpiece.model.stock import Movement, Supplier, SupplyKey

USE_DAYS = 90
"""Days of use that levels are reckoned from."""

MOST_JOBS = 5000
SHELF = "shelf"
"""Where things lie when nobody says where."""


@dataclass(frozen=True, slots=True)
class StockPage:
    """One thing with its lots and its newest movements."""

    holding: Holding
    movements: tuple[Movement, ...]


def add_item(item: StockItem, *, supplier: Supplier | None = None) -> StockItem:
    """Put a new thing on the list of stock, with nothing of it there yet.

    Raises
    ------
    JobError
        When it is there already.
    CardError
        When a blank, a thread or a backing names no card.
    """
    cards = open_cards()
    known = {
        SupplyKind.BLANK: cards.garment,
        SupplyKind.THREAD: cards.thread,
        SupplyKind.BACKING: cards.backing,
    }
    if item.key.kind in known:
        known[item.key.kind](item.key.name)
    with open_book().write() as connection:
        if supplier is not None:
            stock.put_supplier(connection, supplier)
        return stock.add_item(connection, item)


def change_item(
    number: int, changes: Mapping[str, Any], *, expected: int | None = None
) -> StockItem:
    """Change label, supplier, pack, cost, cloth or barcode of a thing; what it is never changes.

    Raises
    ------
    JobError, StaleError, InputError
    """
    with open_book().write() as connection:
        item = stock.read_item(connection, number)
        return stock.change_item(connection, replace(item, **changes), expected=expected)


def put_supplier(supplier: Supplier) -> None:
    """Write a supplier, new or changed."""
    with open_book().write() as connection:
        stock.put_supplier(connection, supplier)


def list_suppliers() -> tuple[Supplier, ...]:
    """Return all suppliers by name."""
    with open_book().read() as connection:
        return stock.list_suppliers(connection)


def list_stock(kind: SupplyKind | None = None) -> tuple[Holding, ...]:
    """Return everything on the list, or one kind of it."""
    with open_book().read() as connection:
        return stock.list_holdings(connection, kind)


def read_stock(number: int, *, limit: int = 20) -> StockPage:
    """Return one thing with its newest movements, newest first."""
    with open_book().read() as connection:
        item = stock.read_item(connection, number)
        moves = stock.read_movements(connection, item=number)
        held = {h.item.id: h for h in stock.list_holdings(connection, item.key.kind)}
    return StockPage(held[number], moves[::-1][:limit])


def count_stock(number: int, counted: int, *, place: str = "", because: str = "") -> Holding:
    """Correct a lot to what was counted; a difference needs its reason.

    Raises
    ------
    InputError
        Without a reason, or when the place must be named.
    """
    if counted < 0:
        raise InputError(_("less than nothing cannot be counted"), remedy=_("give 0 or more"))
    with open_book().write() as connection:
        holding = _holding(connection, number)
        lot = _lot(holding, place)
        stock.move(connection, holding.item, Lot(lot.place, counted - lot.count),
                   cause=Cause.COUNTED, at=now(), why=(because, 0))  # fmt: skip
        return _holding(connection, number)


def receive_stock(number: int, units: int, *, place: str = "") -> Holding:
    """Take in what arrived: so many pieces, cones or bobbins; purchases are settled by it.

    Each cone and bobbin becomes a lot of its own, so that its metres can be told.
    """
    if not 1 <= units <= 1_000_000:
        raise InputError(_("{n} cannot be received").format(n=units), remedy=_("give 1 or more"))
    with open_book().write() as connection:
        holding = _holding(connection, number)
        item, at = holding.item, now()
        for lot in _new_lots(holding, units, place):
            stock.move(connection, item, lot, cause=Cause.RECEIVED, at=at)
        purchases.settle_purchases(connection, number, units * item.unit_size)
        return _holding(connection, number)


def take_for_job(number: int, *, because: str = "") -> tuple[Movement, ...]:
    """Take from the shelf the blanks, backing and film that a job still needs.

    Thread is used up as pieces are sewn. Called again it takes only what is new.

    Raises
    ------
    InputError
        When there is not enough and no reason is given; nothing is then taken.
    """
    metred = (SupplyKind.THREAD, SupplyKind.BOBBIN)
    with open_book().write() as connection:
        job = read_job(connection, number)
        needs = list_needs((job,), _words(connection, number), open_cards())
        made = []
        for need in needs:
            if need.open_count and need.key.kind not in metred:
                made += take_key(connection, need.key, need.open_count, job=number, why=because)
        return tuple(made)


def take_key(
    connection: Connection, key: SupplyKey, count: int, *, job: int, why: str = ""
) -> list[Movement]:
    """Take pieces or metres of a thing for a job, from the smallest lots first."""
    item = stock.find_item(connection, key)
    if item is None:
        return []
    holding = _holding(connection, item.id)
    lots = sorted((lot for lot in holding.lots if lot.count > 0), key=lambda lot: lot.count)
    at, made = now(), []
    for lot in lots:
        taken = min(count, lot.count)
        if taken:
            change = Lot(lot.place, -taken)
            made.append(stock.move(connection, item, change, cause=Cause.TAKEN, at=at,
                                   why=(why, job)))  # fmt: skip
        count -= taken
    if count:
        last = lots[-1].place if lots else (holding.lots[0].place if holding.lots else SHELF)
        made.append(stock.move(connection, item, Lot(last, -count), cause=Cause.TAKEN, at=at,
                               why=(why, job)))  # fmt: skip
    return made


def list_buying(*, today: date | None = None, with_offers: bool = False) -> BuyingList:
    """Return need against stock: who gets what, what is short, what to buy from whom.

    ``with_offers`` counts jobs that are not agreed yet, behind all that are.
    """
    with open_book().read() as connection:
        jobs = open_jobs(connection, FIRM + (OFFERED if with_offers else ()))
        words = _words(connection)
        shelf = Shelf(
            held=stock.list_holdings(connection),
            incoming=purchases.open_purchases(connection),
            suppliers=stock.list_suppliers(connection),
            use=_daily_use(connection),
        )
        consents = _consents(connection, jobs, words, shelf.held)
    needs = list_needs(jobs, words, open_cards())
    return list_supplies(needs, shelf, today=today or date.today(), consents=consents)  # noqa: DTZ011 - the shop's own day


def record_purchase(
    supplier: str, *, today: date | None = None, with_offers: bool = False
) -> tuple[SupplierOrder, tuple[int, ...]]:
    """Write down that what the buying list says was bought from a supplier.

    Returns
    -------
    order : SupplierOrder
    numbers : tuple of int
        Of the purchases, one a line.

    Raises
    ------
    InputError
        When nothing is to be bought there.
    """
    found = list_buying(today=today, with_offers=with_offers)
    order = next((o for o in found.orders if o.supplier.name == supplier), None)
    if order is None:
        names = ", ".join(o.supplier.name for o in found.orders) or _("nobody")
        raise InputError(
            _("there is nothing to buy from “{name}”").format(name=supplier[:60]),
            remedy=_("something is to be bought from: {names}").format(names=names),
        )
    at = now()
    with open_book().write() as connection:
        numbers = tuple(
            purchases.add_purchase(
                connection, line.item.id, count=line.count, at=at, arrives=order.arrives
            )
            for line in order.lines
        )
    return order, numbers


def open_jobs(connection: Connection, states: Sequence[object]) -> tuple[Job, ...]:
    """Return the open jobs in some states, the first due first."""
    rows = list_jobs(connection, JobFilter(is_open=True), limit=MOST_JOBS)
    return tuple(read_job(connection, row.id) for row in rows if row.state in states)


def shelf_words(job: int = 0) -> ShelfWords:
    """Return what needs hang on, of one job or of all."""
    with open_book().read() as connection:
        return _words(connection, job)


def _words(connection: Connection, job: int = 0) -> ShelfWords:
    held = stock.list_holdings(connection)
    return ShelfWords(
        keys=frozenset(holding.item.key for holding in held),
        taken=stock.taken_for_jobs(connection),
        events=tickets.read_piece_events(connection, job),
        substitutes=purchases.read_substitutes(connection, job),
    )


def _holding(connection: Connection, number: int) -> Holding:
    item = stock.read_item(connection, number)
    held = stock.list_holdings(connection, item.key.kind)
    return next(h for h in held if h.item.id == number)


def _lot(holding: Holding, place: str) -> Lot:
    """Return the lot at a place, or the only one there is."""
    if place or not holding.lots:
        name = place or SHELF
        return next((lot for lot in holding.lots if lot.place == name), Lot(name, 0))
    if len(holding.lots) > 1:
        raise InputError(
            _("{label} lies in several places").format(label=holding.item.label),
            remedy=_("name one of them: {places}").format(
                places=", ".join(lot.place for lot in holding.lots)
            ),
        )
    return holding.lots[0]


def _new_lots(holding: Holding, units: int, place: str) -> list[Lot]:
    item = holding.item
    if not item.metres_each:
        only = holding.lots[0].place if len(holding.lots) == 1 else SHELF
        return [Lot(place or only, units)]
    word = _("cone") if item.key.kind == SupplyKind.THREAD else _("bobbin")
    first = len(holding.lots) + 1
    where = f"{place}, " if place else ""
    return [Lot(f"{where}{word} {first + i}", item.metres_each) for i in range(units)]


def _daily_use(connection: Connection) -> tuple[DailyUse, ...]:
    """Return what was used of each thing in a day over the last ``USE_DAYS``."""
    since: datetime = now() - timedelta(days=USE_DAYS)
    used: dict[int, dict[date, int]] = defaultdict(lambda: defaultdict(int))
    for move in stock.read_movements(connection, since=since):
        if move.cause in (Cause.TAKEN, Cause.SPOILED):
            used[move.item][move.at.date()] -= move.change
    keys = {h.item.id: h.item.key for h in stock.list_holdings(connection)}
    found = []
    for item in sorted(used):
        days = [*used[item].values(), *[0] * (USE_DAYS - len(used[item]))]
        found.append(DailyUse(keys[item], statistics.fmean(days), statistics.pstdev(days)))
    return tuple(found)


def _consents(
    connection: Connection, jobs: Sequence[Job], words: ShelfWords, held: Sequence[Holding]
) -> dict[tuple[int, int, SupplyKey], Yes]:
    """Return where consent stands: what was answered, and who said yes once for all."""
    found: dict[tuple[int, int, SupplyKey], Yes] = {}
    for job in jobs:
        if job.customer and (
            Consent.SUBSTITUTES in read_customer(connection, job.customer).consent
        ):
            for line in job.lines:
                for holding in held:
                    found[job.id, line.number, holding.item.key] = Yes.ONCE_FOR_ALL
    for said in words.substitutes:
        found[said.job, said.line, said.key] = said.answer
    return found


def no_such_line(job: Job, line: int) -> JobError:
    """Return the fault of naming a line that a job does not have."""
    return JobError(
        _("there is no line {number}").format(number=line),
        where=_("job {number}").format(number=job.id),
        remedy=_("its lines are: {there}").format(
            there=", ".join(str(one.number) for one in job.lines) or _("none")
        ),
    )
