"""The result shelf: keeps, forgets the oldest, survives damage."""

from __future__ import annotations

import sqlite3
import threading

import numpy as np
import pytest
from sqlalchemy import text

from firstpiece.store.connection import open_engine, sqlite_version
from firstpiece.store.home import home_folder
from firstpiece.store.results import ResultShelf


def test_a_result_outlives_the_process(tmp_path):
    path = tmp_path / "deep" / "results.sqlite"
    ResultShelf(path).put("k", "planning", (1, 2.5, "three"))
    assert ResultShelf(path).get("k") == (1, 2.5, "three")
    assert ResultShelf(path).get("other") is None


def test_without_a_file_results_stay_in_memory():
    shelf = ResultShelf(None)
    shelf.put("k", "planning", 7)
    assert shelf.get("k") == 7
    assert not shelf.is_on_disk


def test_the_oldest_results_leave_first(tmp_path):
    path = tmp_path / "results.sqlite"
    shelf = ResultShelf(path, most_bytes=40_000)
    noise = np.random.default_rng(5)
    for i in range(6):
        shelf.put(str(i), "planning", noise.integers(0, 255, 10_000).astype(np.uint8))
    kept = [i for i in range(6) if ResultShelf(path).get(str(i)) is not None]
    assert kept == [3, 4, 5]


def test_a_damaged_row_is_worked_out_anew(tmp_path):
    path = tmp_path / "results.sqlite"
    ResultShelf(path).put("k", "planning", 1)
    with sqlite3.connect(path) as db:
        db.execute("UPDATE results SET value = x'00'")
    db.close()
    assert ResultShelf(path).get("k") is None
    ResultShelf(path).put("k", "planning", 2)
    assert ResultShelf(path).get("k") == 2


@pytest.mark.parametrize("content", [b"not a database at all" * 100, b""])
def test_a_file_that_is_no_database_does_not_stop_the_work(tmp_path, content):
    path = tmp_path / "results.sqlite"
    path.write_bytes(content)
    shelf = ResultShelf(path)
    shelf.put("k", "planning", 1)
    assert shelf.get("k") == 1


def test_an_unwritable_place_does_not_stop_the_work(tmp_path):
    (tmp_path / "file").write_text("in the way")
    shelf = ResultShelf(tmp_path / "file" / "results.sqlite")
    shelf.put("k", "planning", 1)
    assert shelf.get("k") == 1
    assert not shelf.is_on_disk


def test_threads_share_one_shelf(tmp_path):
    shelf = ResultShelf(tmp_path / "results.sqlite")
    faults = []

    def fill(start):
        try:
            for i in range(start, start + 20):
                shelf.put(str(i), "planning", i)
                assert shelf.get(str(i)) == i
        except Exception as fault:
            faults.append(fault)

    threads = [threading.Thread(target=fill, args=(100 * n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert all(
        ResultShelf(tmp_path / "results.sqlite").get(str(n * 100)) == n * 100 for n in range(4)
    )


def test_the_file_is_opened_with_its_guards_on(tmp_path):
    with open_engine(tmp_path / "a.sqlite").connect() as connection:
        asked = {
            name: connection.scalar(text(f"PRAGMA {name}"))
            for name in ("journal_mode", "foreign_keys", "trusted_schema", "busy_timeout")
        }
    assert asked == {
        "journal_mode": "wal",
        "foreign_keys": 1,
        "trusted_schema": 0,
        "busy_timeout": 5000,
    }


def test_the_home_follows_xdg_and_the_override(monkeypatch, tmp_path):
    # XDG Base Directory Specification 0.8: a relative $XDG_DATA_HOME is ignored.
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("FIRSTPIECE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", "relative")
    assert home_folder() == tmp_path / ".local" / "share" / "firstpiece"
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "xdg"))
    assert home_folder() == tmp_path / "xdg" / "firstpiece"
    monkeypatch.setenv("FIRSTPIECE_HOME", str(tmp_path / "own"))
    assert home_folder() == tmp_path / "own"


def test_this_sqlite_has_strict_tables(tmp_path):
    assert sqlite_version() >= (3, 37, 0)
    ResultShelf(tmp_path / "a.sqlite").put("k", "s", 1)
    with sqlite3.connect(tmp_path / "a.sqlite") as db, pytest.raises(sqlite3.IntegrityError):
        db.execute("UPDATE results SET n_bytes = 'many'")
    db.close()
