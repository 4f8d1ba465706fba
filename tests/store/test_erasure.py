"""Erased, a person is gone: from the rows, from the search, from the file's bytes; figures stay."""

from __future__ import annotations

import pytest
from moneyed import Money
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from tests.model.test_job import DESIGN
from tests.store.job_writing import NOON, act, get_job, put_customer, put_job, put_picture

from firstpiece.errors import JobError, StaleError
from firstpiece.model import job_rules as rules
from firstpiece.model.job_erasure import KnownWords
from firstpiece.model.order import Colorway, OrderLine
from firstpiece.model.stock import Cause, Lot, StockItem, SupplyKey, SupplyKind
from firstpiece.model.ticket import PieceStep
from firstpiece.store import stock, tickets
from firstpiece.store.customers import (
    change_customer,
    find_customers,
    list_customers,
    read_customer,
)
from firstpiece.store.erasure import erase_customer
from firstpiece.store.jobs import JobFilter, find_jobs, list_jobs
from firstpiece.store.log import read_log
from firstpiece.store.replay import replay_faults

PERSON = ("Quenilda", "Zwetschgenbaum", "gatehouse", "marzipan", "Ottokar", "velvetpost")


@pytest.fixture
def filled(store):
    """A store with a person everywhere a person can be, and somebody else beside."""
    one = put_customer(store, "Quenilda Zwetschgenbaum", writes_by="velvetpost 7",
                       notes="at the gatehouse")  # fmt: skip
    other = put_customer(store, "Windfall Row")
    job = put_job(store, "For Quenilda", customer=one.id, message="with marzipan please")
    line = OrderLine(0, "apron-natural", 4, size="L", names=("Ottokar", "Quenilda"))
    hers = OrderLine(0, "apron-natural", 2, "as Ottokar's", "gatehouse fit", "on Quenilda's bib",
                     colorway="marzipan")  # fmt: skip
    threads = ("rust", "straw")[: len(DESIGN.threads)]
    for action in (
        lambda j: rules.put_line(j, line),
        lambda j: rules.revise(j, DESIGN),
        lambda j: rules.set_colorway(j, Colorway("marzipan", threads)),
        lambda j: rules.put_line(j, hers),
        lambda j: rules.ask(j, "the gatehouse or the field, Quenilda?"),
        lambda j: rules.answer(j, "gatehouse"),
        lambda j: rules.note(j, "Ottokar rang"),
        lambda j: rules.agree(j, said_by="Quenilda by velvetpost", price=Money("40", "GBP")),
    ):
        act(store, job.id, action)
    write_about_pieces(store, job.id)
    put_picture(store, job.id, b"only hers", name="Zwetschgenbaum.jpg")
    put_picture(store, job.id, b"shared", name="marzipan.jpg")
    theirs = put_job(store, "Theirs", customer=other.id)
    put_picture(store, theirs.id, b"shared", name="ours.jpg")
    return store


def write_about_pieces(store, job):
    """Remark on pieces, scan bags and take from stock, with the person in every free word."""
    key = SupplyKey(SupplyKind.BLANK, "apron-natural", "natural", "L")
    with store.write() as connection:
        item = stock.add_item(connection, StockItem(0, key))
        why = ("one more for Quenilda", job)
        stock.move(connection, item, Lot("A1", -1), cause=Cause.TAKEN, at=NOON, why=why)
        for step, figures in (
            (PieceStep.REFUSED, {"wrong": ["garment"], "bag": "Ottokar's", "design": "velvetpost"}),
            (PieceStep.STARTED, {"bag": "apron-natural, Ottokar", "design": "12ab34cd"}),
            (PieceStep.SPOILED, {"cause": "stain", "note": "marzipan on it"}),
        ):
            tickets.add_piece_event(
                connection, (job, 1, 1), step, plan_id=DESIGN.plan_id, figures=figures, at=NOON
            )


def test_the_person_goes_and_the_figures_stay(filled):
    before = get_job(filled, 1)
    done = erase_customer(filled, 1, at=NOON)
    assert done.jobs == (1,)
    assert len(done.pictures) == 1
    after = get_job(filled, 1)
    assert after.state == before.state
    assert [(o.count, o.garment, o.size, o.colorway) for o in after.lines] == [
        (4, "apron-natural", "L", ""), (2, "apron-natural", "", "colourway 1")]  # fmt: skip
    assert after.colorways[0].threads == before.colorways[0].threads
    assert [c.name for c in after.agreed.colorways] == ["colourway 1"]
    assert after.agreed.price == Money("40", "GBP")
    assert after.agreed.plan_id == DESIGN.plan_id
    with filled.read() as connection:
        told = repr((after, read_customer(connection, 1), read_log(connection, 1)))
        assert not [word for word in PERSON if word.lower() in told.lower()]
        assert replay_faults(connection) == ()
        listed = list_jobs(connection, JobFilter(customer=1), limit=9)
        assert [j.customer_name for j in listed] == [""]


def test_what_the_shop_knows_stays_in_the_lines(filled):
    """Colours, sizes and places of its own lists tell of nobody."""
    known = KnownWords.of(["Gatehouse FIT", "on quenilda's bib"])
    erase_customer(filled, 1, at=NOON, known=known)
    line = get_job(filled, 1).lines[1]
    assert (line.color, line.size, line.placement) == ("", "gatehouse fit", "on Quenilda's bib")


def test_pieces_keep_their_figures_and_stock_its_reasons(filled):
    erase_customer(filled, 1, at=NOON)
    with filled.read() as connection:
        steps = [(e.step, e.figures) for e in tickets.read_piece_events(connection, 1)]
        moves = [(m.change, m.after, m.reason) for m in stock.read_movements(connection, job=1)]
    assert steps == [
        (PieceStep.REFUSED, {"wrong": ["garment"]}),
        (PieceStep.STARTED, {"design": "12ab34cd"}),
        (PieceStep.SPOILED, {"cause": "stain"}),
    ]
    assert moves == [(-1, -1, "erased")]


def test_no_log_can_be_changed_afterwards(filled):
    erase_customer(filled, 1, at=NOON)
    for table in ("job_log", "ticket_log", "stock_log"):
        change = text(f"UPDATE {table} SET job_id = job_id WHERE job_id = 1")
        with pytest.raises(DBAPIError, match="only added to"), filled.engine.begin() as raw:
            raw.execute(change)


def test_nobody_is_found_any_more(filled):
    erase_customer(filled, 1, at=NOON)
    with filled.read() as connection:
        for word in PERSON:
            assert find_jobs(connection, word, limit=9) == (), word
            assert find_customers(connection, word, limit=9) == (), word
        assert [c.id for c in list_customers(connection, limit=9)] == [2]


def test_pictures_go_unless_another_customer_uses_them(filled):
    erase_customer(filled, 1, at=NOON)
    assert [filled.pictures.get(key) for key in filled.pictures] == [b"shared"]
    assert get_job(filled, 2).pictures[0].name == "ours.jpg"


def test_no_byte_of_the_file_still_tells_of_the_person(filled):
    if not filled.is_sqlite:
        pytest.skip("PostgreSQL keeps its files to itself")
    from pathlib import Path

    path = Path(filled.engine.url.database)

    def told():
        files = [p for p in path.parent.glob(path.name + "*") if p.is_file()]
        data = b"".join(p.read_bytes() for p in files).lower()
        return [word for word in PERSON if word.lower().encode() in data]

    assert told() == list(PERSON)
    erase_customer(filled, 1, at=NOON)
    assert told() == []


def test_no_table_still_tells_of_the_person(filled):
    from sqlalchemy import inspect

    erase_customer(filled, 1, at=NOON)
    with filled.read() as connection:
        for table in inspect(connection).get_table_names():
            rows = repr(connection.execute(text(f"SELECT * FROM {table}")).fetchall()).lower()
            assert not [word for word in PERSON if word.lower() in rows], table


def test_erasing_twice_and_changing_the_erased(filled):
    erase_customer(filled, 1, at=NOON)
    assert erase_customer(filled, 1, at=NOON).pictures == ()
    with filled.write() as connection, pytest.raises(JobError, match="was erased"):
        change_customer(connection, read_customer(connection, 2).__class__(1, "X"), expected=None)
    with pytest.raises(JobError, match="no customer 1"):
        put_job(filled, customer=1)
    with pytest.raises(StaleError):
        erase_customer(filled, 2, at=NOON, expected=9)
    with pytest.raises(JobError, match="no customer 77"):
        erase_customer(filled, 77, at=NOON)
