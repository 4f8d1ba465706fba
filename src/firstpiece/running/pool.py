"""Tasks done in worker processes of this computer.

Progress and cancelling go through two small files per run in a private folder: the worker replaces
the first in one move, the person's side creates the second. A pool whose worker died is started
once more; a run that loses its worker twice tells so.
"""

from __future__ import annotations

import _thread
import json
import os
import shutil
import signal
import tempfile
import threading
import time
from concurrent.futures import CancelledError as FutureCancelled
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as StillRunning
from concurrent.futures.process import BrokenProcessPool
from gettext import gettext as _
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from firstpiece.errors import FirstpieceError
from firstpiece.running.runner import Progress, stopped

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.running.runner import Context

R = TypeVar("R")

POLL_S = 0.05
"""How often a waiting side looks for progress: quicker than an eye notices."""

REPORT_S = 0.02
"""A worker writes its progress at most this often."""

MEMORY_BYTES = 8 * 2**30
"""Address space of a worker, about four times what the largest design was seen to take."""

_THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


class FileContext:
    """The worker's side of a run: ``<stem>.progress`` is written, ``<stem>.cancel`` looked for."""

    def __init__(self, stem: str) -> None:
        self._progress = Path(stem + ".progress")
        self._cancel = Path(stem + ".cancel")
        self._last_s = 0.0

    def report(self, fraction: float, words: str) -> None:
        """Write the progress, whole or not at all."""
        now = time.monotonic()
        if now - self._last_s < REPORT_S and fraction < 1.0:
            return
        self._last_s = now
        fresh = self._progress.with_suffix(".fresh")
        fresh.write_text(json.dumps([fraction, words]), "utf-8")
        fresh.replace(self._progress)

    @property
    def is_cancelled(self) -> bool:
        """True once the cancel file exists."""
        return self._cancel.exists()

    def check(self) -> None:
        """Raise CancelledError when the cancel file exists."""
        if self.is_cancelled:
            raise stopped()


class _Watch:
    """Interrupts the worker's task soon after its cancel file appears, even between two checks.

    A thread looks for the file and raises the interrupt signal in the main thread, whose handler
    turns it into CancelledError. Without the file the signal is ignored: Ctrl-C on a terminal
    reaches the workers too, but it is the person's side that decides what stops.
    """

    def __init__(self) -> None:
        self._context: FileContext | None = None

    def start(self) -> None:
        """Begin watching; called once, in the worker's main thread."""
        signal.signal(signal.SIGINT, self._interrupt)
        threading.Thread(target=self._look, daemon=True).start()

    def run(self, task: Callable[[Context, Any], R], request: Any, stem: str) -> R:
        """Do one task under watch."""
        context = FileContext(stem)
        context.check()
        self._context = context
        try:
            return task(context, request)
        finally:
            # From here on the signal does nothing, so it cannot hit the pool's own code.
            self._context = None

    def _look(self) -> None:
        while True:
            time.sleep(POLL_S)
            context = self._context
            if context is not None and context.is_cancelled:
                _thread.interrupt_main()

    def _interrupt(self, _signal: int, _frame: object) -> None:
        if self._context is not None:
            self._context.check()


_WATCH = _Watch()


def _call(task: Callable[[Context, Any], R], request: Any, stem: str) -> R:
    return _WATCH.run(task, request, stem)


def _begin_worker() -> None:
    """Keep a worker to one core, so that workers do not fight over them, and watch for cancels."""
    for name in _THREAD_LIMITS:
        os.environ[name] = "1"
    _limit_memory()
    _WATCH.start()


def _limit_memory() -> None:
    """Have a worker that is fed a hostile picture fail by itself, before the computer does."""
    try:
        import resource
    except ImportError:
        # Windows has no such limit; what is read is limited by its pixels and points there.
        return
    _soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    wanted = MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(hard, MEMORY_BYTES)
    resource.setrlimit(resource.RLIMIT_AS, (wanted, hard))


class PoolRun(Generic[R]):
    """A task in a worker process."""

    def __init__(
        self, runner: PoolRunner, task: Callable[[Context, Any], R], request: Any, stem: str
    ) -> None:
        self._runner = runner
        self._call = (task, request, stem)
        self._stem = stem
        self._restarts = 0
        self._pool, self._future = runner.start(*self._call)

    def progress(self) -> Progress:
        """Return what the worker wrote last."""
        try:
            fraction, words = json.loads(Path(self._stem + ".progress").read_text("utf-8"))
        except (OSError, ValueError):
            return Progress()
        return Progress(float(fraction), str(words))

    def is_done(self) -> bool:
        """Return whether the worker has finished."""
        return self._future.done()

    def cancel(self) -> None:
        """Leave word for the worker, and take the task out of the queue if it still waits."""
        Path(self._stem + ".cancel").touch()
        self._future.cancel()

    def result(self, report: Callable[[float, str], None] | None = None) -> R:
        """Wait for the worker; start the pool once more when it broke."""
        while True:
            try:
                return self._wait(report)
            except FutureCancelled as fault:
                raise stopped() from fault
            except BrokenProcessPool as fault:
                if self._restarts:
                    raise _died() from fault
                self._restarts += 1
                self._pool, self._future = self._runner.restart(self._pool, *self._call)

    def _wait(self, report: Callable[[float, str], None] | None) -> R:
        shown = Progress()
        while True:
            try:
                return self._future.result(timeout=POLL_S if report else None)
            except StillRunning:
                # A task may raise TimeoutError of its own: then the future is done.
                if self._future.done():
                    raise
            now = self.progress()
            if report and now != shown:
                shown = now
                report(now.fraction, now.words)


class PoolRunner:
    """Worker processes, started when first needed.

    Parameters
    ----------
    n_workers : int or None
        None takes one per processor, four at most: more only share the same memory lanes.
    """

    def __init__(self, n_workers: int | None = None) -> None:
        self._n_workers = n_workers or max(1, min(4, os.cpu_count() or 1))
        self._folder = tempfile.mkdtemp(prefix="firstpiece-runs-")
        self._n_runs = 0
        self._runs: list[PoolRun[Any]] = []
        self._pool: ProcessPoolExecutor | None = None

    def submit(self, task: Callable[[Context, Any], R], request: Any) -> PoolRun[R]:
        """Queue a task; it must be a module-level function."""
        self._n_runs += 1
        stem = str(Path(self._folder) / str(self._n_runs))
        run = PoolRun(self, task, request, stem)
        self._runs.append(run)
        return run

    def start(
        self, task: Callable[[Context, Any], R], request: Any, stem: str
    ) -> tuple[ProcessPoolExecutor, Future[R]]:
        """Hand a task to the present pool; return both for ``restart``."""
        if self._pool is None:
            # Spawned, not forked: a fork copies locks held by other threads and may hang.
            self._pool = ProcessPoolExecutor(
                self._n_workers, mp_context=get_context("spawn"), initializer=_begin_worker
            )
        try:
            return self._pool, self._pool.submit(_call, task, request, stem)
        except BrokenProcessPool as fault:
            lost: Future[R] = Future()
            lost.set_exception(fault)
            return self._pool, lost

    def restart(
        self,
        broken: ProcessPoolExecutor,
        task: Callable[[Context, Any], R],
        request: Any,
        stem: str,
    ) -> tuple[ProcessPoolExecutor, Future[R]]:
        """Replace the broken pool, unless another run already did, and hand the task over."""
        if self._pool is broken:
            broken.shutdown(wait=False, cancel_futures=True)
            self._pool = None
        return self.start(task, request, stem)

    def close(self) -> None:
        """Cancel what is running, wait for the workers and remove the private folder."""
        for run in self._runs:
            if not run.is_done():
                run.cancel()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None
        shutil.rmtree(self._folder, ignore_errors=True)

    def __enter__(self) -> PoolRunner:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()


def _died() -> FirstpieceError:
    return FirstpieceError(
        _("a worker process ended unexpectedly, twice"),
        remedy=_("close other programs to free memory, or use a smaller picture"),
    )
