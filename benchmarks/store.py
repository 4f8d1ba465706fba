"""Print how quick a full store is, and whether a killed writer ever loses what was acknowledged.

``python -m benchmarks.store [--jobs N] [--kills N] [--postgresql]`` fills a store, measures lists,
searches and job pages at 95 %, then kills writers with SIGKILL at random moments and looks for each
action they had been told was done. A bound that is passed is printed, not hidden.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import select
import signal
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import func, insert
from sqlalchemy import select as sql_select
from tests.store.cluster import fresh_database, running_cluster

from benchmarks.quality import RESULTS
from firstpiece.model import job_rules as rules
from firstpiece.model.customer import Customer
from firstpiece.model.job import Job, JobState, fold_events
from firstpiece.model.job_event import EventDraft, EventKind, JobEvent
from firstpiece.model.order import OrderLine
from firstpiece.model.plain_text import search_words
from firstpiece.store.backup import write_backup
from firstpiece.store.customers import add_customer, find_customers, list_customers, read_customer
from firstpiece.store.database import ShopStore, open_store
from firstpiece.store.jobs import (
    JobFilter,
    change_job,
    create_job,
    find_jobs,
    list_jobs,
    projected_row,
    read_job,
)
from firstpiece.store.log import read_log
from firstpiece.store.replay import replay_faults
from firstpiece.store.restore import check_backup
from firstpiece.store.schema import COUNTERS, CUSTOMERS, JOB_LOG, JOB_WORDS, JOBS, plain
from firstpiece.store.search import rebuild_index

NOON = datetime(2031, 4, 5, 12, 0, tzinfo=UTC)
ENTRIES_A_JOB = 4
LIST_BOUND_MS, PAGE_BOUND_MS = 50.0, 100.0
TRIES = 120

NOUNS = ("apron", "shirt", "cap", "bag", "towel", "jacket", "banner", "vest")
TREES = ("plum", "pear", "quince", "medlar", "apple", "cherry", "damson", "mulberry")
PLACES = ("gate", "barn", "field", "press", "cellar", "market", "school", "row")


def fill(store: ShopStore, n_jobs: int, rng: random.Random) -> None:
    """Write customers and jobs with their logs, in bulk but exactly as actions would."""
    n_customers = max(1, n_jobs // 10)
    with store.write() as connection:
        for number in range(1, n_customers + 1):
            name = f"{rng.choice(TREES)} {rng.choice(PLACES)} {number}".title()
            add_customer(connection, Customer(0, name, f"box {number}"), at=NOON)
    for start in range(1, n_jobs + 1, 5000):
        with store.write() as connection:
            jobs, entries, words = [], [], []
            for number in range(start, min(start + 5000, n_jobs + 1)):
                job, log = history(number, rng.randint(1, n_customers), rng)
                jobs.append(projected_row(job))
                entries += [row_of(event) for event in log]
                texts = (str(number), job.title, job.message, str(job.state),
                         *(note.text for note in job.notes), *(x.garment for x in job.lines),
                         *(name for x in job.lines for name in x.names))  # fmt: skip
                words.append({"id": number, "words": " ".join(search_words(*texts))})
            connection.execute(insert(JOBS), jobs)
            connection.execute(insert(JOB_LOG), entries)
            connection.execute(insert(JOB_WORDS), words)
    with store.write() as connection:
        rebuild_index(connection, JOB_WORDS)
        connection.execute(COUNTERS.update().where(COUNTERS.c.name == "job").values(value=n_jobs))
        connection.exec_driver_sql("ANALYZE")


def history(number: int, customer: int, rng: random.Random) -> tuple[Job, tuple[JobEvent, ...]]:
    """Return a job of four entries: opened, lined, noted, and gone one of several ways."""
    title = f"{rng.choice(TREES)} {rng.choice(NOUNS)}s for the {rng.choice(PLACES)}"
    due = date(2031, 1, 1) + timedelta(days=rng.randrange(1500))
    message = f"we need them by the {rng.choice(PLACES)} day, number {rng.randrange(10**6)}"
    drafts = rules.open_job(title=title, customer=customer, message=message, due=due)
    job = grow(Job(), drafts, number)
    log = list(job[1])
    line = OrderLine(0, rng.choice(("apron-natural", "tee-black")), rng.randint(1, 60), size="M",
                     names=(rng.choice(TREES),))  # fmt: skip
    ends = (
        lambda j: rules.drop(j, "moved away"),
        lambda j: rules.ask(j, "which green?"),
        lambda j: rules.note(j, "rang"),
        lambda _j: (EventDraft(EventKind.STEP, {"state": str(rng.choice(list(JobState)))}),),
    )
    for action in (
        lambda j: rules.put_line(j, line),
        lambda j: rules.note(j, f"like last time at the {rng.choice(PLACES)}"),
        rng.choice(ends),
    ):
        job = grow(job[0], action(job[0]), number)
        log += job[1]
    return job[0], tuple(log)


def grow(job: Job, drafts: rules.Drafts, number: int) -> tuple[Job, tuple[JobEvent, ...]]:
    events = tuple(
        JobEvent(number, n, NOON, d.kind, plain(d.figures), plain(d.words))
        for n, d in enumerate(drafts, start=job.version + 1)
    )
    return fold_events(events, job), events


def row_of(event: JobEvent) -> dict[str, object]:
    return {"job_id": event.job, "number": event.number, "at": event.at, "kind": str(event.kind),
            "figures": event.figures, "words": event.words}  # fmt: skip


def measure(store: ShopStore, n_jobs: int, rng: random.Random) -> dict[str, float]:
    """Return milliseconds at 95 % of each thing a person waits for."""
    n_customers = max(1, n_jobs // 10)

    def listed(wanted: JobFilter, *, deep: bool = False) -> None:
        after = (date(2033, 1, 1), n_jobs // 2) if deep else None
        with store.read() as connection:
            assert list_jobs(connection, wanted, limit=51, after=after)

    def found(query: str) -> None:
        with store.read() as connection:
            find_jobs(connection, query, limit=51)
            find_customers(connection, query, limit=51)

    def page(number: int) -> None:
        with store.read() as connection:
            job = read_job(connection, number)
            read_customer(connection, job.customer)
            read_log(connection, number)

    def names() -> None:
        with store.read() as connection:
            list_customers(connection, limit=51)

    def written(number: int) -> None:
        with store.write() as connection:
            change_job(connection, number, lambda j: rules.note(j, "again"), at=NOON)

    looks = {
        "list: open jobs by due date": lambda: listed(JobFilter(is_open=True)),
        "list: open jobs, far down": lambda: listed(JobFilter(is_open=True), deep=True),
        "list: all jobs": lambda: listed(JobFilter()),
        "list: one state": lambda: listed(JobFilter(state=rng.choice(list(JobState)))),
        "list: due by a day, open": lambda: listed(
            JobFilter(is_open=True, due_by=date(2031, 6, 1))
        ),
        "list: a customer's jobs": lambda: listed(JobFilter(customer=rng.randint(1, n_customers))),
        "list: customers": names,
        "search: a common word": lambda: found(rng.choice(NOUNS)),
        "search: a letter": lambda: found(rng.choice("abcdefmp")),
        "search: three words": lambda: found(
            f"{rng.choice(TREES)} {rng.choice(NOUNS)} {rng.choice(PLACES)}"
        ),
        "search: a number": lambda: found(str(rng.randrange(10**6))),
        "search: nothing": lambda: found("zzzz"),
        "page: one job": lambda: page(rng.randint(1, n_jobs)),
        "write: one action": lambda: written(rng.randint(1, n_jobs)),
    }
    return {name: at_95_percent(look) for name, look in looks.items()}


def at_95_percent(look) -> float:
    times = []
    with contextlib.suppress(AssertionError):
        look()
    for _ in range(TRIES):
        begin = time.perf_counter()
        with contextlib.suppress(AssertionError):
            look()
        times.append(1000 * (time.perf_counter() - begin))
    return sorted(times)[int(0.95 * TRIES)]


def write_until_killed(address: str, pictures: Path, out: int, seed: int) -> None:
    """Do one action after another, saying after each what was done; never returns."""
    rng = random.Random(seed)
    store = open_store(address, pictures=pictures, at=NOON)
    os.write(out, b"ready\n")
    while True:
        with store.write() as connection:
            last = connection.scalar(sql_select(func.max(JOBS.c.id))) or 0
        if not last or rng.random() < 0.2:
            data = rng.randbytes(2000)
            key = store.pictures.put(data)
            with store.write() as connection:
                opened = rules.open_job(title=f"killed {seed}")
                kept = EventDraft(
                    EventKind.PICTURE, {"hash": key, "n_bytes": len(data)}, {"name": "a.png"}
                )
                job = create_job(connection, (*opened, kept), at=NOON)
        else:
            number = rng.randint(max(1, last - 20), last)
            line = OrderLine(0, "apron-natural", rng.randint(1, 9))
            # Two entries in one action: after a kill there are both or none.
            with store.write() as connection:
                job = change_job(
                    connection, number,
                    lambda j, line=line: (*rules.put_line(j, line), *rules.note(j, "line")),
                    at=NOON,
                )  # fmt: skip
        os.write(out, f"{job.id} {job.version}\n".encode())


def kill_one(address: str, pictures: Path, seed: int, rng: random.Random) -> dict[int, int]:
    """Run a writer, kill it at a random moment, return what it had said was done."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if not child:
        os.close(inlet)
        with contextlib.suppress(BaseException):
            write_until_killed(address, pictures, outlet, seed)
        os._exit(1)
    os.close(outlet)
    select.select([inlet], [], [], 20)
    time.sleep(rng.uniform(0.0, 0.12))
    os.kill(child, signal.SIGKILL)
    _pid, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer stopped by itself"
    told = b""
    while part := os.read(inlet, 65536):
        told += part
    os.close(inlet)
    # The last line may be cut: then nobody was told.
    lines = told.decode().split("\n")[1:-1]
    return {int(number): int(version) for number, version in (line.split() for line in lines)}


def kill_many(address: str, pictures: Path, n_kills: int) -> dict[str, int]:
    """Return counts of acknowledged actions, and of the lost and half-done ones."""
    rng = random.Random(11)
    open_store(address, pictures=pictures, at=NOON).close()
    done = lost = 0
    highest: dict[int, int] = {}
    for seed in range(n_kills):
        told = kill_one(address, pictures, seed, rng)
        done += len(told)
        highest |= told
        store = open_store(address, pictures=pictures, at=NOON)
        with store.read() as connection:
            lost += sum(read_job(connection, n).version < v for n, v in told.items())
        store.close()
    store = open_store(address, pictures=pictures, at=NOON)
    with store.read() as connection:
        lost += sum(read_job(connection, n).version < v for n, v in highest.items())
        faults = len(replay_faults(connection))
        for number in highest:
            job = read_job(connection, number)
            faults += len(job.notes) != len(job.lines)
            faults += sum(len(store.pictures.get(p.hash)) != p.n_bytes for p in job.pictures)
    store.close()
    return {"kills": n_kills, "acknowledged": done, "lost": lost, "half done or damaged": faults}


def run(address: str, name: str, folder: Path, asked: argparse.Namespace) -> dict[str, object]:
    rng = random.Random(7)
    store = open_store(address, pictures=folder / "pictures", at=NOON)
    begin = time.perf_counter()
    fill(store, asked.jobs, rng)
    with store.read() as connection:
        n_log = connection.scalar(sql_select(func.count()).select_from(JOB_LOG))
        n_customers = connection.scalar(sql_select(func.count()).select_from(CUSTOMERS))
    print(f"\n{name}: {asked.jobs:,} jobs, {n_log:,} log entries, {n_customers:,} customers, "
          f"filled in {time.perf_counter() - begin:.0f} s")  # fmt: skip
    figures = measure(store, asked.jobs, rng)
    for what, ms in figures.items():
        bound = PAGE_BOUND_MS if what.startswith("page") else LIST_BOUND_MS
        print(f"  {what:32}{ms:8.1f} ms   {'within' if ms <= bound else 'OVER'} {bound:g}")
    begin = time.perf_counter()
    manifest = write_backup(store, folder / "b.zip", at=NOON)
    backup_s = time.perf_counter() - begin
    begin = time.perf_counter()
    check_backup(folder / "b.zip", at=NOON)
    check_s = time.perf_counter() - begin
    print(f"  backup of {manifest.n_bytes / 1e6:.0f} MB, packed and checked: {backup_s:.1f} s; "
          f"tried out, every log replayed: {check_s:.1f} s")  # fmt: skip
    store.close()
    return {**figures, "backup s": backup_s, "backup check s": check_s}


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--jobs", type=int, default=50_000)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--postgresql", action="store_true", help="measure PostgreSQL as well")
    parser.add_argument("--only-postgresql", action="store_true", help="measure nothing else")
    asked = parser.parse_args()
    found: dict[str, object] = {}
    if not asked.only_postgresql:
        with tempfile.TemporaryDirectory(prefix="firstpiece-bench-") as scratch:
            folder = Path(scratch)
            found["sqlite"] = run(str(folder / "full.sqlite"), "SQLite", folder, asked)
            killed = kill_many(str(folder / "killed.sqlite"), folder / "killed", asked.kills)
            print("  " + ", ".join(f"{n} {what}" for what, n in killed.items()))
            found["kills"] = killed
    if asked.postgresql or asked.only_postgresql:
        with tempfile.TemporaryDirectory() as scratch, running_cluster() as cluster:
            with fresh_database(cluster) as address:
                found["postgresql"] = run(address, "PostgreSQL", Path(scratch), asked)
            with fresh_database(cluster) as address:
                killed = kill_many(address, Path(scratch) / "killed", max(1, asked.kills // 10))
                print("  " + ", ".join(f"{n} {what}" for what, n in killed.items()))
                found["kills postgresql"] = killed
    RESULTS.mkdir(parents=True, exist_ok=True)
    (RESULTS / "store.json").write_text(json.dumps(found, indent=1), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
