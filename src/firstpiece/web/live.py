"""Work under way: starts a job's tasks on the runner, watches them, and tells how far they are.

Input: identities of a job and a run. Output: ``state.json`` of that run, the files its tasks write,
and a stream of states for the page. A thread per task waits for its result; stopping is noted at
once and whatever the task still answers is thrown away.
"""

from __future__ import annotations

import asyncio
import json
import logging
from contextlib import contextmanager
from dataclasses import dataclass, field
from gettext import gettext as _
from threading import Lock, Thread, Timer
from typing import TYPE_CHECKING, Any

from firstpiece.errors import CancelledError, FirstpieceError, InputError
from firstpiece.running.runner import Progress
from firstpiece.web import job_folder as jobs
from firstpiece.web.run_files import BUDGET, LADDER, REMEDIES, TRAVELLER
from firstpiece.web.work import CLEAN, FIT, PREPARE, PRICES, TASKS, TRIES, WAYS, Request

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterator
    from pathlib import Path

    from firstpiece.running.runner import Run, Runner
    from firstpiece.web.job_folder import JobFolder

_log = logging.getLogger(__name__)

LOOK_S = 0.12
"""How often a stream looks for news: under the quarter second after which progress feels late."""

SHORT_S = 60.0
"""Short work that a person waits for is given up after this."""

LONGEST_S = 900.0
"""Work that takes longer is ended: no design of a shop does, but a picture made to may."""

GROWING = {PRICES: LADDER, FIT: BUDGET, TRIES: REMEDIES}
"""Results that a page may take in part by part, by the task that writes them."""

ENDED = (jobs.DONE, jobs.FAILED, jobs.STOPPED, jobs.INTERRUPTED, jobs.IDLE)

Key = tuple[str, str, str]


def _do_nothing(_job_id: str, _run_id: str) -> None:
    """Leave a design that is worked out where it is."""


@dataclass(slots=True)
class _Task:
    run: Run[None]
    watcher: Thread | None = None
    progress: Progress = field(default_factory=Progress)
    is_stopped: bool = False
    is_overdue: bool = False

    def give_up(self) -> None:
        """End work that takes too long."""
        self.is_overdue = True
        self.run.cancel()


class LiveWork:
    """All tasks of this server.

    Parameters
    ----------
    runner : Runner
    folder : JobFolder
    cards : pathlib.Path
        Folder of the shop's own cards; need not exist.
    on_prepared : callable
        Called with the identities of a run whose design is worked out, before the page learns it.
    """

    def __init__(
        self,
        runner: Runner,
        folder: JobFolder,
        cards: Path,
        on_prepared: Callable[[str, str], None] = _do_nothing,
    ) -> None:
        self._on_prepared = on_prepared
        self._runner = runner
        self._folder = folder
        self._cards = cards
        self._tasks: dict[Key, _Task] = {}
        self._aside: list[Key] = []
        self._is_closed = False
        self._lock = Lock()
        self._n_first = 0

    def prepare(self, job_id: str, run_id: str) -> None:
        """Begin a run unless it is under way.

        A finished one is done again: cards may have changed, and stages whose inputs did not are
        looked up rather than worked out. Nobody waits behind remedies that are only tried.
        """
        with self._first():
            self._begin((job_id, run_id, PREPARE), {})

    def price(
        self,
        job_id: str,
        run_id: str,
        heights_mm: tuple[float, ...] = (),
        quantities: tuple[int, ...] = (),
    ) -> None:
        """Begin the price table of a finished run; empty values are chosen around what was asked.

        A table already under way for this run is stopped first.
        """
        key = (job_id, run_id, PRICES)
        self._begin_anew(key, {"heights_mm": heights_mm, "quantities": quantities})

    def fit(self, job_id: str, run_id: str, budget: str) -> None:
        """Begin to look for the largest height whose price of one piece is within an amount."""
        self._begin_anew((job_id, run_id, FIT), {"budget": budget})

    def try_remedies(self, job_id: str, run_id: str) -> None:
        """Begin to work out what every remedy would change, unless that is known already."""
        is_newer = self._written(job_id, run_id, REMEDIES) > self._written(
            job_id, run_id, TRAVELLER
        )
        is_known = is_newer and self._status(job_id, run_id, TRIES) == jobs.DONE
        if TRIES in TASKS and not is_known:
            self._begin_anew((job_id, run_id, TRIES), {})

    def _set_aside(self) -> None:
        """Stop trials of remedies for now; they are taken up again when nothing else is done."""
        with self._lock:
            for key, task in self._tasks.items():
                is_alive = task.watcher is not None and task.watcher.is_alive()
                if key[2] == TRIES and is_alive and not task.is_stopped:
                    task.is_stopped = True
                    task.run.cancel()
                    self._aside.append(key)

    def _take_up(self) -> None:
        """Go on with a trial that was set aside, once what matters more is done."""
        with self._lock:
            busy = [
                key[2]
                for key, task in self._tasks.items()
                if not task.is_stopped and self._folder.state(*key)["status"] == jobs.RUNNING
            ]
            is_free = not busy and not self._n_first
            key = self._aside.pop() if self._aside and is_free else None
        if key is not None:
            self.try_remedies(key[0], key[1])

    def _written(self, job_id: str, run_id: str, name: str) -> int:
        """Return when a file of a run was written [ns], 0 while there is none."""
        path = self._folder.path(job_id, run_id) / name
        try:
            return path.stat().st_mtime_ns
        except FileNotFoundError:
            # Not written yet, or being written anew at this moment.
            return 0

    def clean(self, job_id: str, run_id: str) -> None:
        """Carry out a run's edits on the cleaned areas and wait for them.

        Raises
        ------
        FirstpieceError
            When one of the edits cannot be done.
        """
        self._do_now((job_id, run_id, CLEAN), {})

    def draw_ways(self, job_id: str, run_id: str, area: int) -> None:
        """Draw an area in each of the ways it can be sewn and wait for the pictures."""
        self._do_now((job_id, run_id, WAYS), {"area": area})

    def _do_now(self, key: Key, extra: dict[str, Any]) -> None:
        """Do short work on the runner; whoever asked waits for it."""
        with self._first():
            run = self._runner.submit(TASKS[key[2]], self._request(key, extra))
            overdue = Timer(SHORT_S, run.cancel)
            overdue.daemon = True
            overdue.start()
            try:
                run.result()
            except CancelledError as fault:
                raise InputError(
                    _("this took too long"),
                    remedy=_("wait until other work is done and try again"),
                ) from fault
            finally:
                overdue.cancel()
        self._take_up()

    @contextmanager
    def _first(self) -> Iterator[None]:
        """Keep trials of remedies aside while something that a person waits for is begun."""
        with self._lock:
            self._n_first += 1
        try:
            self._set_aside()
            yield
        finally:
            with self._lock:
                self._n_first -= 1

    def _begin_anew(self, key: Key, extra: dict[str, Any]) -> None:
        with self._lock:
            if (old := self._tasks.pop(key, None)) is not None:
                old.is_stopped = True
                old.run.cancel()
        self._begin(key, extra)

    def stop(self, job_id: str, run_id: str) -> None:
        """Stop whatever is under way for a run; noted before this returns."""
        for kind in TASKS:
            with self._lock:
                task = self._tasks.get((job_id, run_id, kind))
                if task is None or task.is_stopped:
                    continue
                task.is_stopped = True
                task.run.cancel()
                self._write((job_id, run_id, kind), jobs.STOPPED)

    def state(self, job_id: str, run_id: str, kind: str = PREPARE) -> dict[str, Any]:
        """Return ``{"status", "fraction", "stage", "fault"}`` of one task, as it is now."""
        state = self._folder.state(job_id, run_id, kind)
        task = self._tasks.get((job_id, run_id, kind))
        if task is not None and state["status"] == jobs.RUNNING:
            state.update(fraction=task.progress.fraction, stage=task.progress.words)
        if kind in GROWING:
            state["version"] = self._written(job_id, run_id, GROWING[kind])
        return state

    async def stream(
        self, job_id: str, run_id: str, kind: str, *, last_id: int = 0
    ) -> AsyncIterator[str]:
        """Yield server-sent events, one per change, until the task has ended.

        Each carries the whole state, so a reader that comes back needs only the next one; ``id``
        goes on counting from the last that it saw.
        """
        shown = None
        while True:
            state = self.state(job_id, run_id, kind)
            if state != shown:
                shown, last_id = state, last_id + 1
                yield f"id: {last_id}\nevent: state\ndata: {json.dumps(state)}\n\n"
            if state["status"] in ENDED:
                return
            await asyncio.sleep(LOOK_S)

    def wait(self) -> None:
        """Wait until every task under way has ended, those they start included."""
        while True:
            with self._lock:
                watchers = [t.watcher for t in self._tasks.values() if t.watcher]
            if not any(w.is_alive() for w in watchers):
                return
            for watcher in watchers:
                watcher.join()

    def close(self) -> None:
        """Stop everything and let the workers go; nothing begins after this."""
        self._is_closed = True
        for job_id, run_id, _kind in tuple(self._tasks):
            if self._status(job_id, run_id) not in ENDED:
                self.stop(job_id, run_id)
        self._runner.close()

    def _status(self, job_id: str, run_id: str, kind: str = PREPARE) -> str:
        return str(self._folder.state(job_id, run_id, kind)["status"])

    def _begin(self, key: Key, extra: dict[str, Any]) -> None:
        kind = key[2]
        if self._is_closed:
            return
        request = self._request(key, extra)
        with self._lock:
            before = self._tasks.get(key)
            if before and not before.is_stopped and before.watcher and before.watcher.is_alive():
                return
            self._write(key, jobs.RUNNING)
            task = _Task(self._runner.submit(TASKS[kind], request))
            task.watcher = Thread(target=self._watch, args=(key, task), daemon=True)
            self._tasks[key] = task
            task.watcher.start()

    def _request(self, key: Key, extra: dict[str, Any]) -> Request:
        job_id, run_id, _kind = key
        job = self._folder.job(job_id)
        return Request(
            folder=self._folder.path(job_id, run_id),
            picture=self._folder.path(job_id) / "picture",
            label=job.label,
            asked=self._folder.asked(job_id, run_id),
            cards=self._cards,
            number=job.number,
            **extra,
        )

    def _watch(self, key: Key, task: _Task) -> None:
        def note(fraction: float, words: str) -> None:
            task.progress = Progress(fraction, words)

        status, fault = jobs.DONE, ""
        overdue = Timer(LONGEST_S, task.give_up)
        overdue.daemon = True
        overdue.start()
        try:
            task.run.result(note)
        except CancelledError:
            status = jobs.FAILED if task.is_overdue else jobs.STOPPED
            fault = _("It took longer than a picture may; use a simpler one.")
            fault = fault if task.is_overdue else ""
        except MemoryError:
            status = jobs.FAILED
            fault = _("There is not enough memory for this picture; use a smaller or simpler one.")
        except FirstpieceError as told:
            status, fault = jobs.FAILED, str(told)
        except Exception:
            # A fault of ours: the log gets all of it, the page one sentence.
            _log.exception("task %s of run %s failed", key[2], key[1])
            status = jobs.FAILED
            fault = _("Something went wrong inside Firstpiece; the window it runs in says more.")
        overdue.cancel()
        if status == jobs.DONE and key[2] == PREPARE and not task.is_stopped:
            self._on_prepared(key[0], key[1])
            # Before the page learns that the run is done, so that it finds the table begun.
            self.price(key[0], key[1])
        if key[2] == PRICES and status != jobs.STOPPED and not task.is_stopped:
            self.try_remedies(key[0], key[1])
        with self._lock:
            if not task.is_stopped:
                self._write(key, status, fault)
        self._take_up()

    def _write(self, key: Key, status: str, fault: str = "") -> None:
        self._folder.set_state(*key, status=status, fault=fault)
