"""Stock, purchases, substitutes and tickets as rows, in either database."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from moneyed import Money
from sqlalchemy import delete, inspect, select, update
from sqlalchemy.exc import DatabaseError
from tests.store.conftest import NOON

from firstpiece.errors import InputError, JobError, StaleError
from firstpiece.model.buying import Incoming, Yes
from firstpiece.model.job_rules import open_job
from firstpiece.model.stock import (
    Cause,
    Cloth,
    Feel,
    Lot,
    StockItem,
    Supplier,
    SupplyKey,
    SupplyKind,
    fold_movements,
)
from firstpiece.model.ticket import PieceStep
from firstpiece.store import purchases, stock, tickets
from firstpiece.store.jobs import create_job
from firstpiece.store.replay import replay_faults
from firstpiece.store.schema import METADATA
from firstpiece.store.stock_tables import STOCK_LOG, STOCK_LOTS, TICKET_LOG

TEE = StockItem(
    0,
    SupplyKey(SupplyKind.BLANK, "tee-white", "white", "M"),
    supplier="the mill",
    pack=6,
    each=Money("3.10", "GBP"),
    cloth=Cloth("tee", (("cotton", 90), ("elastane", 10)), 180.5, Feel.SOFT),
    barcode="5012345678900",
)
GREEN = StockItem(0, SupplyKey(SupplyKind.THREAD, "poly-40", "leaf green"), metres_each=5000)


def test_the_tables_are_those_of_the_schema(store):
    with store.read() as connection:
        inspector = inspect(connection)
        for table in METADATA.sorted_tables:
            columns = {c["name"]: c["nullable"] for c in inspector.get_columns(table.name)}
            assert columns == {c.name: c.nullable for c in table.columns}, table.name
            wanted = {i.name for i in table.indexes}
            assert wanted <= {i["name"] for i in inspector.get_indexes(table.name)}, table.name


def test_an_item_comes_back_as_it_went(store):
    with store.write() as connection:
        kept = stock.add_item(connection, TEE)
        thread = stock.add_item(connection, GREEN)
    assert (kept.id, thread.id) == (1, 2)
    with store.read() as connection:
        assert stock.read_item(connection, 1) == kept
        assert stock.find_item(connection, GREEN.key) == thread
        assert stock.find_barcode(connection, "5012345678900") == kept
        assert stock.find_barcode(connection, "") is None
    with store.write() as connection, pytest.raises(JobError, match="in stock already, as item 1"):
        stock.add_item(connection, TEE)


def test_two_pages_do_not_overwrite_each_other(store):
    with store.write() as connection:
        kept = stock.add_item(connection, TEE)
        newer = StockItem(kept.id, kept.key, label="white tee", pack=3)
        assert stock.change_item(connection, newer, expected=1).version == 2
        with pytest.raises(StaleError):
            stock.change_item(connection, kept, expected=1)


def test_lots_are_what_the_log_adds_up_to(store):
    with store.write() as connection:
        item = stock.add_item(connection, TEE)
        job = create_job(connection, open_job(title="aprons"), at=NOON).id
        for place, change, cause, why in (
            ("A1", 12, Cause.RECEIVED, ("", 0)),
            ("B2", 6, Cause.RECEIVED, ("", 0)),
            ("A1", -5, Cause.TAKEN, ("", job)),
            ("B2", -1, Cause.COUNTED, ("one had a hole", 0)),
            ("A1", 1, Cause.RETURNED, ("", job)),
        ):
            stock.move(connection, item, Lot(place, change), cause=cause, at=NOON, why=why)
    with store.write() as connection, pytest.raises(InputError, match="9 cannot be taken where 8"):
        stock.move(connection, item, Lot("A1", -9), cause=Cause.TAKEN, at=NOON)
    with store.write() as connection, pytest.raises(InputError, match="without a reason"):
        stock.move(connection, item, Lot("A1", -1), cause=Cause.COUNTED, at=NOON)
    with store.read() as connection:
        counts = {(i, p): n for i, p, n in connection.execute(select(STOCK_LOTS))}
        assert counts == fold_movements(stock.read_movements(connection))
        assert counts == {(1, "A1"): 8, (1, "B2"): 5}
        assert stock.taken_for_jobs(connection) == {(job, TEE.key): 4}
        assert len(stock.read_movements(connection, job=job)) == 2
        (holding,) = stock.list_holdings(connection, SupplyKind.BLANK)
        assert (holding.count, holding.lots) == (13, (Lot("A1", 8), Lot("B2", 5)))


def test_a_count_changed_behind_the_log_is_seen(store):
    with store.write() as connection:
        item = stock.add_item(connection, TEE)
        stock.move(connection, item, Lot("A1", 12), cause=Cause.RECEIVED, at=NOON)
    with store.read() as connection:
        assert replay_faults(connection) == ()
    with store.write() as connection:
        connection.execute(update(STOCK_LOTS).values(count=13))
    with store.read() as connection:
        assert replay_faults(connection) == ("stock item 1, A1: its log says 12",)


@pytest.mark.parametrize("change", [delete, update])
def test_the_logs_are_only_added_to(store, change):
    with store.write() as connection:
        item = stock.add_item(connection, TEE)
        job = create_job(connection, open_job(title="aprons"), at=NOON).id
        stock.move(connection, item, Lot("A1", 1), cause=Cause.RECEIVED, at=NOON)
        tickets.add_piece_event(
            connection, (job, 1, 1), PieceStep.PRINTED, plan_id="3f9a1c2d", figures={}, at=NOON
        )
    for table in (STOCK_LOG, TICKET_LOG):
        statement = change(table) if change is delete else update(table).values(number=9)
        with pytest.raises(DatabaseError, match="only added to"), store.engine.begin() as raw:
            raw.execute(statement)


def test_purchases_are_settled_by_what_arrives(store):
    later, sooner = date(2031, 4, 20), date(2031, 4, 10)
    with store.write() as connection:
        item = stock.add_item(connection, TEE)
        for count, day in ((12, later), (6, sooner)):
            purchases.add_purchase(connection, item.id, count=count, at=NOON, arrives=day)
        purchases.settle_purchases(connection, item.id, 8)
    with store.read() as connection:
        assert purchases.open_purchases(connection) == (Incoming(TEE.key, 10, later, 1),)


def test_what_a_customer_said_about_a_substitute(store):
    with store.write() as connection:
        item = stock.add_item(connection, TEE)
        job = create_job(connection, open_job(title="aprons"), at=NOON).id
        purchases.put_substitute(connection, (job, 1), item.id, answer=Yes.ASKED, at=NOON)
        asked = purchases.read_substitutes(connection, job)
        later = NOON + timedelta(hours=1)
        purchases.put_substitute(connection, (job, 1), item.id, answer=Yes.GIVEN, at=later)
        (said,) = purchases.read_substitutes(connection)
    assert [a.answer for a in asked] == [Yes.ASKED]
    assert (said.answer, said.asked_at, said.answered_at) == (Yes.GIVEN, NOON, later)
    assert said.key == TEE.key


def test_suppliers_and_tickets_come_back(store):
    mill = Supplier("the mill", 5, Money("6.50", "GBP"), "Mondays only")
    with store.write() as connection:
        job = create_job(connection, open_job(title="aprons"), at=NOON).id
        stock.put_supplier(connection, Supplier("the mill", 9))
        stock.put_supplier(connection, mill)
        kept = tickets.add_piece_event(
            connection, (job, 2, 3), PieceStep.SPOILED, plan_id="3f9a1c2d",
            figures={"cause": "stain"}, at=NOON,
        )  # fmt: skip
    with store.read() as connection:
        assert stock.list_suppliers(connection) == (mill,)
        assert tickets.read_piece_events(connection, job) == (kept,)
        assert tickets.read_piece_events(connection, job + 1) == ()
