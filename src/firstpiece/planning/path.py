"""A path of penetrations with the reason for each, the unit that all parts of planning hand on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from firstpiece.model.stitch import Role


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Penetrations in order, sewn without a cut.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    role : (n,) uint8
        Codes of ``Role``: why the stitch that ends here is there.
    """

    xy_mm: NDArray[np.float64]
    role: NDArray[np.uint8]

    @property
    def start(self) -> NDArray[np.float64]:
        """The first penetration, (2,) float64 [mm]."""
        return np.asarray(self.xy_mm[0])

    @property
    def end(self) -> NDArray[np.float64]:
        """The last penetration, (2,) float64 [mm]."""
        return np.asarray(self.xy_mm[-1])

    def reversed(self) -> Path:
        """Return the same stitches sewn from the other end."""
        return Path(self.xy_mm[::-1].copy(), np.concatenate([self.role[:1], self.role[:0:-1]]))

    def __len__(self) -> int:
        return len(self.xy_mm)


EMPTY = Path(np.empty((0, 2)), np.empty(0, dtype=np.uint8))


def make_path(xy_mm: NDArray[np.float64], role: Role) -> Path:
    """Return a path whose stitches all have one role."""
    return Path(xy_mm, np.full(len(xy_mm), role, dtype=np.uint8))


def join_paths(paths: Iterable[Path]) -> Path:
    """Return paths one after the other; empty ones are skipped."""
    kept = [p for p in paths if len(p)]
    if not kept:
        return EMPTY
    return Path(np.vstack([p.xy_mm for p in kept]), np.concatenate([p.role for p in kept]))
