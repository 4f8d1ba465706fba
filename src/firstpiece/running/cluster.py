"""Tasks done on a Dask cluster, given by its scheduler's address.

Progress travels as events of the scheduler, cancelling as a named event. The address comes from the
shop's own settings only: whoever reaches the scheduler can run code on its workers.
"""

from __future__ import annotations

import time
import uuid
from concurrent.futures import CancelledError as FutureCancelled
from gettext import gettext as _
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from firstpiece.errors import BusyError, FirstpieceError
from firstpiece.running.runner import Progress, stopped

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.running.runner import Context

R = TypeVar("R")

POLL_S = 0.1
"""The scheduler is asked at most ten times a second, by worker and waiting side alike."""


class ClusterContext:
    """The worker's side of a run, known by its topic."""

    def __init__(self, topic: str) -> None:
        from distributed import Event, get_worker

        self._topic = topic
        self._worker = get_worker()
        self._cancel = Event(topic)
        self._reported_s = self._checked_s = 0.0

    def report(self, fraction: float, words: str) -> None:
        """Send the progress, at most ten times a second."""
        now = time.monotonic()
        if now - self._reported_s >= POLL_S or fraction >= 1.0:
            self._reported_s = now
            self._worker.log_event(self._topic, [fraction, words])

    def check(self) -> None:
        """Raise CancelledError when the named event is set."""
        now = time.monotonic()
        if now - self._checked_s >= POLL_S:
            self._checked_s = now
            if self._cancel.is_set():
                raise stopped()


def _call(task: Callable[[Context, Any], R], request: Any, topic: str) -> R:
    context = ClusterContext(topic)
    context.check()
    return task(context, request)


class ClusterRun(Generic[R]):
    """A task on the cluster."""

    def __init__(self, client: Any, task: Callable[[Context, Any], R], request: Any) -> None:
        self._client = client
        self._topic = f"firstpiece-{uuid.uuid4().hex}"
        self._future = client.submit(_call, task, request, self._topic, pure=False)

    def progress(self) -> Progress:
        """Return the last event the scheduler holds."""
        events = self._client.get_events(self._topic)
        if not events:
            return Progress()
        fraction, words = events[-1][1]
        return Progress(float(fraction), str(words))

    def is_done(self) -> bool:
        """Return whether the cluster has finished."""
        return bool(self._future.done())

    def cancel(self) -> None:
        """Leave word for the worker."""
        from distributed import Event

        Event(self._topic, client=self._client).set()

    def result(self, report: Callable[[float, str], None] | None = None) -> R:
        """Wait for the cluster, passing progress on."""
        from distributed import TimeoutError as StillRunning
        from distributed.scheduler import KilledWorker

        shown = Progress()
        while report and not self._future.done():
            try:
                self._future.result(timeout=POLL_S)
            except StillRunning:
                now = self.progress()
                if now != shown:
                    shown = now
                    report(now.fraction, now.words)
            except Exception:
                # The final call below raises it in the right form.
                break
        try:
            value: R = self._future.result()
        except FutureCancelled as fault:
            raise stopped() from fault
        except KilledWorker as fault:
            raise FirstpieceError(
                _("the cluster's workers ended unexpectedly, twice"),
                remedy=_("look at the workers' memory"),
            ) from fault
        return value


class ClusterRunner:
    """The workers behind one scheduler address.

    Raises
    ------
    BusyError
        When nothing answers at the address.
    FirstpieceError
        When the ``cluster`` extra is not installed.
    """

    def __init__(self, address: str, *, timeout_s: float = 5.0) -> None:
        try:
            from distributed import Client
        except ImportError as fault:
            raise FirstpieceError(
                _("working on a cluster needs an extra that is not installed"),
                remedy=_("install firstpiece[cluster]"),
            ) from fault
        try:
            self._client = Client(address, timeout=timeout_s, set_as_default=False)
        except (OSError, ValueError) as fault:
            raise BusyError(
                _("no cluster answers there"), where=address, remedy=_("start its scheduler")
            ) from fault
        self._runs: list[ClusterRun[Any]] = []

    def submit(self, task: Callable[[Context, Any], R], request: Any) -> ClusterRun[R]:
        """Send a task; it must be importable on the workers."""
        run = ClusterRun(self._client, task, request)
        self._runs.append(run)
        return run

    def close(self) -> None:
        """Cancel what is running and leave the cluster as it is."""
        for run in self._runs:
            if not run.is_done():
                run.cancel()
        self._client.close()

    def __enter__(self) -> ClusterRunner:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()
