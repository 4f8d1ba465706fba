"""A person's edits of the cleaned design, one small value each.

Places are in millimetres of the design as it stood when the edit was made; they grow with the
design when edits are replayed at another height. Widths (thicken, ring, smoothing) are what thread
needs and stay as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, ClassVar

from firstpiece.model.lettering import Baseline, StraightBaseline

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class AreaRef:
    """An area of the design: by its number, by a point inside it [mm], or by both.

    With both, the point decides and the number is what people were shown; so an edit finds its area
    again after the picture was traced anew.
    """

    number: int | None = None
    at_mm: Point | None = None


@dataclass(frozen=True, slots=True)
class MergeAreas:
    """Areas that touch become one, in the thread and under the number of the first."""

    kind: ClassVar[str] = "merge"
    areas: tuple[AreaRef, ...]


@dataclass(frozen=True, slots=True)
class SplitArea:
    """An area is cut along a line; ends that lie inside it are lengthened straight on."""

    kind: ClassVar[str] = "split"
    area: AreaRef
    line_mm: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class DropArea:
    """An area goes to the neighbour it shares most edge with, or to cloth round the design.

    A thin one goes piece by piece to whatever is nearest.
    """

    kind: ClassVar[str] = "drop"
    area: AreaRef


@dataclass(frozen=True, slots=True)
class RecolorArea:
    """An area is sewn in another thread of the rack, by its name."""

    kind: ClassVar[str] = "recolor"
    area: AreaRef
    thread: str


@dataclass(frozen=True, slots=True)
class SwapThread:
    """Everything sewn in one thread is sewn in another."""

    kind: ClassVar[str] = "swap thread"
    old: str
    thread: str


@dataclass(frozen=True, slots=True)
class MakeBare:
    """An area is left bare cloth."""

    kind: ClassVar[str] = "make bare"
    area: AreaRef


@dataclass(frozen=True, slots=True)
class MakeThread:
    """Bare cloth inside the design is sewn in a thread of the rack."""

    kind: ClassVar[str] = "make thread"
    area: AreaRef
    thread: str


@dataclass(frozen=True, slots=True)
class ThickenArea:
    """An area becomes wider by so much, half on each side; below 0 thinner."""

    kind: ClassVar[str] = "thicken"
    area: AreaRef
    by_mm: float


@dataclass(frozen=True, slots=True)
class CloseGap:
    """Gaps of up to a width beside an area are closed by it.

    With ``other``, whatever lies in the gap between the two goes; without, only bare cloth between
    the area and any other, and in its own notches.
    """

    kind: ClassVar[str] = "close gap"
    area: AreaRef
    width_mm: float
    other: AreaRef | None = None


@dataclass(frozen=True, slots=True)
class SmoothEdge:
    """Wobble is taken out of an area's edge, moving it by at most ``strength_mm``.

    Only within ``radius_mm`` round ``here_mm``, or everywhere when that is None. Corners stay.
    """

    kind: ClassVar[str] = "smooth"
    area: AreaRef
    strength_mm: float
    here_mm: Point | None = None
    radius_mm: float = 5.0


@dataclass(frozen=True, slots=True)
class SharpenCorner:
    """The rounded corner of an area's edge within ``radius_mm`` round a place becomes sharp."""

    kind: ClassVar[str] = "sharpen"
    area: AreaRef
    here_mm: Point
    radius_mm: float = 2.0


@dataclass(frozen=True, slots=True)
class RedrawEdge:
    """A piece of an area's edge is drawn anew: from the edge near the line's start to its end."""

    kind: ClassVar[str] = "redraw"
    area: AreaRef
    line_mm: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class AreaToLine:
    """A long thin area becomes a line along its middle, of one width or (0) of its own."""

    kind: ClassVar[str] = "to line"
    area: AreaRef
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class LineToArea:
    """A line becomes a plain area again, of the width it has or another."""

    kind: ClassVar[str] = "to area"
    area: AreaRef
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class AddRing:
    """An outline ring in a thread round areas (none named: round the whole design).

    Behind, it shows outside the edge and yields to every other area; in front it lies over the
    edge, half in and half out, and covers what is there.
    """

    kind: ClassVar[str] = "ring"
    width_mm: float
    thread: str
    areas: tuple[AreaRef, ...] = ()
    in_front: bool = False


@dataclass(frozen=True, slots=True)
class LayArea:
    """What lies beneath an area is cut out (the default when traced) or kept and sewn first.

    ``below`` is the area that is carried on beneath; None takes the one that surrounds it.
    """

    kind: ClassVar[str] = "lay"
    area: AreaRef
    keeps: bool
    below: AreaRef | None = None


@dataclass(frozen=True, slots=True)
class SetLetters:
    """Text is set in a font, in a thread; the areas it replaces go first.

    ``font`` names one of the fonts at hand; how letters are spaced is told in ``set_text``.
    """

    kind: ClassVar[str] = "text"
    text: str
    font: str
    thread: str
    cap_height_mm: float
    path: Baseline = field(default_factory=StraightBaseline)
    spacing_mm: float = 0.0
    least_gap_mm: float = 0.0
    replaces: tuple[AreaRef, ...] = ()


@dataclass(frozen=True, slots=True)
class StraightenLetters:
    """Letters found in the picture are put on one baseline, at one height.

    ``areas`` names any letter of each line meant; none means every line that was found.
    """

    kind: ClassVar[str] = "straighten"
    areas: tuple[AreaRef, ...] = ()


@dataclass(frozen=True, slots=True)
class MakeEven:
    """Areas that are nearly symmetric become exactly so.

    ``fold`` 0 mirrors about the line through ``centre_mm`` at ``angle_rad``; 2 or more turns about
    the centre. None named: the whole design.
    """

    kind: ClassVar[str] = "even"
    centre_mm: Point
    angle_rad: float = 0.0
    fold: int = 0
    areas: tuple[AreaRef, ...] = ()


Edit = (
    MergeAreas | SplitArea | DropArea | RecolorArea | SwapThread | MakeBare | MakeThread
    | ThickenArea | CloseGap | SmoothEdge | SharpenCorner | RedrawEdge | AreaToLine | LineToArea
    | AddRing | LayArea | SetLetters | StraightenLetters | MakeEven
)  # fmt: skip

EDIT_KINDS: tuple[type[Edit], ...] = (
    MergeAreas, SplitArea, DropArea, RecolorArea, SwapThread, MakeBare, MakeThread, ThickenArea,
    CloseGap, SmoothEdge, SharpenCorner, RedrawEdge, AreaToLine, LineToArea, AddRing, LayArea,
    SetLetters, StraightenLetters, MakeEven,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class EditLog:
    """Edits in the order in which they were made, and those undone, the last undone first.

    Parameters
    ----------
    height_mm : float [mm]
        Height of the traced design the places belong to; 0 takes whatever it is.
    edits, undone : tuple of Edit
    """

    height_mm: float = 0.0
    edits: tuple[Edit, ...] = ()
    undone: tuple[Edit, ...] = ()

    def add(self, edit: Edit) -> EditLog:
        """Return the log with one more edit; what was undone is forgotten."""
        return replace(self, edits=(*self.edits, edit), undone=())

    def undo(self, n: int = 1) -> EditLog:
        """Return the log with the last edits taken back; those that are not there are passed."""
        n = max(0, min(n, len(self.edits)))
        keep = len(self.edits) - n
        return replace(self, edits=self.edits[:keep], undone=(*self.edits[keep:], *self.undone))

    def redo(self, n: int = 1) -> EditLog:
        """Return the log with edits that were taken back made again."""
        n = max(0, min(n, len(self.undone)))
        return replace(self, edits=(*self.edits, *self.undone[:n]), undone=self.undone[n:])


NO_EDITS = EditLog()

_GROWING = (
    "at_mm", "here_mm", "centre_mm", "middle_mm", "line_mm", "radius_mm", "cap_height_mm",
    "spacing_mm",
)  # fmt: skip
"""Fields that belong to the art and grow with it; every other length is what thread needs."""


def scaled_edit(edit: Edit, factor: float) -> Edit:
    """Return an edit for the same design at another size: places and letters grow, widths stay."""
    scaled: Edit = _scaled(edit, factor)
    return scaled


def _scaled(value: Any, factor: float) -> Any:
    changes = {}
    for f in fields(value):
        part = getattr(value, f.name)
        if f.name in _GROWING:
            changes[f.name] = _times(part, factor)
        elif is_dataclass(part):
            changes[f.name] = _scaled(part, factor)
        elif isinstance(part, tuple) and part and is_dataclass(part[0]):
            changes[f.name] = tuple(_scaled(item, factor) for item in part)
    return replace(value, **changes)


def _times(part: Any, factor: float) -> Any:
    if isinstance(part, tuple):
        return tuple(_times(item, factor) for item in part)
    return None if part is None else part * factor
