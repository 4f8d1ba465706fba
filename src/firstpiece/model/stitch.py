"""What a person may ask of an area, and the stitch plan that answers it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import content_hash, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.material import ThreadColor


class StitchType(StrEnum):
    """How an area is sewn."""

    RUNNING = "running"
    SATIN = "satin"
    FILL = "fill"


class Underlay(StrEnum):
    """Stitching laid first, under the cover."""

    NONE = "none"
    CENTRE_RUN = "centre run"
    EDGE_RUN = "edge run"
    ZIGZAG = "zigzag"
    LATTICE = "lattice"


class RunKind(StrEnum):
    """How a line is run."""

    SINGLE = "single"
    DOUBLE = "there and back"
    TRIPLE = "triple"
    HAND = "hand look"
    STIPPLE = "stippled"
    MOTIF = "motif"


class Motif(StrEnum):
    """What a motif line repeats."""

    SCALLOP = "scallop"
    LEAF = "leaf"
    CROSS = "cross"
    TOOTH = "tooth"


class Relief(StrEnum):
    """The pattern that the needle's places make in a fill."""

    EVEN = "even"
    BRICK = "brick"
    TWILL = "twill"
    CHEVRON = "chevron"
    WAVE = "wave"


class RowCourse(StrEnum):
    """How the rows of a fill run."""

    STRAIGHT = "straight"
    CURVED = "along the shape"


class SewFrom(StrEnum):
    """Where a design is begun inside each thread.

    A knit is pushed ahead of the needle, so it is sewn from the centre out; a cap from the rim up.
    """

    NEAREST = "nearest"
    CENTRE = "centre"
    BOTTOM = "bottom"


class Action(IntEnum):
    """What the machine does at one row of the stitch list."""

    STITCH = 0
    JUMP = 1
    TRIM = 2
    COLOR_CHANGE = 3
    STOP = 4
    END = 5

    @property
    def word(self) -> str:
        """The word written in ``stitches.csv``."""
        return self.name.lower()


class Role(IntEnum):
    """Why a stitch is there."""

    COVER = 0
    UNDERLAY = 1
    TIE = 2
    TRAVEL = 3


@dataclass(frozen=True, slots=True)
class StitchSpec:
    """A person's wishes for one area; ``None`` leaves the choice to planning.

    Parameters
    ----------
    stitch_type : StitchType or None
    angle_rad : float or None [rad]
        Direction of fill rows, anticlockwise from x.
    row_spacing_mm : float or None [mm]
        Fill: one pass per row.
    column_spacing_mm : float or None [mm]
        Satin: one penetration to the next on the same side.
    stitch_length_mm : float or None [mm]
    underlay : tuple of Underlay or None
    pull_mm : float or None [mm]
        Widening of each side along the stitch.
    order : int or None
        Position in the sewing order; smaller is earlier.
    run : RunKind or None
        Running: how the line is run.
    motif : Motif or None
        Running: what a motif line repeats.
    relief : Relief or None
        Fill: the pattern of needle places.
    course : RowCourse or None
        Fill: straight rows, or rows that follow the shape's own bend or ``guides``.
    guides : tuple of (float, float, float) or None
        Curved fill: places [mm] and the direction [rad] that rows have there.
    feather_mm : float or None [mm]
        Fill: how deep row ends are staggered, so that the edge blends into what lies beneath.
    fade_to : str or None
        Fill: name of a thread of the set-up into which the area's own thread fades.
    fade_angle_rad : float or None [rad]
        The way the fade goes, anticlockwise from x.
    tie_mm : float or None [mm]
        How far in along its own path the area's ties lie, where others meet at its ends.
    """

    stitch_type: StitchType | None = None
    angle_rad: float | None = None
    row_spacing_mm: float | None = None
    column_spacing_mm: float | None = None
    stitch_length_mm: float | None = None
    underlay: tuple[Underlay, ...] | None = None
    pull_mm: float | None = None
    order: int | None = None
    run: RunKind | None = None
    motif: Motif | None = None
    relief: Relief | None = None
    course: RowCourse | None = None
    guides: tuple[tuple[float, float, float], ...] | None = None
    feather_mm: float | None = None
    fade_to: str | None = None
    fade_angle_rad: float | None = None
    tie_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Treatment:
    """What planning decided for one area, and why, in one sentence.

    ``spacing_mm`` is row spacing for a fill, column spacing for satin, 0 for running;
    ``n_stitches`` counts its penetrations, underlay and travel included; ``sewn_order`` counts
    from 0 through the plan. ``reason`` says why this kind of stitching; ``explanation``, also one
    sentence, adds spacing, underlay and why it is sewn when it is. ``widened_mm`` [mm] is how far
    the stitches do reach past the drawn edge on each side, where that is less than ``pull_mm``.
    """

    region_id: int
    stitch_type: StitchType
    angle_rad: float
    spacing_mm: float
    stitch_length_mm: float
    underlay: tuple[Underlay, ...]
    pull_mm: float
    thread_index: int
    sewn_order: int
    n_stitches: int
    reason: str
    explanation: str = ""
    widened_mm: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class StitchPlan:
    """Every movement of the needle, in order; derived, never edited.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
        Where the needle is after each action.
    action : (n,) uint8
        Codes of ``Action``; the last is END.
    thread : (n,) int16
        Index into ``threads``.
    region_id : (n,) int32
        The area a row belongs to, or -1.
    role : (n,) uint8
        Codes of ``Role``.
    threads : tuple of ThreadColor
        In the order in which they are first sewn.
    treatments : tuple of Treatment
        One per sewn area.
    findings : tuple of Finding
        What planning could not do as asked.
    fewest_changes : int or None
        No order that keeps what lies under first has fewer thread changes; None is not known.
    order_explanation : str
        One sentence on the number of thread changes.
    """

    xy_mm: NDArray[np.float64]
    action: NDArray[np.uint8]
    thread: NDArray[np.int16]
    region_id: NDArray[np.int32]
    role: NDArray[np.uint8]
    threads: tuple[ThreadColor, ...]
    treatments: tuple[Treatment, ...] = ()
    findings: tuple[Finding, ...] = ()
    fewest_changes: int | None = None
    order_explanation: str = ""

    def __post_init__(self) -> None:
        n = len(self.xy_mm)
        columns = (
            ("xy_mm", np.float64, (n, 2)),
            ("action", np.uint8, (n,)),
            ("thread", np.int16, (n,)),
            ("region_id", np.int32, (n,)),
            ("role", np.uint8, (n,)),
        )
        for name, dtype, shape in columns:
            object.__setattr__(self, name, frozen_array(getattr(self, name), dtype, shape))
        if n and (self.thread.min() < 0 or self.thread.max() >= len(self.threads)):
            msg = "the plan names a thread it does not have"
            raise ValueError(msg)

    @property
    def is_stitch(self) -> NDArray[np.bool_]:
        """(n,) bool: rows where the needle goes down."""
        mask: NDArray[np.bool_] = self.action == Action.STITCH
        return mask

    @property
    def n_stitches(self) -> int:
        """Number of penetrations."""
        return int(np.count_nonzero(self.is_stitch))

    def count(self, action: Action) -> int:
        """Return how often an action occurs."""
        return int(np.count_nonzero(self.action == action))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box round all penetrations [mm]."""
        points = self.xy_mm[self.is_stitch]
        if not len(points):
            return (0.0, 0.0)
        width, height = np.ptp(points, axis=0)
        return (float(width), float(height))

    def sewn_segments(self) -> NDArray[np.int64]:
        """Return the rows i whose thread lies on the cloth from row i-1 to row i.

        Returns
        -------
        (m,) int64
            Rows that are a STITCH and follow a STITCH of the same thread, or the start of a run
            (the needle's first penetration after a move leaves no thread on top).
        """
        stitch = self.is_stitch
        follows = np.zeros(len(stitch), dtype=bool)
        follows[1:] = stitch[1:] & stitch[:-1] & (self.thread[1:] == self.thread[:-1])
        return np.flatnonzero(follows)

    def content_id(self) -> str:
        """Return the short hash printed on proof, run sheet and ticket (8 hex digits).

        It is that of the stitch list as written, to 0.01 mm, so a plan read back has the same one.
        """
        written = np.round(self.xy_mm, 2) + 0.0
        return content_hash(written, self.action, self.thread, self.threads)[:8]
