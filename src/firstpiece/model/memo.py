"""Work already done, handed in by who wants the next answer sooner; answers never depend on it.

A memo is an explicit value: it lives as long as its owner keeps it, and a stage without one works
everything out. Pieces are found by a key made from everything they depend on.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING, TypeVar, cast

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

T = TypeVar("T")

MOST_PIECES = 600
"""Kept of one kind; a design has at most some hundred areas."""


class Memo:
    """Pieces by kind and key, the least recently used leaving first; threads may share it.

    Parameters
    ----------
    most : int
        Pieces kept of each kind.
    """

    def __init__(self, most: int = MOST_PIECES) -> None:
        self._most = most
        self._kinds: dict[str, OrderedDict[Hashable, object]] = {}
        self._lock = Lock()
        self.n_found = 0
        self.n_made = 0

    def recall(self, kind: str, key: Hashable, work: Callable[[], T]) -> T:
        """Return the piece of this key, working it out only when it is not kept.

        Parameters
        ----------
        kind : str
        key : hashable
            Made from everything that ``work`` depends on.
        work : callable
            Its value must not be changed by anybody.
        """
        with self._lock:
            pieces = self._kinds.setdefault(kind, OrderedDict())
            if key in pieces:
                pieces.move_to_end(key)
                self.n_found += 1
                return cast("T", pieces[key])
        made = work()
        with self._lock:
            self.n_made += 1
            pieces[key] = made
            while len(pieces) > self._most:
                pieces.popitem(last=False)
        return made

    def recall_one(self, kind: str, key: Hashable, work: Callable[[], T]) -> T:
        """Do what ``recall`` does, keeping one piece of the kind alone: for large ones."""
        kept = self.latest(kind)
        if isinstance(kept, tuple) and kept[0] == key:
            self.n_found += 1
            return cast("T", kept[1])
        made = work()
        self.n_made += 1
        self.keep_only(kind, (key, made))
        return made

    def latest(self, kind: str) -> object | None:
        """Return the piece last kept under a kind, or None."""
        with self._lock:
            pieces = self._kinds.get(kind)
            return next(reversed(pieces.values())) if pieces else None

    def keep_only(self, kind: str, piece: object) -> None:
        """Keep one piece of a kind, forgetting the one before: for large ones."""
        with self._lock:
            self._kinds[kind] = OrderedDict({None: piece})
