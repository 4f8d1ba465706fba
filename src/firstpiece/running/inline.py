"""Tasks done in this process, one after the other, when their result is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Generic, TypeVar

from firstpiece.running.runner import Progress, stopped

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.running.runner import Context

R = TypeVar("R")


class InlineRun(Generic[R]):
    """A task that runs when its result is asked for; its own context too."""

    def __init__(self, task: Callable[[Context, Any], R], request: Any) -> None:
        self._task = task
        self._request = request
        self._progress = Progress()
        self._cancelled = False
        self._outcome: list[R] = []
        self._fault: BaseException | None = None
        self._forward: Callable[[float, str], None] | None = None

    def report(self, fraction: float, words: str) -> None:
        """Note the progress and pass it to whoever waits."""
        self._progress = Progress(fraction, words)
        if self._forward:
            self._forward(fraction, words)

    def check(self) -> None:
        """Raise CancelledError once cancelled."""
        if self._cancelled:
            raise stopped()

    def progress(self) -> Progress:
        """Return the last progress reported."""
        return self._progress

    def is_done(self) -> bool:
        """Return whether the outcome is known."""
        return bool(self._outcome) or self._fault is not None or self._cancelled

    def cancel(self) -> None:
        """Stop at the next check, or before the start."""
        self._cancelled = True

    def result(self, report: Callable[[float, str], None] | None = None) -> R:
        """Run the task if it has not run; return its result or raise its fault."""
        if not self._outcome and self._fault is None:
            self._forward = report
            try:
                self.check()
                self._outcome.append(self._task(self, self._request))
            except Exception as fault:
                self._fault = fault
        if self._fault is not None:
            raise self._fault
        return self._outcome[0]


class InlineRunner:
    """Does everything in this process; needs nothing and hides nothing."""

    def __init__(self) -> None:
        self._runs: list[InlineRun[Any]] = []

    def submit(self, task: Callable[[Context, Any], R], request: Any) -> InlineRun[R]:
        """Return a run that starts when its result is asked for."""
        run = InlineRun(task, request)
        self._runs.append(run)
        return run

    def close(self) -> None:
        """Cancel what has not run."""
        for run in self._runs:
            run.cancel()

    def __enter__(self) -> InlineRunner:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()
