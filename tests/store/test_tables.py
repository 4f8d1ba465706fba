"""All customers and jobs out to tables and into another store: the same, in either database."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.model.job_logs import WORDS, histories
from tests.store.conftest import ENGINES
from tests.store.job_writing import NOON, put_customer, put_history, put_job

from firstpiece.errors import FirstpieceError
from firstpiece.model.customer import Customer
from firstpiece.model.job_entry import entry_of
from firstpiece.shop.job_tables import export_tables, import_tables
from firstpiece.store.customers import list_customers
from firstpiece.store.jobs import read_all_jobs
from firstpiece.store.replay import replay_faults


def content(store):
    with store.read() as connection:
        entries = [entry_of(job) for job in read_all_jobs(connection)]
        customers = [(c.id, c.name, c.writes_by, c.notes, c.consent)
                     for c in list_customers(connection, limit=999)]  # fmt: skip
        assert replay_faults(connection) == ()
    return entries, sorted(customers)


@pytest.mark.parametrize("target_name", ENGINES)
@settings(max_examples=6, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(people=st.lists(WORDS, max_size=3), written=st.lists(histories(most=6), max_size=3))
def test_export_then_import_is_identity(store, new_store, target_name, people, written):
    for name in people:
        put_customer(store, name)
    for history in written:
        put_history(store, history)
    target = new_store(target_name)
    tables = export_tables(store)
    done = import_tables(tables, store=target, at=NOON)
    assert content(target) == content(store)
    assert export_tables(target) == tables
    assert len(done.jobs) == len(content(store)[0])
    # The next number is behind the last one imported, as in the store it came from.
    assert put_job(target).id == len(done.jobs) + 1
    target.close()


def test_a_fault_anywhere_imports_nothing(store):
    put_customer(store)
    put_job(store, due=date(2031, 5, 1))
    tables = export_tables(store)
    before = content(store)
    for wrong in (
        tables,
        {**tables, "jobs.csv": tables["jobs.csv"].replace("2031-05-01", "soon")},
        {"jobs.csv": "number,customer,title,state,due,message\n,,a,,,\n,99,b,,,\n"},
    ):
        with pytest.raises(FirstpieceError):
            import_tables(wrong, store=store, at=NOON)
        assert content(store) == before


def test_rows_without_numbers_get_new_ones(store):
    put_job(store)
    made = import_tables(
        {"customers.csv": "number,name,writes_by,notes,consent\n,Ida,,,\n,Bo,,,\n",
         "jobs.csv": "number,customer,title,state,due,message\n,2,caps,,,\n"},
        store=store, at=NOON,
    )  # fmt: skip
    assert (made.customers, made.jobs) == ((1, 2), (2,))
    assert content(store)[1][1] == (2, "Bo", "", "", Customer(0, "x").consent)
