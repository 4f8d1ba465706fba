"""A store of every released schema comes up to the newest with all it holds, in either database.

``released/`` holds, for each schema, a store as that release wrote it: an SQLite file, and what
PostgreSQL's own pg_dump wrote. ``tools/release_schema.py`` adds the next; none is ever changed.
"""

from __future__ import annotations

import subprocess
from pathlib import Path
from shutil import copyfile

import pytest
from sqlalchemy import inspect, text
from tests.store.job_writing import NOON, put_job
from tools.system_packages import find_program

from firstpiece.errors import StoreError
from firstpiece.store import migrate as migrations
from firstpiece.store.connection import open_store_engine
from firstpiece.store.database import open_store
from firstpiece.store.jobs import JobFilter, find_jobs, list_jobs, read_job
from firstpiece.store.log import read_log
from firstpiece.store.replay import replay_faults

RELEASED = Path(__file__).with_name("released")
SCHEMAS = sorted(int(path.stem) for path in RELEASED.glob("*.sqlite"))


def load_released(schema, engine, address):
    if engine == "sqlite":
        copyfile(RELEASED / f"{schema:04d}.sqlite", address)
        return
    done = subprocess.run(
        [find_program("psql"), "-q", "-v", "ON_ERROR_STOP=1", "-f",
         RELEASED / f"{schema:04d}.sql", address],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def test_every_schema_is_kept_but_perhaps_the_newest():
    """The newest may still be in the making."""
    kept = {p.name for p in RELEASED.iterdir()}
    names = {f"{n:04d}.{kind}" for n in range(1, migrations.HEAD) for kind in ("sqlite", "sql")}
    assert names <= kept
    assert kept <= names | {f"{migrations.HEAD:04d}.{kind}" for kind in ("sqlite", "sql")}


@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_released_store_comes_up_with_all_it_holds(schema, engine_name, new_address, tmp_path):
    address = new_address(engine_name)
    load_released(schema, engine_name, address)
    saved = []
    store = open_store(
        address, pictures=tmp_path / "p", at=NOON,
        before_migration=lambda _store, number: saved.append(number),
    )  # fmt: skip
    assert saved == ([schema] if schema < migrations.HEAD else [])
    with store.read() as connection:
        assert migrations.schema_number(connection) == migrations.HEAD
        assert replay_faults(connection) == ()
        jobs = list_jobs(connection, JobFilter(), limit=10)
        assert [(j.id, str(j.state), j.customer_name, j.n_pieces) for j in jobs] == [
            (1, "agreed", "Windfall Row", 5), (2, "drafted", "Windfall Row", 5),
            (3, "dropped", "", 0)]  # fmt: skip
        assert read_job(connection, 1).agreed.said_by == "Ida, by letter"
        assert len(read_log(connection, 1)) == 8
        assert [j.id for j in find_jobs(connection, "quentin", limit=9)] == [1]
    assert put_job(store, "the next").id == 4
    store.close()


def test_a_fault_in_a_migration_leaves_the_store_as_it_was(
    new_address, engine_name, tmp_path, monkeypatch
):
    address = new_address(engine_name)
    store = open_store(address, pictures=tmp_path, at=NOON)
    put_job(store)

    class Broken:
        NAME = "broken"

        @staticmethod
        def upgrade(op, dialect):
            op.execute("CREATE TABLE half (x INTEGER)")
            raise ZeroDivisionError

    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, Broken))
    with pytest.raises(ZeroDivisionError):
        migrations.migrate(store.engine, at=NOON, up_to=migrations.HEAD + 1)
    assert "half" not in inspect(store.engine).get_table_names()
    with store.read() as connection:
        assert migrations.schema_number(connection) == migrations.HEAD
    store.close()


def test_a_fault_in_the_backup_before_stops_the_migration(new_address, engine_name, tmp_path):
    address = new_address(engine_name)
    engine = open_store_engine(address)
    migrations.migrate(engine, at=NOON, up_to=1)

    def fail(_store, _number):
        raise ZeroDivisionError

    if migrations.HEAD > 1:
        with pytest.raises(ZeroDivisionError):
            open_store(address, pictures=tmp_path, at=NOON, before_migration=fail)
    with engine.connect() as connection:
        assert migrations.schema_number(connection) == 1
    engine.dispose()


def test_a_store_of_a_newer_firstpiece_is_left_alone(new_address, engine_name, tmp_path):
    address = new_address(engine_name)
    store = open_store(address, pictures=tmp_path, at=NOON)
    with store.write() as connection:
        newest = f"UPDATE migrations SET number = 99 WHERE number = {migrations.HEAD}"
        connection.execute(text(newest))
    store.close()
    with pytest.raises(StoreError, match="newer Firstpiece"):
        open_store(address, pictures=tmp_path, at=NOON)


def test_two_that_open_a_new_store_at_once_both_succeed(new_address, engine_name, tmp_path):
    import threading

    address = new_address(engine_name)
    made, faults = [], []

    def work():
        try:
            made.append(open_store(address, pictures=tmp_path, at=NOON))
        except Exception as fault:
            faults.append(repr(fault.__cause__ or fault))

    hands = [threading.Thread(target=work) for _ in range(4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert faults == []
    for store in made:
        store.close()
