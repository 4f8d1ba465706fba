"""One interface over the ways of doing work: here, in worker processes, on a cluster.

A task is a module-level function ``task(context, request) -> result``. It tells how far it is by
``context.report`` and stops itself at ``context.check`` once the person has cancelled it.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from firstpiece.errors import CancelledError

if TYPE_CHECKING:
    from collections.abc import Callable

R = TypeVar("R")
R_co = TypeVar("R_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is: a fraction from 0 to 1 and the present step in words."""

    fraction: float = 0.0
    words: str = ""


class Context(Protocol):
    """What a task sees of the run it belongs to."""

    def report(self, fraction: float, words: str) -> None:
        """Tell how far the task is; cheap enough to call at every step."""

    def check(self) -> None:
        """Raise CancelledError once the run was cancelled."""


class Run(Protocol[R_co]):
    """One task under way."""

    def progress(self) -> Progress:
        """Return how far it is."""

    def is_done(self) -> bool:
        """Return whether ``result`` would return or raise at once."""

    def cancel(self) -> None:
        """Ask the task to stop; ``result`` then raises CancelledError."""

    def result(self, report: Callable[[float, str], None] | None = None) -> R_co:
        """Wait for the result, passing progress on; raise what the task raised.

        Raises
        ------
        CancelledError
            When the run was cancelled before it finished.
        FirstpieceError
            When the workers died twice.
        """


class Runner(Protocol):
    """A place where tasks are done; use it in a ``with`` block."""

    def submit(self, task: Callable[[Context, Any], R], request: Any) -> Run[R]:
        """Begin a task and return its run."""

    def close(self) -> None:
        """Cancel what is still running and let the workers go."""

    def __enter__(self) -> Runner: ...

    def __exit__(self, *exc: object) -> None: ...


def stopped() -> CancelledError:
    """Return the error of a run that the person cancelled."""
    return CancelledError(_("the work was stopped"))
