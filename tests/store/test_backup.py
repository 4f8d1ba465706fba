"""A backup is whole, is checked, and comes back into either database; damage is never restored."""

from __future__ import annotations

import json
import threading
import zipfile
from shutil import copyfile

import pytest
from hypothesis import HealthCheck, given, settings
from tests.model.job_logs import histories
from tests.store.conftest import ENGINES
from tests.store.job_writing import NOON, act, put_customer, put_history, put_job, put_picture

from firstpiece.errors import InputError, OutputError, StoreError
from firstpiece.model import job_rules as rules
from firstpiece.store.backup import DATABASE, MANIFEST, write_backup
from firstpiece.store.customers import read_customer
from firstpiece.store.erasure import erase_customer
from firstpiece.store.jobs import JobFilter, find_jobs, list_jobs, read_all_jobs
from firstpiece.store.replay import replay_faults
from firstpiece.store.restore import check_backup, restore_backup


def fill(store):
    customer = put_customer(store, "Windfall Row")
    for title in ("aprons", "shirts", "café caps"):
        job = put_job(store, title, customer=customer.id)
        act(store, job.id, lambda j: rules.note(j, "x"))
        put_picture(store, job.id, f"picture of {title}".encode())


def content(store):
    """Everything a store says, however it keeps it."""
    with store.read() as connection:
        return (
            tuple(read_all_jobs(connection)),
            list_jobs(connection, JobFilter(), limit=100),
            find_jobs(connection, "cafe", limit=9),
            tuple((key, store.pictures.get(key)) for key in store.pictures),
        )


@pytest.mark.parametrize("target_name", ENGINES)
def test_a_backup_of_either_comes_back_into_either(new_store, engine_name, target_name, tmp_path):
    source, target = new_store(engine_name), new_store(target_name)
    fill(source)
    path = tmp_path / "out" / "b.zip"
    manifest = write_backup(source, path, at=NOON)
    assert (manifest.n_customers, manifest.n_jobs, manifest.n_log) == (1, 3, 9)
    assert manifest.n_pictures == 3
    assert check_backup(path, at=NOON).manifest == manifest

    put_job(target, "will be gone")
    put_job(target, "too")
    restore_backup(target, path, at=NOON)
    assert content(target) == content(source)
    with target.read() as connection:
        assert replay_faults(connection) == ()
    # Numbers go on behind the highest one restored.
    assert put_job(target, "next").id == 4


@settings(max_examples=15, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(history=histories())
def test_whatever_a_store_holds_a_backup_holds(store, tmp_path, history):
    put_history(store, history)
    path = tmp_path / "b.zip"
    write_backup(store, path, at=NOON)
    before = content(store)
    put_job(store, "after the backup")
    restore_backup(store, path, at=NOON)
    assert content(store) == before


def test_a_backup_taken_while_others_write_is_of_one_moment(store, tmp_path):
    fill(store)
    stop = threading.Event()

    def write():
        while not stop.is_set():
            put_job(store, "busy")

    hand = threading.Thread(target=write)
    hand.start()
    try:
        for i in range(5):
            write_backup(store, tmp_path / f"{i}.zip", at=NOON)
    finally:
        stop.set()
        hand.join()
    for i in range(5):
        check_backup(tmp_path / f"{i}.zip", at=NOON)


def repack(path, *, change):
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)


def forge_row(members):
    """Change a row and put the hash right: only replaying the log can tell."""
    import hashlib
    import sqlite3
    import tempfile
    from contextlib import closing
    from pathlib import Path

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "s.sqlite"
        file.write_bytes(members[DATABASE])
        with closing(sqlite3.connect(file)) as database:
            database.execute("UPDATE jobs SET n_pieces = 77")
            database.commit()
        members[DATABASE] = file.read_bytes()
    told = json.loads(members[MANIFEST])
    told["sha256"] = hashlib.sha256(members[DATABASE]).hexdigest()
    told["n_bytes"] = len(members[DATABASE])
    members[MANIFEST] = json.dumps(told).encode()


def change_picture(members):
    name = next(n for n in members if n.startswith("pictures/"))
    members[name] = b"another"


DAMAGE = {
    "its database is not": lambda m: m.update({DATABASE: m[DATABASE][:-4096]}),
    "a picture was changed": change_picture,
    "this is not a backup": lambda m: m.pop(MANIFEST),
    "made by a newer": lambda m: m.update(
        {MANIFEST: m[MANIFEST].replace(b'"format": 1', b'"format": 9')}
    ),
    "cut short or changed": lambda m: m.pop(DATABASE),
    "its log says otherwise": forge_row,
}


@pytest.mark.parametrize("words", DAMAGE)
def test_damage_is_told_and_the_store_stays_as_it_was(new_store, tmp_path, words):
    store = new_store("sqlite")
    fill(store)
    path = tmp_path / "b.zip"
    write_backup(store, path, at=NOON)
    put_job(store, "since then")
    before = content(store)
    repack(path, change=DAMAGE[words])
    for action in (lambda: check_backup(path, at=NOON),
                   lambda: restore_backup(store, path, at=NOON)):  # fmt: skip
        with pytest.raises(StoreError, match=words):
            action()
    assert content(store) == before


def test_a_cut_file_a_letter_and_nothing_are_told(new_store, tmp_path):
    store = new_store("sqlite")
    fill(store)
    path = tmp_path / "b.zip"
    write_backup(store, path, at=NOON)
    whole = path.read_bytes()
    for cut in (0, 10, len(whole) // 2, len(whole) - 5):
        path.write_bytes(whole[:cut])
        with pytest.raises(StoreError):
            check_backup(path, at=NOON)
    with pytest.raises(InputError, match="no such backup"):
        check_backup(tmp_path / "none.zip", at=NOON)
    with pytest.raises(InputError, match="a folder"):
        check_backup(tmp_path, at=NOON)


def test_a_bit_turned_anywhere_in_the_database_is_noticed(new_store, tmp_path):
    store = new_store("sqlite")
    fill(store)
    path = tmp_path / "b.zip"
    write_backup(store, path, at=NOON)
    with zipfile.ZipFile(path) as archive:
        size = archive.getinfo(DATABASE).file_size
    for at in range(100, size, size // 7):

        def turn(members, at=at):
            data = bytearray(members[DATABASE])
            data[at] ^= 1
            members[DATABASE] = bytes(data)

        broken = copyfile(path, tmp_path / "broken.zip")
        repack(broken, change=turn)
        with pytest.raises(StoreError, match="damaged"):
            check_backup(broken, at=NOON)


def test_restoring_erases_again_who_was_erased_since(store, tmp_path):
    fill(store)
    put_customer(store, "Greengage")
    path = tmp_path / "b.zip"
    write_backup(store, path, at=NOON)
    erase_customer(store, 1, at=NOON)
    assert restore_backup(store, path, at=NOON).erased == (1,)
    with store.read() as connection:
        assert read_customer(connection, 1).is_erased
        assert read_customer(connection, 2).name == "Greengage"
    assert list(store.pictures) == []


def test_a_damaged_store_makes_no_backup(new_store, tmp_path):
    store = new_store("sqlite")
    for i in range(200):
        put_job(store, f"a job with a long title to fill pages {i}")
    store.close()
    from pathlib import Path

    file = Path(store.engine.url.database)
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()
    data = bytearray(file.read_bytes())
    for page in range(4, len(data) // 4096):
        data[page * 4096 : page * 4096 + 64] = b"\xff" * 64
    file.write_bytes(data)
    with pytest.raises(StoreError, match="damaged"):
        write_backup(store, tmp_path / "b.zip", at=NOON)
    assert not (tmp_path / "b.zip").exists()


def test_a_place_that_cannot_be_written_is_told(new_store, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OutputError, match="cannot be written"):
        write_backup(new_store("sqlite"), tmp_path / "file" / "b.zip", at=NOON)


def test_pictures_lost_by_the_store_are_named(new_store, tmp_path):
    store = new_store("sqlite")
    fill(store)
    key = next(iter(store.pictures))
    store.pictures.remove(key)
    manifest = write_backup(store, tmp_path / "b.zip", at=NOON)
    assert manifest.missing == (key,)
    assert manifest.n_pictures == 2
