"""What the shop promises of prices, stock, tickets and logs holds in either database.

The same promises are proved of the pure rules with many more cases; here the rows are asked.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.store.job_writing import NOON
from tests.web.pictures import pear_png

from firstpiece.errors import InputError
from firstpiece.model.order import OrderLine
from firstpiece.model.stock import Cause, Lot, StockItem, SupplyKey, SupplyKind, fold_movements
from firstpiece.model.ticket import PieceStep
from firstpiece.shop import job_book, job_design, job_order, stock_entry, tickets
from firstpiece.shop.book import open_book
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.store import stock
from firstpiece.store.replay import replay_faults
from firstpiece.store.tickets import read_piece_events

KEY = SupplyKey(SupplyKind.BLANK, "apron-natural", "natural", "M")
MOVES = st.lists(
    st.tuples(
        st.sampled_from(["A1", "B2"]),
        st.integers(-8, 8).filter(bool),
        st.sampled_from(list(Cause)),
        st.sampled_from(["", "", "one had a hole"]),
    ),
    max_size=12,
)


@given(moves=MOVES)
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_stock_is_never_negative_without_a_logged_reason(store, moves):
    with store.write() as connection:
        item = stock.find_item(connection, KEY) or stock.add_item(connection, StockItem(0, KEY))
    for place, change, cause, reason in moves:
        # A refused move leaves no trace, so each is a transaction of its own.
        try:
            with store.write() as connection:
                stock.move(connection, item, Lot(place, change), cause=cause, at=NOON,
                           why=(reason, 0))  # fmt: skip
        except InputError:
            continue
    with store.read() as connection:
        log = stock.read_movements(connection)
        (held,) = stock.list_holdings(connection)
        assert {(item.id, lot.place): lot.count for lot in held.lots} == fold_movements(log)
        assert all(move.reason for move in log if move.after < 0 and move.change < 0)
        assert all(move.reason for move in log if move.cause == Cause.COUNTED)
        assert replay_faults(connection) == ()


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """One folder for both databases: what was planned once is looked up."""
    return tmp_path_factory.mktemp("home")


@pytest.fixture
def agreed(home, new_address, engine_name, monkeypatch):
    monkeypatch.setenv("FIRSTPIECE_HOME", str(home))
    monkeypatch.setenv("FIRSTPIECE_STORE", new_address(engine_name))
    job = job_book.open_job(title="Harvest aprons")
    job_order.put_line(job.id, OrderLine(0, "apron-natural", 1, size="M"))
    job_design.revise_job(job.id, PrepareRequest(pear_png(), "pear.png", 40.0))
    prices = []
    for count in (1, 2, 5, 12, 48, 200):
        job_order.change_line(job.id, 1, {"count": count})
        prices.append(job_order.quote_job(job.id).quote.each)
    assert all(more <= few for few, more in pairwise(prices))
    job_order.change_line(job.id, 1, {"count": 2})
    job_order.offer_price(job.id)
    job_order.agree_job(job.id, said_by="Ida")
    stock_entry.add_entry(stock_entry.StockEntry("blank", "apron-natural", size="M"))
    yield job.id
    open_book().close()


def test_a_ticket_of_another_plan_never_passes(agreed):
    """Neither a ticket of an older plan nor another plan in the machine; all of it is logged."""
    old = tickets.list_tickets(agreed)[0]
    others = [f"{n:08x}" for n in range(0, 2**32, 2**32 // 40)]
    for plan in (p for p in others if p != old.plan_id):
        found = tickets.check_ticket(old.code, bag="apron-natural, M", design=plan)
        assert (found.agrees, found.headline) == (False, "WRONG DESIGN")
    job_design.revise_job(agreed, PrepareRequest(b"", "", 45.0), reason="larger")
    assert tickets.check_ticket(old.code, bag="apron-natural, M", design=old.plan_id).ticket is None
    job_order.offer_price(agreed)
    job_order.agree_job(agreed, said_by="Ida")
    new = tickets.list_tickets(agreed)[0]
    assert new.plan_id != old.plan_id
    for design in (old.plan_id, new.plan_id):
        found = tickets.check_ticket(old.code, bag="apron-natural, M", design=design)
        assert found.headline == "OLD TICKET"
    assert tickets.check_ticket(new.code, bag="apron-natural, M", design=new.plan_id).agrees
    with open_book().read() as connection:
        steps = [event.step for event in read_piece_events(connection, agreed)]
        assert steps.count(PieceStep.STARTED) == 1
        assert len(steps) >= len(others) + 3
        assert replay_faults(connection) == ()
