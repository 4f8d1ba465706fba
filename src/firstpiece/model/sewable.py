"""How small a design may become before an area or a gap can no longer be sewn, and the ways out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from firstpiece.model.edit_code import edit_object

if TYPE_CHECKING:
    from firstpiece.model.edit import Edit


class WayOut(StrEnum):
    """What can be done about something too small to sew."""

    THICKEN = "thicken"
    DROP = "drop"
    WIDEN = "widen"
    CLOSE = "close"
    LARGER = "larger"
    THINNER_THREAD = "thinner thread"


@dataclass(frozen=True, slots=True)
class SizeRemedy:
    """One way out: edits to be made, or a height or thread card to be asked for instead.

    Parameters
    ----------
    way : WayOut
    sentence : str
        What it does, and what that changes.
    edits : tuple of Edit
        To be made on the design as it stands; empty for another height or thread.
    height_mm : float or None [mm]
    thread : str
        Name of a thread card; empty otherwise.
    """

    way: WayOut
    sentence: str
    edits: tuple[Edit, ...] = ()
    height_mm: float | None = None
    thread: str = ""


@dataclass(frozen=True, slots=True)
class SewableSize:
    """The smallest height at which an area, or the gap between areas, can be sewn.

    Parameters
    ----------
    is_gap : bool
        True for bare cloth between areas.
    areas : tuple of int
        The area, or those beside the gap.
    width_mm : float [mm]
        Of its narrowest part that shows, at the design's present height.
    limit_mm : float [mm]
        What it must measure: one thread as it lies, or the narrowest gap that stays open.
    smallest_height_mm : float [mm]
        Of the whole design.
    where_mm : tuple of float [mm]
    remedies : tuple of SizeRemedy
        Only where it is too small now.
    """

    is_gap: bool
    areas: tuple[int, ...]
    width_mm: float
    limit_mm: float
    smallest_height_mm: float
    where_mm: tuple[float, float]
    remedies: tuple[SizeRemedy, ...] = ()

    @property
    def is_too_small(self) -> bool:
        """True when it cannot be sewn at the present height."""
        return self.width_mm < self.limit_mm


def sewable_object(size: SewableSize) -> dict[str, Any]:
    """Return a sewable size as plain values, its edits as ``edit_object``."""
    return {
        "what": "gap" if size.is_gap else "area",
        "areas": list(size.areas),
        "width_mm": round(size.width_mm, 3),
        "limit_mm": round(size.limit_mm, 3),
        "smallest_height_mm": round(size.smallest_height_mm, 1),
        "where_mm": [round(v, 2) for v in size.where_mm],
        "too_small": size.is_too_small,
        "remedies": [
            {
                "way": str(remedy.way),
                "sentence": remedy.sentence,
                "edits": [edit_object(edit) for edit in remedy.edits],
                "height_mm": remedy.height_mm,
                "thread": remedy.thread,
            }
            for remedy in size.remedies
        ],
    }
