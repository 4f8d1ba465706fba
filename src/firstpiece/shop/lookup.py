"""Stage results looked up before they are worked out.

The key of a result is the hash of its stage, the stage's version and its inputs, where the result
of an earlier stage stands by its own key. So an edit re-runs only what lies downstream of it.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Generic, TypeVar

from firstpiece.model.frozen import content_hash
from firstpiece.shop.stage_version import stage_version
from firstpiece.store.home import home_folder
from firstpiece.store.results import ResultShelf

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

T = TypeVar("T")


class Kept(Generic[T]):
    """A result and the key it is kept under."""

    __slots__ = ("key", "value")

    def __init__(self, key: str, value: T) -> None:
        self.key = key
        self.value = value


def look_up(
    shelf: ResultShelf, package: str, inputs: tuple[object, ...], work: Callable[[], T]
) -> Kept[T]:
    """Return the stage's result for these inputs, working it out only when it is not known.

    Parameters
    ----------
    shelf : ResultShelf
    package : str
        The stage's package, ``planning`` for one.
    inputs : tuple
        Everything the result depends on; a ``Kept`` stands for its value.
    work : callable
        Works the result out.
    """
    parts = tuple(i.key if isinstance(i, Kept) else i for i in inputs)
    key = content_hash(package, stage_version(package), parts)
    value: T | None = shelf.get(key)
    if value is None:
        value = work()
        shelf.put(key, package, value)
    return Kept(key, value)


def open_shelf() -> ResultShelf:
    """Return the shop's shelf of results, the same one for the whole process."""
    return _shelf_at(home_folder() / "results.sqlite")


@cache
def _shelf_at(path: Path) -> ResultShelf:
    return ResultShelf(path)
